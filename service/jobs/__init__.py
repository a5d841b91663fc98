"""Work that outlives a process: scans by the clock, and batches that go on where they stood."""

from service.jobs.durable import DurableJobs
from service.jobs.plain import PlainJobs, PlainLedger
from service.jobs.port import Jobs, Outcome, Scan, Step, Wait
from service.jobs.workflows import JobsUnavailable

__all__ = [
    "DurableJobs",
    "Jobs",
    "JobsUnavailable",
    "Outcome",
    "PlainJobs",
    "PlainLedger",
    "Scan",
    "Step",
    "Wait",
]
