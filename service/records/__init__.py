"""What is kept, as plain classes, with the repository ports and the unit of work."""

from service.records.account import ROLES, Account, Audit, Role
from service.records.consent import By, Consent, Purpose, Review
from service.records.desk_ports import (
    Accounts,
    Farmer,
    Farmers,
    History,
    People,
    Rain,
    ReminderChoices,
    Seasonals,
    Tickets,
)
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
from service.records.person import Person
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
from service.records.rain import RainReport
from service.records.seasonal import (
    Audience,
    Recipient,
    ReminderChoice,
    SeasonalMessage,
    SeasonalState,
)
from service.records.session import Owner, Session, Step, StepStanding
from service.records.ticket import Ticket, TicketKind, TicketNote, TicketState

__all__ = [
    "ROLES",
    "Account",
    "Accounts",
    "Audience",
    "Audit",
    "By",
    "Caller",
    "Claimed",
    "ConcurrentChange",
    "Consent",
    "Consents",
    "Farmer",
    "Farmers",
    "History",
    "Inbound",
    "Inbox",
    "Kind",
    "Message",
    "NumberRefused",
    "Outbox",
    "Owner",
    "People",
    "Person",
    "Phone",
    "Phones",
    "Plot",
    "Plots",
    "Purpose",
    "Rain",
    "RainReport",
    "Receipt",
    "ReceiptState",
    "Recipient",
    "ReminderChoice",
    "ReminderChoices",
    "Review",
    "Role",
    "SeasonalMessage",
    "SeasonalState",
    "Seasonals",
    "Session",
    "Sessions",
    "Settlement",
    "State",
    "Step",
    "StepStanding",
    "Ticket",
    "TicketKind",
    "TicketNote",
    "TicketState",
    "Tickets",
    "UnitOfWork",
    "masked",
    "number_hash",
    "read_number",
    "require_aware",
    "with_changes",
]
