"""What a monitor reads at /metrics: how the outbox and the helpline stand, from the database.

Every process tells the same, since all of it is read when asked; how long requests take is known
better by the proxy in front. There are no numbers of phones here, nor names.
"""

from __future__ import annotations

import hmac
from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from datetime import datetime
from typing import Any

from flask import Flask, Response, abort, request
from prometheus_client import CollectorRegistry, generate_latest
from prometheus_client.core import GaugeMetricFamily
from prometheus_client.exposition import CONTENT_TYPE_LATEST
from prometheus_client.registry import Collector

from service.gateways import is_loopback
from service.records import UnitOfWork

MOST_TICKETS = 10_000


class Standing(Collector):
    """Reads the figures of one scrape in one transaction."""

    def __init__(
        self, unit_of_work: Callable[[], UnitOfWork], clock: Callable[[], datetime]
    ) -> None:
        self._unit_of_work, self._clock = unit_of_work, clock

    def collect(self) -> Iterator[GaugeMetricFamily]:
        """Yield each figure with its name and meaning."""
        now = self._clock()
        with self._unit_of_work() as work:
            counts, oldest = work.outbox.counts(), work.outbox.oldest_due(now)
            tickets = Counter(
                (one.kind, "yes" if one.danger else "no")
                for one in work.tickets.waiting(MOST_TICKETS)
            )
            seasonal = Counter(one.state for one in work.seasonals.all(1000))
        yield _gauge("outbox_messages", "Messages by state.", "state", counts)
        waited = 0.0 if oldest is None else max(0.0, (now - oldest).total_seconds())
        yield GaugeMetricFamily(
            "litreline_outbox_oldest_seconds", "Age of the oldest message that may leave.", waited
        )
        waiting = GaugeMetricFamily(
            "litreline_tickets_waiting", "Tickets not closed.", labels=["kind", "danger"]
        )
        for (kind, danger), count in tickets.items():
            waiting.add_metric([kind, danger], count)
        yield waiting
        yield _gauge("seasonal_messages", "Seasonal messages by state.", "state", seasonal)


def _gauge(name: str, meaning: str, label: str, counts: Mapping[Any, int]) -> GaugeMetricFamily:
    gauge = GaugeMetricFamily(f"litreline_{name}", meaning, labels=[label])
    for value, count in counts.items():
        gauge.add_metric([value], count)
    return gauge


def add_metrics(app: Flask, standing: Standing, token: str) -> None:
    """Let a monitor read the figures: with the token, or without one from this machine only."""
    registry = CollectorRegistry(auto_describe=False)
    registry.register(standing)

    @app.get("/metrics")
    def metrics() -> Response:
        """The figures in the text format of Prometheus."""
        if not _may_read(token):
            abort(404)
        return Response(generate_latest(registry), content_type=CONTENT_TYPE_LATEST)


def _may_read(token: str) -> bool:
    if not token:
        # Behind a proxy every caller seems to be here: whoever came by way of one is not.
        forwarded = "Forwarded" in request.headers or "X-Forwarded-For" in request.headers
        return is_loopback(request.remote_addr or "") and not forwarded
    given = request.headers.get("Authorization", "")
    return hmac.compare_digest(given.encode(), f"Bearer {token}".encode())
