"""The crops of a plot as told: when each was planted, and which stand on some of its lines only.

Weeks are told on a day, and that day is kept beside them: a plot grows older between two calls.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta

Answers = Mapping[str, object]

WEEKS, WEEKS_TOLD_ON = "weeks_since_planting", "weeks_told_on"
MORE = "more_crops"
MOST_MORE = 3
"""Crops beside the main one that a plot can carry: more would fill no screen (our choice)."""
_DAYS_PER_WEEK = 7


@dataclass(frozen=True, slots=True)
class BesideCrop:
    """A crop that stands on some of the lines of a plot, beside the main one."""

    crop: str
    lines: int
    planted: date


def planted_on(answers: Answers, today: date) -> date | None:
    """Return the day of planting of the main crop; None when nobody told.

    Not planted yet counts as planted on the day on which that was told.
    """
    weeks = answers.get(WEEKS)
    if weeks in (None, ""):
        return None
    return told_day(answers, today) - timedelta(days=round(_DAYS_PER_WEEK * float(str(weeks))))


def told_day(answers: Answers, today: date) -> date:
    """Return the day on which the weeks were told; today when it was not kept."""
    kept = answers.get(WEEKS_TOLD_ON)
    # A phone whose clock, or a server whose day, went back must not plant in the future.
    return min(date.fromisoformat(str(kept)), today) if kept else today


def beside_crops(answers: Answers) -> tuple[BesideCrop, ...]:
    """Return the crops that stand on some of the lines; none when one crop has them all."""
    kept = answers.get(MORE)
    if not isinstance(kept, list):
        return ()
    return tuple(
        BesideCrop(str(one["crop"]), int(one["lines"]), date.fromisoformat(str(one["planted"])))
        for one in kept
    )


def all_lines(answers: Answers) -> int:
    """Return how many lines a plot that lies has; 0 when it does not lie yet."""
    laid = answers.get("laid")
    if isinstance(laid, Mapping):
        return int(laid.get("line_count") or 0)
    return int(float(str(answers.get("laid_lines") or 0))) if laid == "told" else 0


def free_lines(answers: Answers) -> int:
    """Return how many lines the main crop has left; at least one must stay with it."""
    return all_lines(answers) - sum(one.lines for one in beside_crops(answers))


def crop_fields(answers: Answers, today: date) -> dict[str, object]:
    """Return the fields of the card that say which crops stand on the plot."""
    beside, left = beside_crops(answers), free_lines(answers)
    planted = planted_on(answers, today) or today
    main = answers.get("crop")
    # A plot told anew with fewer lines: what was told of the others fits no more.
    if not beside or left < 1 or main in (None, ""):
        return {"crop": main, "planting_date": planted.isoformat()}
    others = [
        {"crop": one.crop, "lines": one.lines, "planting_date": one.planted.isoformat()}
        for one in beside
    ]
    own = {"crop": main, "lines": left, "planting_date": planted.isoformat()}
    return {"crops": [own, *others]}


def with_other_crop(answers: Answers, today: date) -> list[dict[str, object]]:
    """Return the crops beside the main one with the one that was just told, as they are kept."""
    weeks = float(str(answers.get("other_weeks") or 0))
    planted = today - timedelta(days=round(_DAYS_PER_WEEK * weeks))
    kept = [
        {"crop": one.crop, "lines": one.lines, "planted": one.planted.isoformat()}
        for one in beside_crops(answers)
    ]
    new: dict[str, object] = {
        "crop": str(answers.get("other_crop")),
        "lines": int(float(str(answers.get("other_lines") or 1))),
        "planted": planted.isoformat(),
    }
    return [*kept, new][-MOST_MORE:]
