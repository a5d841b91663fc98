"""What was measured beside what the plot should give, in words; "about" is said."""

from __future__ import annotations

from collections.abc import Sequence

from service.advice import rounding
from service.advice.fault_readings import Readings
from service.phrases import Number, Phrase, say, say_n
from service.sizing.faults import bucket_flow, dropped_flow, lost_flow
from service.sizing.field_plot import Reckoned
from service.sizing.result import Plan
from service.sizing.troubles import block_of
from service.units import BUCKET_L, MINUTES_PER_HOUR

DROP_MINUTES = 30.0
"""How long the water line on the tank is watched."""


def _whole(value: float) -> Number:
    return Number(round(value))


def _cup(millilitres: float, reckoned: Reckoned) -> Phrase:
    # Translators: what the cup should hold, and from which to which amount.
    return say(
        "The cup held {ml} mL. Here it should be about {likely} ({low} to {high}).",
        ml=_whole(millilitres),
        likely=_whole(reckoned.likely),
        low=_whole(reckoned.low),
        high=_whole(reckoned.high),
    )


def cup_said(found: Readings) -> Sequence[Phrase]:
    """The cup under the first dripper of the first line."""
    return (_cup(found.number("fault_cup_ml"), found.cup_reckoned()),)


def gush_said(found: Readings) -> Sequence[Phrase]:
    """The cup under the dripper that gushes."""
    return (_cup(found.number("fault_cup_ml"), found.gush_reckoned()),)


def bottle_said(found: Readings) -> Sequence[Phrase]:
    """The bottle at the open end of a line."""
    likely = _whole(found.bottle_reckoned().likely)
    seconds = found.bottle.seconds
    if seconds <= 0.0:
        # Translators: a line with nothing wrong fills the same bottle; s is seconds.
        return (say("No water came. A sound line fills it in about {likely} s.", likely=likely),)
    return (
        # Translators: the bottle at the open end of a line; sound: with nothing wrong.
        say(
            "Full in {seconds} s. A sound line fills it in about {likely} s.",
            seconds=_whole(seconds),
            likely=likely,
        ),
    )


def filter_said(found: Readings) -> Sequence[Phrase]:
    """The same bottle with the filter's element and without."""
    inside, outside = found.bottle.seconds, found.number("fault_out_s")
    if inside <= 0.0:
        # Translators: the element is the mesh inside the filter; s is seconds.
        return (say("With the element no water, without it {out} s.", out=_whole(outside)),)
    return (
        # Translators: the element is the mesh inside the filter; s is seconds.
        say(
            "With the element {inside} s, without it {out} s.",
            inside=_whole(inside),
            out=_whole(outside),
        ),
    )


def share_said(found: Readings) -> Sequence[Phrase]:
    """The last dripper of a line against the first."""
    return (
        # Translators: of one drip line.
        say(
            "The last dripper gives {share}% of the first. Reckoned: about {likely}%.",
            share=rounding.per_cent(100.0 * found.cups.share),
            likely=rounding.per_cent(100.0 * found.share_reckoned().likely),
        ),
    )


def dry_said(found: Readings) -> Sequence[Phrase]:
    """How many drippers of a line are dry."""
    return (
        # Translators: on one drip line.
        say_n(
            "{n} of {all} drippers is dry.",
            "{n} of {all} drippers are dry.",
            count="n",
            n=int(found.number("fault_dry_drippers")),
            all=found.plot.one.network.emitters_per_line,
        ),
    )


def time_said(found: Readings) -> Sequence[Phrase]:
    """Minutes of a full tank."""
    reckoned = found.minutes_reckoned()
    if reckoned is None:
        return (say("As told, this tank never runs empty. Ask the helpline."),)
    return (
        # Translators: a full tank until it is empty.
        say(
            "You timed {minutes} min. Reckoned: about {likely} ({low} to {high}).",
            minutes=_whole(found.number("fault_minutes")),
            likely=_whole(reckoned.likely),
            low=_whole(reckoned.low),
            high=_whole(reckoned.high),
        ),
    )


