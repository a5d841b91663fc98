"""From the answers on a plot that lies already to its card: layout fixed, emitters calibrated.

A plot lies as its owner told (`laid` is "told"), or as it was planned here (`laid` holds that
layout). What was measured on it is kept under `measurements`, the newest last, as it was measured:
the calibration is reckoned from it anew whenever more is told of the plot.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from datetime import date
from functools import lru_cache
from typing import Any, Literal, cast

from service.errors import MISSING, CardError, FieldProblem, NotConverged
from service.sizing.calibration import (
    Calibration,
    Contradiction,
    Cup,
    calibrated_from_cups,
    calibrated_from_minutes,
)
from service.sizing.card import DEFAULT_LINE_SPACING_M, PlotCard, read_card
from service.sizing.laid import LaidLines, all_open, laid_candidate, with_known_bore
from service.sizing.pipes import PipeSize
from service.sizing.result import Layout

Answers = Mapping[str, object]
Record = Mapping[str, Any]
"""One measurement as kept: plot, day, by ("minutes" or "cups") and what was measured."""

TOLD, NOT_LAID = "told", "no"
KEPT_RECORDS = 8
"""Measurements kept of a plot: two years of seasons with a check at either end."""
_TOLD_NUMBERS = ("laid_lines", "laid_line_length_m", "tank_volume_l", "stand_height_m")


def is_laid(answers: Answers) -> bool:
    """Whether these answers are about a plot that lies already and is told completely."""
    laid = answers.get("laid")
    if isinstance(laid, Mapping):
        return True
    return laid == TOLD and all(answers.get(name) not in (None, "") for name in _TOLD_NUMBERS)


def _number(answers: Answers, name: str, usual: float) -> float:
    value = answers.get(name)
    return usual if value in (None, "") else float(str(value))


def laid_lines(answers: Answers) -> LaidLines:
    """Return the lines as told; CardError names what was not."""
    missing = [name for name in _TOLD_NUMBERS if answers.get(name) in (None, "")]
    if missing:
        raise CardError([FieldProblem(name, None, MISSING) for name in missing])
    return LaidLines(
        lines=int(_number(answers, "laid_lines", 1)),
        line_length=_number(answers, "laid_line_length_m", 0),
        spacing=_number(answers, "laid_spacing_m", DEFAULT_LINE_SPACING_M),
        sides=2 if _number(answers, "laid_sides", 1) == 2 else 1,
    )


def as_laid(answers: Answers) -> Answers:
    """Return the answers with the sides of the plot that its lines make, where lines were told."""
    if answers.get("laid") != TOLD or not is_laid(answers):
        return answers
    lines = laid_lines(answers)
    return {**answers, "plot_length_m": lines.plot_length, "plot_width_m": lines.plot_width}


def laid_fields(answers: Answers) -> dict[str, object]:
    """Return the fields of the card that a plot fixes by lying; none for one still planned."""
    if not is_laid(answers):
        return {}
    laid = answers.get("laid")
    if isinstance(laid, Mapping):
        layout = {name: laid[name] for name in ("tank_position", "lines_run", "blocks")}
        return {"layout": layout, "line_spacing_m": laid["line_spacing_m"]}
    lines = laid_lines(answers)
    blocks = min(int(_number(answers, "laid_blocks", 1)), lines.taps)
    layout = {"tank_position": lines.position, "lines_run": "length", "blocks": blocks}
    return {"layout": layout, "line_spacing_m": lines.spacing}


def planned_layout(layout: Layout) -> dict[str, object]:
    """Return what is kept of a recommended layout when somebody says that it lies so."""
    return {
        "tank_position": layout.tank_position,
        "lines_run": layout.lines_run,
        "blocks": layout.blocks,
        "line_spacing_m": round(layout.line_spacing_m, 3),
        "bore_mm": round(layout.submain_inner_diameter_mm, 3),
        "line_count": layout.line_count,
        "line_length_m": round(layout.line_length_m, 2),
    }


def measured_card(card: PlotCard, answers: Answers, pipes: Sequence[PipeSize]) -> PlotCard:
    """Return the card of a laid plot with a main pipe and, if measured, its calibration.

    The card of a plot that is only planned comes back as it is.
    """
    if not is_laid(answers):
        return card
    base = piped_card(card, answers, pipes)
    found = standing_calibration(base, answers, pipes)
    if found is None:
        return base
    dripline = base.dripline.model_copy(update={"calibration": round(found.factor, 4)})
    return base.model_copy(update={"dripline": dripline})


def piped_card(card: PlotCard, answers: Answers, pipes: Sequence[PipeSize]) -> PlotCard:
    """Return the card with a size for its main pipe, if its layout is fixed."""
    if card.submain.inner_diameter_mm is not None:
        return card
    laid = answers.get("laid")
    if isinstance(laid, Mapping):
        bore = float(str(laid["bore_mm"]))
    else:
        bore = _likely_bore(water_only(card), tuple(pipes))
    submain = card.submain.model_copy(update={"inner_diameter_mm": bore})
    return card.model_copy(update={"submain": submain})


def water_only(card: PlotCard) -> str:
    """Return the card without what moves no water, so that it is found again tomorrow."""
    return card.model_dump_json(
        exclude_unset=True, exclude={"crop", "crops", "planting_date", "supply", "soil", "district"}
    )


@lru_cache(maxsize=4096)
def _likely_bore(card: str, pipes: tuple[PipeSize, ...]) -> float:
    return with_known_bore(read_card(card), pipes).submain.inner_diameter_mm or 0.0


# --- measurements --------------------------------------------------------------------------------


def plot_mark(answers: Answers) -> str:
    """Return what tells one laid plot from another, so that a measurement stays with its own."""
    laid = answers.get("laid")
    if isinstance(laid, Mapping):
        lines, length = laid["line_count"], float(str(laid["line_length_m"]))
    else:
        lines, length = answers.get("laid_lines"), _number(answers, "laid_line_length_m", 0)
    tank, stand = _number(answers, "tank_volume_l", 0), _number(answers, "stand_height_m", 0)
    return f"{lines}x{length:g}/{tank:g}/{stand:g}"


def records(answers: Answers) -> tuple[Record, ...]:
    """Return the measurements of this plot, the newest last."""
    kept = answers.get("measurements")
    if not isinstance(kept, list):
        return ()
    mark = plot_mark(answers)
    return tuple(each for each in kept if isinstance(each, Mapping) and each.get("plot") == mark)


def with_record(answers: Answers, record: Record) -> list[Record]:
    """Return the measurements with one more; one of the same day and kind makes way for it."""
    kept = answers.get("measurements")
    others = [
        each
        for each in (kept if isinstance(kept, list) else [])
        if isinstance(each, Mapping)
        and [each.get(name) for name in ("plot", "day", "by")]
        != [record[name] for name in ("plot", "day", "by")]
    ]
    return [*others, dict(record)][-KEPT_RECORDS:]


def minutes_record(answers: Answers, today: date) -> Record:
    """Return the timed emptying of the answers as it is kept."""
    minutes = _number(answers, "laid_minutes", 0)
    return {
        "plot": plot_mark(answers),
        "day": today.isoformat(),
        "by": "minutes",
        "minutes": minutes,
    }


def cups_record(
    answers: Answers, today: date, cups: Sequence[Cup], minutes: float, level: float
) -> dict[str, Any]:
    """Return a cup test as it is kept, without its verdict."""
    return {
        "plot": plot_mark(answers),
        "day": today.isoformat(),
        "by": "cups",
        "minutes": minutes,
        "level_m": round(level, 3),
        "cups": [[cup.line, cup.emitter, cup.millilitres] for cup in cups],
    }


def standing_calibration(
    card: PlotCard, answers: Answers, pipes: Sequence[PipeSize]
) -> Calibration | None:
    """Return the calibration by the newest measurement that can belong to the card."""
    for record in reversed(records(answers)):
        found = calibration_by(card, record, pipes)
        if isinstance(found, Calibration):
            return found
    return None


def calibration_by(
    card: PlotCard, record: Record, pipes: Sequence[PipeSize]
) -> Calibration | Contradiction | None:
    """Return what a measurement says of a card; None when it cannot be read as one."""
    return _calibration(
        water_only(card),
        json.dumps(record, sort_keys=True),
        tuple(pipes),
    )


@lru_cache(maxsize=4096)
def _calibration(
    card: str, record: str, pipes: tuple[PipeSize, ...]
) -> Calibration | Contradiction | None:
    raw = json.loads(record)
    try:
        one = laid_candidate(read_card(card), pipes)
        if cast(Literal["minutes", "cups"], raw["by"]) == "minutes":
            return calibrated_from_minutes(all_open(one), float(raw["minutes"]))
        cups = [Cup(int(line), int(place), float(ml)) for line, place, ml in raw["cups"]]
        return calibrated_from_cups(one, cups, float(raw["minutes"]), float(raw["level_m"]))
    except (KeyError, TypeError, ValueError, NotConverged):
        # Told anew, the plot may have fewer lines than the cups stood on.
        return None
