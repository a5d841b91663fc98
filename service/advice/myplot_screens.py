"""What the my-plot conversation shows and asks for by name; also used by faults and field check."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from service.advice import crops_told, myplot_words, plan_words, usual
from service.advice.answers import Answers, plain_card
from service.advice.context import Context
from service.advice.myplot_card import (
    NOT_LAID,
    TOLD,
    Record,
    calibration_by,
    is_laid,
    minutes_record,
    piped_card,
    planned_layout,
    records,
    standing_calibration,
    with_record,
)
from service.dialogue import Option, Registry
from service.errors import CardError, NotConverged, OutOfRange
from service.phrases import Phrase, say
from service.sizing.calibration import Calibration, Contradiction
from service.sizing.card import PlotCard
from service.sizing.pipes import submain_pipes
from service.sizing.result import Layout


def plot_is_laid(answers: Answers, context: Context) -> bool:
    """Whether the answers are about a plot that lies already and can be reckoned."""
    return is_laid(answers) and _reckons(answers, context)


def plot_is_planned(answers: Answers, context: Context) -> bool:
    """Whether a plot was planned here that may lie by now."""
    return answers.get("laid") != TOLD and not is_laid(answers) and _reckons(answers, context)


def _reckons(answers: Answers, context: Context) -> bool:
    try:
        context.plan(answers)
    except (CardError, NotConverged):
        return False
    return True


def laid_layout(answers: Answers, context: Context) -> Layout:
    """Return the layout of the plot of the answers; CardError when they make none."""
    plan = context.plan(answers)
    return plan.layouts[plan.recommended]


# --- the timed emptying --------------------------------------------------------------------------


@dataclass(frozen=True)
class Enrolled:
    """Answers with what was measured kept, and what each measurement said."""

    answers: Answers
    found: tuple[Calibration | Contradiction, ...]


def _uncalibrated(answers: Answers, context: Context) -> PlotCard:
    pipes = context.tables.pipes
    return piped_card(plain_card(answers, pipes, context.today), answers, pipes)


def timed(answers: Answers, context: Context) -> Calibration | Contradiction | None:
    """Return what the minutes of the answers say; None when the plot was not timed."""
    if not _minutes(answers):
        return None
    record = minutes_record(answers, context.today)
    return calibration_by(_uncalibrated(answers, context), record, context.tables.pipes)


def _minutes(answers: Answers) -> float:
    return float(str(answers.get("laid_minutes") or 0))


def enrolled(answers: Answers, cups: Record | None, context: Context) -> Enrolled:
    """Enrol a plot by a handover record: the same answers as a caller's, minutes and cups if taken.

    A measurement that contradicts the rest is reported and not kept.

    Parameters
    ----------
    answers : mapping
        Under the names of the my-plot conversation.
    cups : mapping, optional
        A cup test as `myplot_card.cups_record` makes it.

    Raises
    ------
    CardError
        When the answers make no plot.
    """
    told = {**answers, "laid": TOLD}
    base = _uncalibrated(told, context)
    tried = [minutes_record(told, context.today)] if _minutes(told) else []
    tried += [cups] if cups is not None else []
    said: list[Calibration | Contradiction] = []
    for record in tried:
        found = calibration_by(base, record, context.tables.pipes)
        if found is not None:
            said.append(found)
        if isinstance(found, Calibration):
            told = {**told, "measurements": with_record(told, record)}
    return Enrolled(told, tuple(said))


def _not_timed(answers: Answers, context: Context) -> bool:
    try:
        return timed(answers, context) is None
    except CardError:
        return True


def _contradicts(answers: Answers, context: Context) -> bool:
    try:
        return isinstance(timed(answers, context), Contradiction)
    except CardError:
        return False


def _keep_minutes(answers: Answers, context: Context) -> Sequence[Option]:
    kept = answers.get("measurements")
    return [
        Option(
            with_record(answers, minutes_record(answers, context.today)),
            say("Reckon with it"),
        ),
        Option(kept if isinstance(kept, list) else [], say("Leave it out")),
    ]


# --- what is shown -------------------------------------------------------------------------------

Words = Callable[[Answers, Context], Sequence[Phrase]]


def explained(words: Words) -> Words:
    """Make a show that explains answers which make no plot."""

    def show(answers: Answers, context: Context) -> Sequence[Phrase]:
        try:
            return words(answers, context)
        except CardError as fault:
            return plan_words.cannot_plan(fault)
        except (NotConverged, OutOfRange):
            # The plot was told anew since: what was measured on the old one fits no more.
            return plan_words.cannot_plan(CardError([]))

    return show


def _home(answers: Answers, context: Context) -> Sequence[Phrase]:
    return (myplot_words.plot_in_words(context.card(answers), laid_layout(answers, context)),)


def _calibrated(answers: Answers, context: Context) -> Sequence[Phrase]:
    found = timed(answers, context)
    return myplot_words.calibrated_in_words(found) if isinstance(found, Calibration) else ()


def _contradicted(answers: Answers, context: Context) -> Sequence[Phrase]:
    found = timed(answers, context)
    return myplot_words.contradicted_in_words(found) if isinstance(found, Contradiction) else ()


def _taken(answers: Answers, context: Context) -> Sequence[Phrase]:
    base = _uncalibrated(answers, context)
    found = standing_calibration(base, answers, context.tables.pipes)
    said = [usual.taken_as_usual(base, context.tables)]
    if answers.get("main_pipe") is None:
        said.append(myplot_words.pipe_taken(pipe_name(base, context)))
    if found is not None:
        said.append(myplot_words.calibrated_so(found.factor))
    elif records(answers):
        said.append(myplot_words.still_contradicted())
    return said


def pipe_name(card: PlotCard, context: Context) -> str:
    """Return the trade size of the card's main pipe."""
    bore = card.submain.inner_diameter_mm or 0.0
    names = {pipe.bore_mm: pipe.outer_mm for pipe in submain_pipes(context.tables.pipes)}
    return f"{names.get(bore, bore):g} mm"


