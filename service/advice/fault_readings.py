"""What somebody measured while looking for a fault, and the plot on which it was measured."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache

from service.advice.answers import Answers, plain_card
from service.advice.context import Context
from service.advice.myplot_card import piped_card, standing_calibration, water_only
from service.errors import CardError, NotConverged, OutOfRange
from service.sizing.card import read_card
from service.sizing.faults import (
    FIRST,
    Nearer,
    TwoCups,
    WeakCup,
    far_by_bottle,
    reckoned_share,
    weak_by_bottle,
)
from service.sizing.field_plot import (
    Bottle,
    FieldPlot,
    Level,
    Reckoned,
    field_plot,
    reckoned_bottle,
    reckoned_cup,
    reckoned_minutes,
    tank_level,
)
from service.sizing.pipes import PipeSize

CATCH_MINUTES = 6.0
"""How long cups stand under drippers here: mL times 10 is mL an hour."""


@dataclass(frozen=True)
class Readings:
    """The plot, and each measurement as the core takes it; CardError where it is missing."""

    answers: Answers
    plot: FieldPlot

    def number(self, name: str) -> float:
        """Return a measured number; CardError when it was not sent."""
        value = self.answers.get(name)
        if value in (None, ""):
            raise CardError([])
        return float(str(value))

    @property
    def seen(self) -> str:
        """What the caller saw."""
        return str(self.answers.get("fault_seen", ""))

    @property
    def level(self) -> Level:
        """Water in the tank."""
        share = self.answers.get("fault_tank_share")
        return tank_level(self.plot.one.card, 1.0 if share in (None, "") else float(str(share)))

    @property
    def place(self) -> int:
        """The tap at which the line lies, from 1."""
        return FIRST if self.seen == "weak" else int(self.number("fault_line"))

    @property
    def cup(self) -> WeakCup:
        """The cup under the first dripper of the first line."""
        return WeakCup(self.number("fault_cup_ml"), CATCH_MINUTES, self.level)

    @property
    def bottle(self) -> Bottle:
        """The bottle at the open line end."""
        return Bottle(self.number("fault_bottle_l"), self.number("fault_bottle_s"))

    @property
    def cups(self) -> TwoCups:
        """The cups at the first and the last dripper of one line."""
        first, last = self.number("fault_first_ml"), self.number("fault_last_ml")
        return TwoCups(self.place, first, last, self.level)

    @property
    def gushing(self) -> int:
        """Place of the dripper that gushes on its line, from 1."""
        return self.plot.emitter_at(self.number("fault_at_m"))

    # --- what the plot should give ----------------------------------------------------------------

    def cup_reckoned(self) -> Reckoned:
        """What the cup under the first dripper of the first line should hold [mL]."""
        return reckoned_cup(self.plot, FIRST, FIRST, self.level, CATCH_MINUTES)

    def gush_reckoned(self) -> Reckoned:
        """What the cup under the gushing dripper should hold [mL]."""
        return reckoned_cup(self.plot, self.place, self.gushing, self.level, CATCH_MINUTES)

    def bottle_reckoned(self) -> Reckoned:
        """Seconds in which the bottle should be full."""
        return reckoned_bottle(self.plot, self.place, self.level, self.bottle.volume_l)

    def share_reckoned(self) -> Reckoned:
        """What the last dripper should give of the first."""
        return reckoned_share(self.plot, self.cups)

    def minutes_reckoned(self) -> Reckoned | None:
        """Minutes from full to empty; None when the tank never empties."""
        return reckoned_minutes(self.plot)

    # --- what was found ---------------------------------------------------------------------------

    @property
    def first_dry(self) -> bool:
        """Whether the first dripper of the line gave as good as nothing."""
        return self.seen == "far" and self.number("fault_first_ml") < 1.0

    @property
    def end_is_free(self) -> bool:
        """Whether a line's open end ran as fast as it should."""
        bottle = self.bottle
        return 0.0 < bottle.seconds <= self.bottle_reckoned().high

    def weak_by_bottle(self) -> Nearer:
        """Whether the loss lies before the lines (first) or in the drippers (second)."""
        return weak_by_bottle(self.plot, self.cup, self.bottle)

    def far_by_bottle(self) -> Nearer:
        """Whether the line is pinched (first) or free (second)."""
        return far_by_bottle(self.plot, self.cups, self.bottle)


@lru_cache(maxsize=64)
def _field_plot(
    card: str, pipes: tuple[PipeSize, ...], factors: tuple[float, float] | None
) -> FieldPlot:
    return field_plot(read_card(card), pipes, factors)


def readings(answers: Answers, context: Context) -> Readings:
    """Return what was measured, on the plot as it lies; CardError when there is no plot."""
    pipes = context.tables.pipes
    base = piped_card(plain_card(answers, pipes, context.today), answers, pipes)
    found = standing_calibration(base, answers, pipes)
    factors = None if found is None else (found.low / found.factor, found.high / found.factor)
    return Readings(answers, _field_plot(water_only(context.card(answers)), pipes, factors))


Judge = Callable[[Readings], bool]


def guarded(judge: Judge) -> Callable[[Answers, Context], bool]:
    """Make a guard of a judgement; where something was not measured it does not hold."""

    def guard(answers: Answers, context: Context) -> bool:
        try:
            return judge(readings(answers, context))
        except (CardError, NotConverged, OutOfRange):
            return False

    return guard
