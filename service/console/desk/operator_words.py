"""What the operator's pages call things that the code knows by a key."""

from __future__ import annotations

from collections.abc import Mapping

from service.phrases import Phrase, say


def flow_names() -> Mapping[str, Phrase]:
    """Return what each conversation is called: as in the caller's own main menu, where it is."""
    return {
        "start": say("Main menu"),
        "plan": say("Plan a drip plot"),
        "myplot": say("My plot is laid"),
        "water": say("Water today"),
        "fault": say("Something is wrong"),
        "upkeep": say("Upkeep"),
        "install": say("Install"),
        "feed": say("Feed the crop"),
        "enough": say("Is the water enough?"),
        "season": say("Season"),
        "check": say("Check the evenness"),
        "helpline": say("Helpline"),
        "reminders": say("Weekly reminders"),
    }


def kind_names() -> Mapping[str, Phrase]:
    """Return what each kind of ticket is called."""
    return {
        "call_back": say("Ring back"),
        "missed_call": say("Missed call"),
        "review": say("To be looked at"),
        "undelivered": say("Text did not arrive"),
        "dose": say("Treatment"),
    }


def danger_names() -> Mapping[str, Phrase]:
    """Return the dangers, as the helpline conversation names them."""
    return {
        "splashed": say("Chemical in eyes or on skin"),
        "swallowed": say("Chemical swallowed"),
        "gas": say("Bad gas, hard to breathe"),
        "stand_leans": say("Stand leans or sinks"),
        "injury": say("Hurt in another way"),
    }


def ticket_states() -> Mapping[str, Phrase]:
    """Return how far a ticket is."""
    return {
        # Translators: a ticket that nobody has taken yet.
        "open": say("Open"),
        # Translators: a ticket that somebody works on.
        "claimed": say("Taken"),
        # Translators: a ticket that is done.
        "closed": say("Closed"),
    }


def message_states() -> Mapping[str, Phrase]:
    """Return what became of a message to a caller."""
    waiting, unsure = say("Waits to be sent"), say("Sent, not yet confirmed")
    return {
        "queued": waiting,
        "leased": waiting,
        "submitting": waiting,
        "uncertain": unsure,
        "accepted": unsure,
        "unknown": say("Nobody knows if it arrived"),
        "expired": say("Came too late, not sent"),
        "failed": say("Did not arrive"),
        "delivered": say("Arrived"),
    }


def channel_names() -> Mapping[str, Phrase]:
    """Return the ways by which somebody told something, or holds a conversation."""
    return {
        "ussd": say("By short code"),
        "sms": say("By text"),
        "desk": say("At the desk"),
        "handset": say("On the trial page"),
        "terminal": say("On a terminal"),
        "call": say("On the telephone"),
        "visit": say("Face to face"),
        "paper": say("On a signed form"),
    }


def told_by_names() -> Mapping[str, Phrase]:
    """Return who wrote a line of the consent ledger."""
    return {
        "caller": say("the caller"),
        "officer": say("a field officer"),
        "operator": say("an operator"),
    }


def text_names() -> Mapping[str, Phrase]:
    """Return what each result that can be sent as a text is about, by flow and state."""
    return {
        "plan/short": say("The plan in short"),
        "plan/layout_good": say("The layout"),
        "plan/remedies": say("What would help"),
        "plan/watering": say("Watering now and at the peak"),
        "plan/parts": say("The parts list"),
        "plan/months": say("Month by month"),
        "water/today": say("Water today"),
    }


def stage_names() -> Mapping[str, Phrase]:
    """Return the stages of a crop."""
    return {
        # Translators: a stage of a crop's life, in a table.
        "initial": say("young"),
        # Translators: a stage of a crop's life, in a table.
        "development": say("growing"),
        # Translators: a stage of a crop's life, in a table.
        "mid": say("full grown"),
        # Translators: a stage of a crop's life, in a table.
        "late": say("ripening"),
        # Translators: in a table: nothing grows in that month.
        "none": say("no crop"),
    }


def treatment_names() -> Mapping[str, Phrase]:
    """Return the two treatments."""
    return {"acid": say("Acid"), "chlorine": say("Chlorine (bleach)")}
