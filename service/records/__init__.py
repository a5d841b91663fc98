"""What is kept, as plain classes, with the repository ports and the unit of work."""

from service.records.consent import By, Consent, Purpose, Review
from service.records.inbound import Inbound
from service.records.message import (
    Claimed,
    Kind,
    Message,
    Receipt,
    ReceiptState,
    Settlement,
    State,
)
from service.records.number import NumberRefused, masked, number_hash, read_number
from service.records.phone import Phone
from service.records.plot import Plot, with_changes
from service.records.ports import (
    Caller,
    ConcurrentChange,
    Consents,
    Inbox,
    Outbox,
    Phones,
    Plots,
    Sessions,
    UnitOfWork,
    require_aware,
)
from service.records.session import Owner, Session, Step, StepStanding

__all__ = [
    "By",
    "Caller",
    "Claimed",
    "ConcurrentChange",
    "Consent",
    "Consents",
    "Inbound",
    "Inbox",
    "Kind",
    "Message",
    "NumberRefused",
    "Outbox",
    "Owner",
    "Phone",
    "Phones",
    "Plot",
    "Plots",
    "Purpose",
    "Receipt",
    "ReceiptState",
    "Review",
    "Session",
    "Sessions",
    "Settlement",
    "State",
    "Step",
    "StepStanding",
    "UnitOfWork",
    "masked",
    "number_hash",
    "read_number",
    "require_aware",
    "with_changes",
]
