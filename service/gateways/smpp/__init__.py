"""SMPP 3.4: texts, receipts and USSD over one bind to an operator's centre."""

from service.gateways.smpp.gateway import SmppGateway
from service.gateways.smpp.link import LinkState
from service.gateways.smpp.matching import meant
from service.gateways.smpp.options import SmppOptions, Timers, Ussd
from service.gateways.smpp.ports import (
    Accepted,
    InboundPart,
    InboundSms,
    Inlet,
    NotSent,
    Outgoing,
    PartShelf,
    Receipt,
    Refused,
    SubmitResult,
    Throttled,
    Uncertain,
    UssdIn,
    UssdOut,
    reference_of,
)

__all__ = [
    "Accepted",
    "InboundPart",
    "InboundSms",
    "Inlet",
    "LinkState",
    "NotSent",
    "Outgoing",
    "PartShelf",
    "Receipt",
    "Refused",
    "SmppGateway",
    "SmppOptions",
    "SubmitResult",
    "Throttled",
    "Timers",
    "Uncertain",
    "Ussd",
    "UssdIn",
    "UssdOut",
    "meant",
    "reference_of",
]
