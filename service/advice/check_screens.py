"""What the field check shows and asks for by name."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from service.advice import check_words
from service.advice.answers import Answers
from service.advice.check_cups import CupTest, cup_test, guarded, measurements
from service.advice.context import Context
from service.advice.myplot_card import with_record
from service.advice.myplot_screens import explained
from service.dialogue import Option, Registry
from service.errors import CardError, NotConverged, OutOfRange
from service.phrases import Phrase, say

ROWS = 6
"""Rows of cups that the flow file has questions for."""


def _cups(answers: Answers, context: Context) -> Sequence[Option]:
    try:
        return [
            Option(way.cups, check_words.choice_of(way))
            for way in cup_test(answers, context).samplings
        ]
    except CardError:
        return []


def _keep(answers: Answers, context: Context) -> Sequence[Option]:
    kept = measurements(answers)
    out = Option(kept, say("Leave it out"))
    try:
        record = cup_test(answers, context).record
    except (CardError, NotConverged, OutOfRange):
        return [out]
    return [Option(with_record(answers, record), say("Keep it")), out]


Words = Callable[[CupTest], Sequence[Phrase]]


def _said(words: Words) -> Callable[[Answers, Context], Sequence[Phrase]]:
    return explained(lambda answers, context: words(cup_test(answers, context)))


def _row(number: int) -> Callable[[Answers, Context], Sequence[Phrase]]:
    def words(test: CupTest) -> Sequence[Phrase]:
        rows = test.sampling.rows
        return check_words.row_asked(test, rows[number - 1]) if number <= len(rows) else ()

    return _said(words)


def _rows_are(number: int) -> Callable[[Answers, Context], bool]:
    return guarded(lambda test: len(test.sampling.rows) <= number)


REGISTRY = Registry(
    guards={
        "check_possible": guarded(lambda test: bool(test.samplings)),
        "check_by_threes": guarded(lambda test: len(test.sampling.rows[0].emitters) == 3),
        "check_all_dry": guarded(lambda test: test.all_dry),
        **{f"check_rows_{number}": _rows_are(number) for number in range(2, ROWS)},
    },
    shows={
        "check_where": _said(check_words.where),
        "check_verdict": _said(check_words.verdict_said),
        "check_plan": _said(check_words.against_plan),
        "check_meaning": _said(check_words.meaning),
        "check_calibrated": _said(check_words.calibrated_by_cups),
        **{f"check_row_{number}": _row(number) for number in range(1, ROWS + 1)},
    },
    options={"check_cups": _cups, "check_keep": _keep},
)
