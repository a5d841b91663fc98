"""The cup test of the answers: where the cups stood, what they held, what that says of the plot."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from service.advice.answers import Answers, plain_card
from service.advice.context import Context
from service.advice.myplot_card import (
    calibration_by,
    cups_record,
    piped_card,
    records,
    water_only,
)
from service.errors import CardError, NotConverged, OutOfRange
from service.sizing.calibration import Calibration, Contradiction
from service.sizing.card import PlotCard, read_card
from service.sizing.cup_pattern import Gap, gap
from service.sizing.field_check import (
    Evenness,
    Sampling,
    Verdict,
    catch_level,
    cups_of,
    evenness,
    expected_ml,
    reckoned_du,
    reckoned_flows,
    samplings,
    verdict,
)
from service.sizing.field_plot import tank_level
from service.sizing.field_tables import uniformity_bands
from service.sizing.laid import laid_candidate
from service.sizing.pipes import PipeSize
from service.sizing.sized import Candidate

USUAL_CATCH = 6.0


@lru_cache(maxsize=64)
def _laid(card: str, pipes: tuple[PipeSize, ...]) -> Candidate:
    return laid_candidate(read_card(card), pipes)


@dataclass(frozen=True)
class CupTest:
    """One cup test on a laid plot; CardError where something was not answered."""

    answers: Answers
    one: Candidate
    card: PlotCard
    """Uncalibrated: a calibration is reckoned from it."""
    context: Context

    @property
    def samplings(self) -> tuple[Sampling, ...]:
        """Ways to sample this plot."""
        return samplings(self.one)

    @property
    def sampling(self) -> Sampling:
        """The way chosen."""
        for sampling in self.samplings:
            if sampling.cups == self.answers.get("check_cups"):
                return sampling
        raise CardError([])

    @property
    def minutes(self) -> float:
        """Minutes of the catch."""
        return float(str(self.answers.get("check_minutes") or USUAL_CATCH))

    @property
    def level(self) -> float:
        """Mean water level while cups were filled [m]."""
        share = float(str(self.answers.get("check_tank_share") or 1))
        return catch_level(self.one, tank_level(self.card, share).at, self.minutes)

    @property
    def volumes(self) -> tuple[float, ...]:
        """What the cups held [mL], in their order."""
        found = []
        for row, cups in enumerate(self.sampling.rows, 1):
            for cup in range(1, len(cups.emitters) + 1):
                value = self.answers.get(f"check_{row}_{cup}")
                if value in (None, ""):
                    raise CardError([])
                found.append(float(str(value)))
        return tuple(found)

    @property
    def all_dry(self) -> bool:
        """Whether no cup held any water."""
        return max(self.volumes) <= 0.0

    @property
    def evenness(self) -> Evenness:
        """How even the cups were."""
        return evenness(self.volumes)

    @property
    def verdict(self) -> Verdict:
        """The band."""
        return verdict(self.evenness, uniformity_bands())

    @property
    def reckoned_du(self) -> float:
        """What new drippers would give in these cups [%]."""
        return reckoned_du(self.one, self.sampling, self.level)

    @property
    def mean_share(self) -> float:
        """Mean of the cups over what the plot as known should give there [-]."""
        flows = reckoned_flows(self.one, self.sampling, self.level)
        reckoned = expected_ml(sum(flows) / len(flows), self.minutes)
        return self.evenness.mean_ml / reckoned if reckoned > 0.0 else 0.0

    @property
    def gap(self) -> Gap:
        """What the pattern of the cups says."""
        return gap(self.one, self.sampling, self.volumes, self.level)

    @property
    def record(self) -> dict[str, Any]:
        """The test as it is kept, with its verdict."""
        cups = cups_of(self.sampling, self.volumes)
        kept = cups_record(self.answers, self.context.today, cups, self.minutes, self.level)
        found = self.evenness
        return {**kept, "du_pct": round(found.du_pct, 1), "us_pct": round(found.us_pct, 1)}

    @property
    def calibration(self) -> Calibration | Contradiction | None:
        """What the cups say of the drippers' flow."""
        return calibration_by(self.card, self.record, self.context.tables.pipes)

    @property
    def last_du(self) -> float | None:
        """Evenness of the check before this one [%]."""
        today = self.context.today.isoformat()
        for record in reversed(records(self.answers)):
            if record.get("by") == "cups" and record.get("day") != today and "du_pct" in record:
                return float(record["du_pct"])
        return None


def cup_test(answers: Answers, context: Context) -> CupTest:
    """Return the cup test of the answers; CardError when there is no plot."""
    pipes = context.tables.pipes
    base = piped_card(plain_card(answers, pipes, context.today), answers, pipes)
    one = _laid(water_only(context.card(answers)), pipes)
    return CupTest(answers, one, base, context)


def guarded(judge: Callable[[CupTest], bool]) -> Callable[[Answers, Context], bool]:
    """Make a guard of a judgement; where something is missing it does not hold."""

    def guard(answers: Answers, context: Context) -> bool:
        try:
            return judge(cup_test(answers, context))
        except (CardError, NotConverged, OutOfRange):
            return False

    return guard


def measurements(answers: Answers) -> list[Mapping[str, Any]]:
    """Return what is kept of all plots told here."""
    kept = answers.get("measurements")
    return [each for each in kept if isinstance(each, Mapping)] if isinstance(kept, list) else []
