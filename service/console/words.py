"""What the page itself says, in the visitor's language; the screens come from the conversation."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TypeAlias

from service.channels import Cost
from service.phrases import Phrase, say, say_n

Translate: TypeAlias = Callable[[Phrase, str], str]

STALE = "stale"
"""A note to the visitor, by the code that the cookie keeps."""


def page_words() -> Mapping[str, Phrase]:
    """The sentences of the page by the names that the template uses."""
    return {
        # Translators: the name of the page on which a visitor tries the service in a browser.
        "title": say("Try it here"),
        "about": say(
            "Ask as a farmer would by phone. The screens are the ones a basic phone gets."
        ),
        "two": say("The two phones have two numbers, so that you can be two farmers."),
        "invented": say(
            "The valley, its districts and its prices are invented: do not lay a plot by them."
        ),
        # Translators: a link to the pages of operators and field officers.
        "desk": say("To the desk"),
        # Translators: a heading above one of two phones; the number follows.
        "phone": say("Phone"),
        "language": say("Language"),
        # Translators: beside the choice between a call (USSD) and texts (SMS).
        "way": say("Way"),
        # Translators: a button beside the list of languages.
        "change": say("Change"),
        # Translators: a button that begins a conversation.
        "begin": say("Begin"),
        "again": say("Begin again"),
        "answer": say("Your answer"),
        "text": say("Your text"),
        "text_first": say("Text anything, such as: 20 15 tomato 500"),
        "send": say("Send"),
        # Translators: a heading above what a phone's screen shows now.
        "screen": say("Screen"),
        "earlier": say("Earlier screens"),
        # Translators: before what the visitor answered; a colon follows.
        "you": say("You"),
        "ended": say("This conversation has ended."),
        "stale": say("That was an old page. Here is where you are now."),
    }


def channel_words() -> Mapping[str, Phrase]:
    """What the two ways to talk with the service are called."""
    return {"ussd": say("Call (USSD)"), "sms": say("Texts (SMS)")}


def cost_words(cost: Cost) -> tuple[Phrase, Phrase]:
    """How full the screen is, and what it would take as a text message."""
    # Translators: how full one message is, such as "118 of 160 characters".
    full = say("{units} of {room} characters", units=cost.units, room=cost.room)
    parts = say_n("{parts} text message", "{parts} text messages", count="parts", parts=cost.parts)
    return full, parts
