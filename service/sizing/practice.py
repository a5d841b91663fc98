"""Warnings: what the hydraulics find wrong, and the limits of practice set against them.

A limit of practice is common practice without a source. It is told together with what was
computed, so that a reader sees whether the two agree.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import groupby

from service.sizing.result import PlanWarning
from service.sizing.sized import Candidate
from service.sizing.uniformity import VARIATION_REFUSE_PCT, VARIATION_WARN_PCT

STAND_M = 2.5
LINE_LENGTH_M = 40.0
LINE_SPACING_M = 1.0
OUTLET_M = 0.05
"""A tank outlet lower than this draws sludge; 0.1 m is usual."""
FILLS_A_DAY = 4.0
"""More fills than this on the thirstiest day: the tank is too small for the plot."""
REGULATED_EXPONENT = 0.2
REGULATED_HEAD_M = 5.0
"""A regulated emitter needs about 5 to 10 m of head before it acts: from memory, not verified."""
SALT_SOME_DS_M, SALT_SEVERE_DS_M = 0.7, 3.0
"""FAO 1985 classes of irrigation water, read as restated in a later paper."""
NAMED = 20
"""Most runs of dry emitters that are named one by one."""


def _warning(code: str, **evidence: object) -> PlanWarning:
    return PlanWarning.model_validate({"code": code, **evidence})


def warnings(one: Candidate, peak_gross_l_day: float | None = None) -> tuple[PlanWarning, ...]:
    """Warnings about a layout, what the hydraulics say first.

    Parameters
    ----------
    one : Candidate
        The recommended layout.
    peak_gross_l_day : float, optional
        Water that the crop needs on its thirstiest day [L].
    """
    return (
        *_uneven(one),
        *_dry(one),
        *_stops(one),
        *_against_practice(one),
        *_fittings(one),
        *_too_big(one, peak_gross_l_day),
    )


def _uneven(one: Candidate) -> Iterator[PlanWarning]:
    full = one.worst_full
    if full.emission_uniformity_pct < one.goal:
        yield _warning(
            "uniformity_below_goal",
            emission_uniformity_pct=full.emission_uniformity_pct,
            goal_pct=one.goal,
            block=one.worst + 1,
        )
    variation = full.flow_variation_pct
    if variation > VARIATION_WARN_PCT:
        refused = variation > VARIATION_REFUSE_PCT
        yield _warning(
            "flow_variation_too_high" if refused else "flow_variation_high",
            flow_variation_pct=variation,
            limit_pct=VARIATION_REFUSE_PCT if refused else VARIATION_WARN_PCT,
        )


def _dry(one: Candidate) -> Iterator[PlanWarning]:
    """Name the emitters above the water line: line by line, from which to which."""
    if not any(full.dry_emitters for full in one.counted):
        return
    flows = [line for state in one.states() for line in state.emitter_flows]
    runs: list[dict[str, int]] = []
    for number, line in enumerate(flows, 1):
        for is_dry, run in groupby(enumerate(line, 1), key=lambda pair: pair[1] <= 0.0):
            places = [place for place, _ in run]
            if is_dry:
                runs.append(
                    {"line": number, "first_emitter": places[0], "last_emitter": places[-1]}
                )
    yield _warning(
        "dry_emitters",
        count=sum(full.dry_emitters for full in one.counted),
        of=sum(block.emitters for block in one.blocks),
        where=runs[:NAMED],
        more=max(0, len(runs) - NAMED),
    )


def _stops(one: Candidate) -> Iterator[PlanWarning]:
    for number, drain in enumerate(one.drains, 1):
        if drain.stop == "dry":
            yield _warning(
                "tank_stops_early",
                block=number,
                level_left_m=drain.stop_level,
                outlet_height_m=one.tank.outlet,
                delivered_litres=drain.delivered_litres,
            )
        elif drain.stop == "inflow":
            yield _warning(
                "inflow_keeps_up",
                block=number,
                level_m=drain.stop_level,
                inflow_lph=one.card.tank.inflow_lph,
            )


def _against_practice(one: Candidate) -> Iterator[PlanWarning]:
    """Yield limits of practice that are passed, and whether the computation agrees with them."""
    network, full = one.network, one.worst_full
    computed = {
        "agrees": not one.meets_goal,
        "emission_uniformity_pct": full.emission_uniformity_pct,
        "min_flow_lph": full.min_flow_lph,
    }
    passed = False
    if network.stand < STAND_M:
        passed = True
        yield _warning(
            "stand_below_practice", stand_height_m=network.stand, practice_m=STAND_M, **computed
        )
    if network.line_length > LINE_LENGTH_M:
        passed = True
        yield _warning(
            "lines_beyond_practice",
            line_length_m=network.line_length,
            practice_m=LINE_LENGTH_M,
            **computed,
        )
    if network.spacing > LINE_SPACING_M:
        yield _warning(
            "spacing_beyond_practice", line_spacing_m=network.spacing, practice_m=LINE_SPACING_M
        )
    if not passed and not one.meets_goal:
        yield _warning("within_practice_but_uneven", **computed | {"agrees": False})


def _fittings(one: Candidate) -> Iterator[PlanWarning]:
    card = one.card
    if card.tank.outlet_height_m < OUTLET_M:
        yield _warning(
            "outlet_in_sludge", outlet_height_m=card.tank.outlet_height_m, practice_m=OUTLET_M
        )
    if not card.filter:
        yield _warning("no_filter")
    salt = card.water_ec_ds_m
    if salt is not None and salt > SALT_SOME_DS_M:
        yield _warning("water_salty", water_ec_ds_m=salt, severe=salt > SALT_SEVERE_DS_M)
    head = one.surface
    if card.dripline.exponent < REGULATED_EXPONENT and head < REGULATED_HEAD_M:
        yield _warning(
            "regulated_emitters_on_a_stand",
            exponent=card.dripline.exponent,
            head_m=head,
            needs_head_m=REGULATED_HEAD_M,
        )


def _too_big(one: Candidate, peak: float | None) -> Iterator[PlanWarning]:
    """Yield what makes the plot too big for its tank or its supply on the thirstiest day."""
    if peak is None or peak <= 0.0:
        return
    fill = one.drains[one.worst].delivered_litres
    if fill <= 0.0 or peak / fill > FILLS_A_DAY:
        yield _warning(
            "plot_too_big_for_tank",
            peak_l_day=peak,
            delivered_litres=fill,
            fills_per_day=peak / fill if fill > 0.0 else None,
            practice_fills=FILLS_A_DAY,
        )
    supply = one.card.supply
    given = supply.litres_per_day if supply is not None else None
    if given is not None and given < peak:
        yield _warning("plot_too_big_for_supply", peak_l_day=peak, given_l_day=given)
