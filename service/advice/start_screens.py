"""What the first conversation shows: districts by their letters, the cautions, the helpline."""

from __future__ import annotations

from collections.abc import Sequence

from service.advice import plan_words
from service.advice.answers import NOT_ON_THE_LIST, Answers
from service.advice.context import Context
from service.dialogue import Option, Registry
from service.phrases import Phrase, say
from service.sizing.climate import find_districts

MOST_DISTRICTS = 6
"""Choices on one screen before 'None of these'."""


def _has_language(answers: Answers, context: Context) -> bool:
    return bool(answers.get("language"))


def _has_district(answers: Answers, context: Context) -> bool:
    return bool(answers.get("district"))


def _districts_found(answers: Answers, context: Context) -> Sequence[Option]:
    letters = str(answers.get("place_letters", ""))
    found = find_districts(context.tables.districts, letters)[:MOST_DISTRICTS]
    return [
        *(Option(district.key, say("{name}", name=district.name)) for district in found),
        Option(NOT_ON_THE_LIST, say("None of these")),
    ]


def _stand_cautions(answers: Answers, context: Context) -> Sequence[Phrase]:
    return plan_words.stand_cautions()


def _helpline(answers: Answers, context: Context) -> Sequence[Phrase]:
    if context.helpline:
        return (say("Not easy? Ring the helpline: {number}", number=context.helpline),)
    return (say("Not easy? Ask your field officer."),)


def _today(answers: Answers, context: Context) -> str:
    """Return the day on which something was told, as it is kept."""
    return context.today.isoformat()


REGISTRY = Registry(
    guards={"has_language": _has_language, "has_district": _has_district},
    shows={"helpline": _helpline, "stand_cautions": _stand_cautions},
    options={"districts_found": _districts_found},
    also={"today": _today},
)
