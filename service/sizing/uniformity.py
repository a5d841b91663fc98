"""How evenly water comes out: the measures of design and of the field check.

Flows may be in any one unit; all measures are in percent.
"""

from __future__ import annotations

import math
import statistics
from collections.abc import Sequence

from service.errors import OutOfRange

SCATTER = 1.27
"""Mean of the lowest quarter of a normal scatter, in standard deviations below the mean."""
STEEP_PCT = 2.0
"""Ground steeper than this, either way, is sloping: ASAE EP405.1, from memory, not verified."""
GOAL_FLAT_PCT, GOAL_SLOPING_PCT = 85.0, 80.0
"""Design goals of emission uniformity: within EP405.1's ranges for line sources (from memory)."""
VARIATION_WARN_PCT, VARIATION_REFUSE_PCT = 10.0, 20.0
"""Flow variation: 10 read (ASAE 1999 limit quoted in an abstract), 20 from memory, not verified."""


def emission_uniformity(cv: float, least: float, mean: float, per_plant: float = 1.0) -> float:
    """Design emission uniformity [%]; 0 when nothing flows.

    Parameters
    ----------
    cv : float
        Coefficient of variation of new emitters [-].
    least, mean : float
        Flow of the worst emitter and of the mean one, pipes and ground alone.
    per_plant : float
        Emitters that feed one plant, at least 1; 1 is the cautious choice for vegetables.

    References
    ----------
    .. [1] ASAE EP405.1 after Keller and Karmeli 1974: from memory, not verified.
    """
    if per_plant < 1.0:
        raise OutOfRange("emitters per plant", per_plant, 1.0, math.inf)
    if mean <= 0.0:
        return 0.0
    return max(0.0, 100.0 * (1.0 - SCATTER * cv / math.sqrt(per_plant)) * least / mean)


def flow_variation(least: float, greatest: float) -> float:
    """Flow variation [%] of the worst and best emitter; 100 when nothing flows (Wu and Gitlin)."""
    return 100.0 * (greatest - least) / greatest if greatest > 0.0 else 100.0


def goal_emission_uniformity(slope_length_pct: float, slope_width_pct: float) -> float:
    """Design goal [%]: 85 on flat ground, 80 where it falls or rises by more than 2 %."""
    steepest = max(abs(slope_length_pct), abs(slope_width_pct))
    return GOAL_SLOPING_PCT if steepest > STEEP_PCT else GOAL_FLAT_PCT


def low_quarter_uniformity(flows: Sequence[float]) -> float:
    """Field emission uniformity DUlq [%]: mean of the lowest quarter over the mean.

    The quarter is rounded to whole readings: 4 of 16, 2 of 9.

    References
    ----------
    .. [1] Merriam and Keller 1978: from memory, not verified.
    """
    _check(flows)
    quarter = sorted(flows)[: max(1, round(len(flows) / 4))]
    return 100.0 * statistics.fmean(quarter) / statistics.fmean(flows)


def absolute_uniformity(flows: Sequence[float]) -> float:
    """Absolute emission uniformity [%]; the highest eighth counts too (Keller and Karmeli)."""
    _check(flows)
    mean = statistics.fmean(flows)
    highest = sorted(flows)[-max(1, round(len(flows) / 8)) :]
    return 0.5 * (low_quarter_uniformity(flows) + 100.0 * mean / statistics.fmean(highest))


def statistical_uniformity(flows: Sequence[float]) -> float:
    """Statistical uniformity Us [%]: 100 (1 - s / mean), s with n - 1 (EP458, from memory)."""
    _check(flows)
    return 100.0 * (1.0 - statistics.stdev(flows) / statistics.fmean(flows))


def christiansen_uniformity(flows: Sequence[float]) -> float:
    """Christiansen's coefficient CU [%]: 100 (1 - mean deviation / mean)."""
    _check(flows)
    mean = statistics.fmean(flows)
    return 100.0 * (1.0 - statistics.fmean(abs(flow - mean) for flow in flows) / mean)


def allowed_head_difference(
    goal_pct: float, cv: float, exponent: float, mean_head: float, per_plant: float = 1.0
) -> float:
    """Difference of head within a block [m] that a goal of emission uniformity leaves.

    References
    ----------
    .. [1] Keller and Karmeli: dH = 2.5 (h_a - h_n): from memory, not verified.
    """
    share = goal_pct / (100.0 * (1.0 - SCATTER * cv / math.sqrt(per_plant)))
    if share >= 1.0:
        return 0.0
    return 2.5 * mean_head * (1.0 - math.pow(share, 1.0 / exponent))


def _check(flows: Sequence[float]) -> None:
    if len(flows) < 2:
        raise OutOfRange("number of readings", len(flows), 2, math.inf)
    if min(flows) < 0.0 or max(flows) <= 0.0:
        raise OutOfRange("least reading", min(flows), 0.0, math.inf)