def lost_said(found: Readings) -> Sequence[Phrase]:
    """How much water runs away when the tank empties too soon."""
    minutes = found.number("fault_minutes")
    return (
        *time_said(found),
        # Translators: water that leaks somewhere.
        say(
            "At least {litres} L an hour run away.",
            litres=rounding.litres(lost_flow(found.plot, minutes)),
        ),
    )


def drop_said(found: Readings) -> Sequence[Phrase]:
    """How much leaves the tank with the valve shut."""
    lost = dropped_flow(found.plot.one.card, found.number("fault_drop_m"), DROP_MINUTES)
    return (
        say(
            "About {litres} L an hour leave the tank with the valve shut.",
            litres=rounding.litres(lost),
        ),
    )


def valve_alone(found: Readings) -> Sequence[Phrase]:
    """Which valve to open for a measurement, where there are several."""
    one = found.plot.one
    if len(one.blocks) == 1:
        return ()
    # Translators: the other valves are shut.
    return (say("Valve {n} alone open.", n=block_of(one, found.plot.lines_at(found.place)[0]) + 1),)


def lines_there(found: Readings) -> Sequence[Phrase]:
    """How many lines, or pairs of lines, can be counted along the main pipe."""
    taps = len(found.plot.one.network.taps)
    if len(found.plot.one.network.sides) == 2:
        return (
            # Translators: two lines leave the main pipe at one place.
            say_n(
                "You told of {n} pair of lines along the main pipe.",
                "You told of {n} pairs of lines along the main pipe.",
                count="n",
                n=taps,
            ),
        )
    return (say_n("You told of {n} line.", "You told of {n} lines.", count="n", n=taps),)


def pump_said(seconds: float, tank_l: float | None, plan: Plan | None) -> Sequence[Phrase]:
    """What a pump gives, as far as tank and crop are known."""
    flow = bucket_flow(BUCKET_L, seconds)
    # Translators: what a pump gives.
    said = [say("About {flow} L an hour.", flow=rounding.litres(flow))]
    if tank_l:
        said.append(
            say(
                "A full tank takes {minutes} min.",
                minutes=rounding.minutes(MINUTES_PER_HOUR * tank_l / flow),
            )
        )
    if plan is not None and plan.supply is not None and plan.supply.needed_l_day > 0.0:
        needed = MINUTES_PER_HOUR * plan.supply.needed_l_day / flow
        # Translators: in so many minutes the pump brings it.
        said.append(say("Today's water {minutes} min.", minutes=rounding.minutes(needed)))
    return said


_WEAK = (("fault_cup_ml", "cup"), ("fault_bottle_l", "bottle"))
_FAR = (("fault_first_ml", "cups"), ("fault_bottle_l", "bottle"))
MEASURED = {
    "weak": _WEAK,
    "far": _FAR,
    "line": (("fault_bottle_l", "bottle"),),
    "gush": (("fault_cup_ml", "cup"),),
    "fast": (("fault_minutes", "minutes"),),
    "slow": (("fault_minutes", "minutes"),),
}
"""What was measured for what was seen: the answer that must be there, and what is told of it."""


def for_a_person(found: Readings) -> Sequence[Phrase]:
    """What a caller should tell the person at the other end."""
    told = [
        _told(found, what)
        for answer, what in MEASURED.get(found.seen, ())
        if found.answers.get(answer) not in (None, "")
    ]
    # Translators: a list of what was measured follows, for the helpline.
    return (say("Tell them: {facts}.", facts=tuple(told)),) if told else ()


def _told(found: Readings, what: str) -> Phrase:
    def of(name: str) -> Number:
        return Number(float(str(found.answers.get(name) or 0)), 1)

    if what == "cup":
        return say("cup {ml} mL in 6 min", ml=of("fault_cup_ml"))
    if what == "cups":
        return say(
            "first cup {first} mL, last {last}",
            first=of("fault_first_ml"),
            last=of("fault_last_ml"),
        )
    if what == "minutes":
        return say("full tank {minutes} min", minutes=of("fault_minutes"))
    return say(
        "{litres} L in {seconds} s at the line end",
        litres=of("fault_bottle_l"),
        seconds=of("fault_bottle_s"),
    )
