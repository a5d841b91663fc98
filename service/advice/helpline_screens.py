"""What the helpline conversation shows and asks for by name."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from service.advice import helpline_repair, helpline_words
from service.advice.answers import Answers
from service.advice.context import Context
from service.advice.said_again import counted
from service.dialogue import Registry
from service.phrases import Phrase

WANTED, MATTER, SAID = "ticket_wanted", "ticket_matter", "ticket_said"
NO_WORD = "other"
"""Stored as the matter by a caller who is in no danger and has not yet said what it is."""


def matter_of(answers: Answers) -> str:
    """Return the word on the matter; empty when there is none yet."""
    said = str(answers.get("ticket_matter") or "")
    return "" if said == NO_WORD else said


def danger_of(answers: Answers) -> str:
    """Return the red flag of a matter, chosen or found in a caller's own words; empty if none."""
    said = matter_of(answers)
    return said if said in helpline_words.RED_FLAGS else helpline_words.red_flag(said)


def _word_is(flag: str) -> Callable[[Answers, Context], bool]:
    return lambda answers, context: danger_of(answers) == flag


def _asked_before(answers: Answers, context: Context) -> bool:
    return answers.get("ticket_wanted") == "yes"


def _noted(answers: Answers, context: Context) -> Sequence[Phrase]:
    danger = danger_of(answers)
    if danger == "stand_leans":
        return helpline_words.noted_stand(context.helpline)
    return helpline_words.noted(bool(danger), context.helpline)


def _follow_up(answers: Answers, context: Context) -> Sequence[Phrase]:
    return helpline_words.follow_up(matter_of(answers))


REGISTRY = Registry(
    guards={
        "helpline_asked_before": _asked_before,
        **{f"helpline_word_{flag}": _word_is(flag) for flag in helpline_words.RED_FLAGS},
    },
    shows={
        "helpline_noted": _noted,
        "helpline_follow_up": _follow_up,
        "repair_parts": helpline_repair.repair_parts,
        "repair_how": helpline_repair.repair_how,
    },
    options={},
    also={"ticket_said": counted(SAID)},
)