def _as_planned(answers: Answers, context: Context) -> Sequence[Phrase]:
    return myplot_words.laid_as_planned(laid_layout(answers, context))


def _lies_so(answers: Answers, context: Context) -> Sequence[Option]:
    try:
        record = planned_layout(laid_layout(answers, context))
    except CardError:
        return [Option(NOT_LAID, say("No"))]
    return [Option(record, say("Yes")), Option(NOT_LAID, say("No"))]


# --- several crops, by line -----------------------------------------------------------------------


def _crops(answers: Answers, context: Context) -> Sequence[Phrase]:
    beside = [(one.crop, one.lines) for one in crops_told.beside_crops(answers)]
    free = crops_told.free_lines(answers)
    return (myplot_words.crops_of([(str(answers.get("crop")), free), *beside]),)


def _has_free_lines(answers: Answers, context: Context) -> bool:
    few = len(crops_told.beside_crops(answers)) < crops_told.MOST_MORE
    return few and crops_told.free_lines(answers) > 1


def _other_fits(answers: Answers, context: Context) -> bool:
    return float(str(answers.get("other_lines") or 0)) < crops_told.free_lines(answers)


def _too_many(answers: Answers, context: Context) -> Sequence[Phrase]:
    return (myplot_words.most_lines(max(1, crops_told.free_lines(answers) - 1)),)


def _with_other_crop(answers: Answers, context: Context) -> object:
    return crops_told.with_other_crop(answers, context.today)


def _no_other_crops(answers: Answers, context: Context) -> object:
    return []


def _as_told(answers: Answers, context: Context) -> str:
    """Return that the plot lies as its owner tells it, whatever was planned here."""
    return TOLD


REGISTRY = Registry(
    guards={
        "myplot_has_free_lines": _has_free_lines,
        "myplot_other_fits": _other_fits,
        "plot_is_laid": plot_is_laid,
        "plot_is_planned": plot_is_planned,
        "myplot_not_timed": _not_timed,
        "myplot_contradicts": _contradicts,
    },
    shows={
        "myplot_home": explained(_home),
        "myplot_calibrated": explained(_calibrated),
        "myplot_contradicted": explained(_contradicted),
        "myplot_taken": explained(_taken),
        "myplot_as_planned": explained(_as_planned),
        "myplot_crops": _crops,
        "myplot_too_many": _too_many,
    },
    options={"myplot_keep": _keep_minutes, "myplot_lies_so": _lies_so},
    also={
        "laid_as_told": _as_told,
        "with_other_crop": _with_other_crop,
        "no_other_crops": _no_other_crops,
    },
)
