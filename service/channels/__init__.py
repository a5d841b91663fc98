"""One turn of a conversation by any channel, and sending from the outbox."""

from service.channels.ageing import Aged, age
from service.channels.bucket import Bucket
from service.channels.calls import Calls, MissedCall, MissedCalls, Rung
from service.channels.cost import Cost, cost_of
from service.channels.gateway import (
    Accepted,
    Answer,
    Gateway,
    NotNow,
    Outgoing,
    Refused,
    Unknown,
)
from service.channels.hours import Hours
from service.channels.incoming_text import IncomingText
from service.channels.keeping import Effects, Kept
from service.channels.messages import Conflict, Incoming, Phase, Reply
from service.channels.post import Letter, Post
from service.channels.receipts import Receipts
from service.channels.remembered import remembered
from service.channels.sender import Round, Sender
from service.channels.texts import Taken, Texts, Words
from service.channels.turn import Turns
from service.channels.verdict import Judge

__all__ = [
    "Accepted",
    "Aged",
    "Answer",
    "Bucket",
    "Calls",
    "Conflict",
    "Cost",
    "Effects",
    "Gateway",
    "Hours",
    "Incoming",
    "IncomingText",
    "Judge",
    "Kept",
    "Letter",
    "MissedCall",
    "MissedCalls",
    "NotNow",
    "Outgoing",
    "Phase",
    "Post",
    "Receipts",
    "Refused",
    "Reply",
    "Round",
    "Rung",
    "Sender",
    "Taken",
    "Texts",
    "Turns",
    "Unknown",
    "Words",
    "age",
    "cost_of",
    "remembered",
]
