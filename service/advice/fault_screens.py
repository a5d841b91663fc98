"""What the fault conversation asks of the plot by name: guards that judge a measurement, shows."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from service.advice import fault_words
from service.advice.answers import Answers
from service.advice.context import Context
from service.advice.fault_readings import Readings, guarded, readings
from service.advice.myplot_screens import explained, laid_layout
from service.advice.myplot_words import plot_in_words
from service.advice.start_screens import REGISTRY as START
from service.dialogue import Registry
from service.errors import CardError, NotConverged
from service.phrases import Phrase
from service.sizing.faults import DESIGN_SHARE, filter_costs, tank_leaks

LOW_TANK = 0.25
"""Share of the depth at which a tank is called low."""
MOST_RUN = 0.5
"""Where by its heights a plot can run no more of its drippers than this, heights are the cause."""
MANY_DRY = 0.05
"""Share of dry drippers that calls for more than a flush: our choice, no source."""


def _saw(*seen: str) -> Callable[[Answers, Context], bool]:
    def guard(answers: Answers, context: Context) -> bool:
        return answers.get("fault_seen") in seen

    return guard


def _low(answers: Answers) -> bool:
    share = answers.get("fault_tank_share")
    return isinstance(share, int | float) and share <= LOW_TANK


def _tank_empty(answers: Answers, context: Context) -> bool:
    return _low(answers) and answers.get("fault_seen") == "nothing"


def _tank_low(answers: Answers, context: Context) -> bool:
    return _low(answers) and answers.get("fault_seen") in ("weak", "far")


def _no_such_line(found: Readings) -> bool:
    return not 1 <= found.number("fault_line") <= len(found.plot.one.network.taps)


def _too_high(found: Readings) -> bool:
    return found.plot.running_share(found.level) < MOST_RUN


def _cup_fair(found: Readings) -> bool:
    return found.cup_reckoned().verdict(found.number("fault_cup_ml")) == "as_reckoned"


def _cup_more(found: Readings) -> bool:
    return found.cup_reckoned().verdict(found.number("fault_cup_ml")) == "more"


def _shows_clogging(found: Readings) -> bool:
    if found.seen == "weak":
        return found.weak_by_bottle() == "second"
    if found.seen == "line" or found.first_dry:
        return found.end_is_free
    return False


def _shows_throttling(found: Readings) -> bool:
    return found.weak_by_bottle() == "first"


def _shows_silt(found: Readings) -> bool:
    return found.seen == "far" and not found.first_dry and found.far_by_bottle() == "second"


def _shows_pinch(found: Readings) -> bool:
    return found.seen == "far" and not found.first_dry and found.far_by_bottle() == "first"


def _far_unclear(found: Readings) -> bool:
    return found.seen == "far" and not found.first_dry


def _filter_costs(found: Readings) -> bool:
    outside = found.number("fault_out_s")
    return filter_costs(found.plot, found.level, found.bottle.seconds, outside)


def _share_fair(found: Readings) -> bool:
    return found.share_reckoned().verdict(found.cups.share) != "less"


def _too_long(found: Readings) -> bool:
    return _share_fair(found) and found.share_reckoned().likely < DESIGN_SHARE


def _many_dry(found: Readings) -> bool:
    emitters = found.plot.one.network.emitters_per_line
    return found.number("fault_dry_drippers") >= MANY_DRY * emitters


def _gushes(found: Readings) -> bool:
    return found.gush_reckoned().verdict(found.number("fault_cup_ml")) == "more"


def _time(found: Readings) -> str:
    reckoned = found.minutes_reckoned()
    return "" if reckoned is None else reckoned.verdict(found.number("fault_minutes"))


def _falls(answers: Answers, context: Context) -> bool:
    fallen = answers.get("fault_drop_m")
    return isinstance(fallen, int | float) and tank_leaks(fallen)


Words = Callable[[Readings], Sequence[Phrase]]


def _said(words: Words) -> Callable[[Answers, Context], Sequence[Phrase]]:
    return explained(lambda answers, context: words(readings(answers, context)))


def _drop_said(answers: Answers, context: Context) -> Sequence[Phrase]:
    """What leaves the tank; nothing where the tank's own size is not known."""
    try:
        return fault_words.drop_said(readings(answers, context))
    except CardError:
        return ()


def _pump_said(answers: Answers, context: Context) -> Sequence[Phrase]:
    seconds, tank = answers.get("fault_bucket_s"), answers.get("tank_volume_l")
    try:
        plan = context.plan(answers)
    except (CardError, NotConverged):
        plan = None
    litres = None if tank in (None, "") else float(str(tank))
    return fault_words.pump_said(max(1.0, float(str(seconds or 1))), litres, plan)


def _for_a_person(answers: Answers, context: Context) -> Sequence[Phrase]:
    said = list(START.shows["helpline"](answers, context))
    try:
        said.append(plot_in_words(context.card(answers), laid_layout(answers, context)))
        said.extend(fault_words.for_a_person(readings(answers, context)))
    except (CardError, NotConverged):
        pass
    return said


REGISTRY = Registry(
    guards={
        "fault_saw_nothing": _saw("nothing"),
        "fault_saw_weak": _saw("weak"),
        "fault_saw_far": _saw("far"),
        "fault_saw_time": _saw("fast", "slow"),
        "fault_saw_dripper": _saw("dripper"),
        "fault_saw_gush": _saw("gush"),
        "fault_saw_tank": _saw("tank"),
        "fault_no_plot_needed": _saw("dripper"),
        "fault_tank_empty": _tank_empty,
        "fault_tank_low": _tank_low,
        "fault_no_such_line": guarded(_no_such_line),
        "fault_too_high": guarded(_too_high),
        "fault_cup_fair": guarded(_cup_fair),
        "fault_cup_more": guarded(_cup_more),
        "fault_bottle_shows_clogging": guarded(_shows_clogging),
        "fault_bottle_shows_throttling": guarded(_shows_throttling),
        "fault_bottle_shows_silt": guarded(_shows_silt),
        "fault_bottle_shows_pinch": guarded(_shows_pinch),
        "fault_far_unclear": guarded(_far_unclear),
        "fault_filter_costs": guarded(_filter_costs),
        "fault_first_dry": guarded(lambda found: found.first_dry),
        "fault_far_fair": guarded(_share_fair),
        "fault_far_too_long": guarded(_too_long),
        "fault_many_dry": guarded(_many_dry),
        "fault_gushes": guarded(_gushes),
        "fault_time_fair": guarded(lambda found: _time(found) == "as_reckoned"),
        "fault_time_slow": guarded(lambda found: _time(found) == "more"),
        "fault_tank_leaks": _falls,
    },
    shows={
        "fault_cup_said": _said(fault_words.cup_said),
        "fault_gush_said": _said(fault_words.gush_said),
        "fault_bottle_said": _said(fault_words.bottle_said),
        "fault_filter_said": _said(fault_words.filter_said),
        "fault_share_said": _said(fault_words.share_said),
        "fault_dry_said": _said(fault_words.dry_said),
        "fault_time_said": _said(fault_words.time_said),
        "fault_lost_said": _said(fault_words.lost_said),
        "fault_drop_said": _drop_said,
        "fault_pump_said": _pump_said,
        "fault_valve_alone": _said(fault_words.valve_alone),
        "fault_lines_there": _said(fault_words.lines_there),
        "fault_for_a_person": _for_a_person,
    },
    options={},
)
