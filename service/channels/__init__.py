"""One turn of a conversation by any channel, and sending from the outbox."""

from service.channels.bucket import Bucket
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
from service.channels.keeping import Kept
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
    "Answer",
    "Bucket",
    "Conflict",
    "Cost",
    "Gateway",
    "Hours",
    "Incoming",
    "IncomingText",
    "Judge",
    "Kept",
    "Letter",
    "NotNow",
    "Outgoing",
    "Phase",
    "Post",
    "Receipts",
    "Refused",
    "Reply",
    "Round",
    "Sender",
    "Taken",
    "Texts",
    "Turns",
    "Unknown",
    "Words",
    "cost_of",
    "remembered",
]
