"""What the states of a message are called, for people."""

from __future__ import annotations

from collections.abc import Mapping

from service.phrases import Phrase, say
from service.records import State


def state_words() -> Mapping[State, Phrase]:
    """Return the words of each state, in the order in which a message goes through them."""
    return {
        # Translators: from here on states of a text message on its way.
        "queued": say("Waits to be sent"),
        "leased": say("Just being taken up"),
        "submitting": say("Just being handed to the gateway"),
        "uncertain": say("Handed over, no answer came"),
        "accepted": say("Taken by the gateway"),
        "delivered": say("Arrived"),
        "unknown": say("Nobody knows whether it arrived"),
        "expired": say("Came too late to be sent"),
        "failed": say("Failed"),
    }
