"""From the answers of the plan conversation to a plot card.

What was not answered is left out of the card, so that the card itself says which values were
taken as usual.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date

from service.advice.crops_told import crop_fields
from service.advice.myplot_card import as_laid, laid_fields, measured_card
from service.sizing.card import PlotCard, read_card
from service.sizing.pipes import PipeSize

Answers = Mapping[str, object]

NOT_ON_THE_LIST = "elsewhere"
"""Stored as the district when the caller's own is not listed."""
NOT_BOUGHT, UNREADABLE = "not_bought", "unreadable"
"""Stored as the main pipe when there is no number to read."""


def _number(answers: Answers, name: str) -> float | None:
    value = answers.get(name)
    return None if value in (None, "") else float(str(value))


def _without_gaps(fields: dict[str, object]) -> dict[str, object]:
    return {name: value for name, value in fields.items() if value not in (None, {})}


def _slope_pct(rise_m: float | None, over_m: float | None) -> float | None:
    return None if rise_m is None or not over_m else 100.0 * rise_m / over_m


def _plot(answers: Answers) -> dict[str, object]:
    length, width = _number(answers, "plot_length_m"), _number(answers, "plot_width_m")
    return _without_gaps(
        {
            "length_m": length,
            "width_m": width,
            "slope_length_pct": _slope_pct(_number(answers, "rise_along_length_m"), length),
            "slope_width_pct": _slope_pct(_number(answers, "rise_along_width_m"), width),
        }
    )


def _dripline(answers: Answers) -> dict[str, object]:
    # A line bought already keeps its printed flow; a line not bought is advised, so it stays out.
    return _without_gaps(
        {
            "emitter_flow_lph": _number(answers, "emitter_flow_lph"),
            "emitter_spacing_m": _number(answers, "emitter_spacing_m"),
        }
    )


def _supply(answers: Answers) -> dict[str, object]:
    fills, tank = _number(answers, "fills_a_day"), _number(answers, "tank_volume_l")
    return _without_gaps(
        {
            "fill": answers.get("supply_fill"),
            "litres_per_day": None if fills is None or tank is None else fills * tank,
        }
    )


def _submain(answers: Answers, pipes: tuple[PipeSize, ...]) -> dict[str, object]:
    named = str(answers.get("main_pipe", NOT_BOUGHT))
    bores = {f"{pipe.outer_mm:g}": pipe.bore_mm for pipe in pipes if pipe.use == "submain"}
    return _without_gaps({"inner_diameter_mm": bores.get(named)})


def card_from_answers(answers: Answers, pipes: tuple[PipeSize, ...], today: date) -> PlotCard:
    """Return the plot card that the answers mean.

    Of a plot that lies already the layout is fixed, and the emitters are calibrated by what was
    measured on it.

    Raises
    ------
    CardError
        When an answer is missing or the whole cannot be a plot.
    """
    return measured_card(plain_card(answers, pipes, today), answers, pipes)


def plain_card(answers: Answers, pipes: tuple[PipeSize, ...], today: date) -> PlotCard:
    """Return the card that the answers mean, its emitters as printed; CardError likewise."""
    answers = as_laid(answers)
    district = answers.get("district")
    return read_card(
        _without_gaps(
            {
                "plot": _plot(answers),
                "tank": _without_gaps({"volume_l": _number(answers, "tank_volume_l")}),
                "stand_height_m": _number(answers, "stand_height_m"),
                "submain": _submain(answers, pipes),
                "dripline": _dripline(answers),
                "soil": answers.get("soil"),
                "district": None if district == NOT_ON_THE_LIST else district,
                "supply": _supply(answers),
                **crop_fields(answers, today),
                **laid_fields(answers),
            }
        )
    )
