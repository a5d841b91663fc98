"""Each warning of a plan in one sentence, with its evidence, for screens, sheets and tables."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from typing import Any

from service.advice import rounding
from service.phrases import Number, Phrase, say, say_n
from service.sizing.result import PlanWarning

Evidence = Mapping[str, Any]
Words = Callable[[Evidence], Phrase]


def warning_phrases(warnings: Iterable[PlanWarning]) -> tuple[Phrase, ...]:
    """Return the sentences of warnings, in their order, each once."""
    said: list[Phrase] = []
    for one in warnings:
        phrase = WORDS[one.code](one.model_extra or {})
        if phrase not in said:
            said.append(phrase)
    return tuple(said)


def _agreeing(evidence: Evidence, agrees: Phrase, differs: Phrase) -> Phrase:
    return agrees if evidence["agrees"] else differs


def _stand(evidence: Evidence) -> Phrase:
    height, usual = rounding.metres(evidence["stand_height_m"]), Number(evidence["practice_m"], 1)
    return _agreeing(
        evidence,
        say("The stand of {height} m is below the usual {usual} m, and it shows.",
            height=height, usual=usual),
        say("The stand of {height} m is below the usual {usual} m, yet computed it does.",
            height=height, usual=usual),
    )  # fmt: skip


def _lines(evidence: Evidence) -> Phrase:
    length, usual = rounding.metres(evidence["line_length_m"]), Number(evidence["practice_m"], 1)
    return _agreeing(
        evidence,
        say("Lines of {length} m are longer than the usual {usual} m, and it shows.",
            length=length, usual=usual),
        say("Lines of {length} m are longer than the usual {usual} m, yet computed they do.",
            length=length, usual=usual),
    )  # fmt: skip


def drippers_dry(count: int) -> Phrase:
    """How many drippers lie above the water line."""
    return say_n(
        "{n} dripper gets nothing: it lies too high for this tank.",
        "{n} drippers get nothing: they lie too high for this tank.",
        count="n",
        n=count,
    )


def _hangs(evidence: Evidence) -> Phrase:
    return say(
        "Not sure: the verdict hangs on what was taken as usual ({fields}). Measure it.",
        fields=", ".join(str(field) for field in evidence.get("fields", ())),
    )


WORDS: dict[str, Words] = {
    "uniformity_below_goal": lambda e: say(
        "Evenness {eu}%, wanted {goal}%.",
        eu=rounding.per_cent(e["emission_uniformity_pct"]),
        goal=rounding.per_cent(e["goal_pct"]),
    ),
    "flow_variation_high": lambda e: say(
        "Drippers differ by {percent}%: more than 10% is worth a change.",
        percent=Number(e["flow_variation_pct"]),
    ),
    "flow_variation_too_high": lambda e: say(
        "Drippers differ by {percent}%: too much, do not lay it so.",
        percent=Number(e["flow_variation_pct"]),
    ),
    "dry_emitters": lambda e: drippers_dry(int(e["count"])),
    "tank_stops_early": lambda e: say(
        "The water stops with {litres} L given: the ground lies too high for the rest.",
        litres=rounding.litres(e["delivered_litres"]),
    ),
    "inflow_keeps_up": lambda e: say("Water comes in as fast as it runs out: it never empties."),
    "verdict_hangs_on_assumed": _hangs,
    "within_practice_but_uneven": lambda e: say(
        "Stand and lines are as usual, yet computed it waters unevenly."
    ),
    "stand_below_practice": _stand,
    "lines_beyond_practice": _lines,
    "spacing_beyond_practice": lambda e: say(
        "Lines lie {metres} m apart: plants between them stay dry.",
        metres=rounding.metres(e["line_spacing_m"]),
    ),
    "outlet_in_sludge": lambda e: say("The outlet sits in the dirt: raise it 10 cm."),
    "no_filter": lambda e: say("No filter: the drippers will block. Fit a 120 mesh screen."),
    "water_salty": lambda e: say(
        "The water is salty ({ec} dS/m): ask the helpline before you plant.",
        ec=Number(e["water_ec_ds_m"], 1),
    ),
    "salty_water": lambda e: say("Salt in the water costs yield for this crop: give more water."),
    "regulated_emitters_on_a_stand": lambda e: say(
        "Regulated drippers want {needed} m of height and get {head} m: buy plain ones.",
        needed=Number(e["needs_head_m"]),
        head=Number(e["head_m"], 1),
    ),
    "plot_too_big_for_tank": lambda e: say(
        "The tank is small for this plot: more than {fills} fills on the hottest day.",
        fills=Number(e["practice_fills"]),
    ),
    "plot_too_big_for_supply": lambda e: say(
        "{given} L a day can be brought, {peak} L are needed at the peak.",
        given=rounding.litres(e["given_l_day"]),
        peak=rounding.litres(e["peak_l_day"]),
    ),
    "peak_beyond_hours": lambda e: say(
        "At the peak the water needs more than {hours} hours a day to run.",
        hours=Number(e["hours_a_day"]),
    ),
    "crop_unknown": lambda e: say("No crop named: the water it needs is not computed."),
    "season_over": lambda e: say("The season of this crop is over."),
    "climate_unknown": lambda e: say("Weather of the place not known: hot dry weather taken."),
    "uniformity_too_low_for_litres": lambda e: say(
        "So uneven that more water does not help the dry ends: change the layout."
    ),
    "crop_lines_differ": lambda e: say(
        "The lines given to the crops ({given}) are not those of the layout ({laid}).",
        given=Number(e["lines_given"]),
        laid=Number(e["line_count"]),
    ),
    "crops_differ": lambda e: say("The crops need different minutes: give each its own valve."),
}
"""Sentence of each warning code; a test holds it complete."""
