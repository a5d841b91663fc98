"""Releasing the amount of a treatment: a person has asked what must be asked, and says so.

The desk tells no amount. It lets the caller's own phone tell it, for one plot and one day, and
only where the conversation would: the same guards of `advice` refuse here.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Literal, TypeAlias

from service.advice import Context
from service.advice.upkeep_dose import REGISTRY, RELEASED, RELEASED_FOR, release_mark
from service.advice.upkeep_dose_words import ACID_NAMES, in_doubt
from service.advice.upkeep_plot import known_plot as pipes_of
from service.advice.upkeep_plot import nothing_grows
from service.channels.post import Letter, Post
from service.desk.office import Office, as_saved, known_plot, need
from service.desk.refusals import DeskRefused
from service.desk.speech import Translate
from service.phrases import Month, Phrase, say
from service.records import Account, Plot, UnitOfWork

Treatment: TypeAlias = Literal["acid", "chlorine"]
Answers: TypeAlias = Mapping[str, object]

WORTH_SENDING = timedelta(hours=6)
"""A text on today's treatment that comes tomorrow is no help (our choice)."""
Guard: TypeAlias = Callable[[Answers, Context], bool]


@dataclass(frozen=True, slots=True)
class Checklist:
    """What the operator asked before releasing. Every yes is somebody's word on the telephone.

    `strength_pct` is the number on the label [%]; `acid` a key of the acids for acid. `plot_named`
    and `day_named`: the caller said which plot, and that it is to be done today.
    """

    treatment: Treatment
    strength_pct: float
    acid: str = ""
    label_read: bool = False
    trained_helper: bool = False
    goggles_and_gloves: bool = False
    clean_water: bool = False
    paper: bool = False
    """pH paper: for acid."""
    plain_bleach: bool = False
    """Without perfume or soap: for chlorine."""
    all_plastic: bool = False
    """No metal or concrete from tank to line ends: for acid."""
    harvest_over: bool = False
    people_away: bool = False
    plot_named: bool = False
    day_named: bool = False


def items(treatment: Treatment) -> tuple[tuple[str, Phrase], ...]:
    """Return the questions of the checklist: the field that each sets, and its words."""
    own: tuple[tuple[str, Phrase], ...] = (
        (
            ("all_plastic", say("No metal and no concrete: tank, valve, filter, pipes.")),
            ("paper", say("pH paper is at hand.")),
        )
        if treatment == "acid"
        else (("plain_bleach", say("Plain liquid bleach: no perfume, no soap, no powder.")),)
    )
    return (
        ("plot_named", say("The caller named the plot, and it is this one.")),
        ("day_named", say("It is to be done today.")),
        ("harvest_over", say("The harvest is over: nothing on the plot will be eaten.")),
        ("label_read", say("Name and strength were read to you from the label.")),
        *own,
        ("trained_helper", say("A trained helper is with the caller.")),
        ("goggles_and_gloves", say("Goggles and long gloves are there, for both.")),
        ("clean_water", say("A bucket of clean water stands ready to rinse eyes and skin.")),
        ("people_away", say("Other people and animals are away from the plot.")),
    )


@dataclass(frozen=True, slots=True)
class Released:
    """What was released: the plot with its answer, and the text that went to the caller."""

    plot: Plot
    text: str


class Doses:
    """Releases treatments."""

    def __init__(
        self,
        office: Office,
        translate: Translate,
        context_for: Callable[[datetime], Context],
        language: str = "en",
    ) -> None:
        self._office, self._translate = office, translate
        self._context_for, self._language = context_for, language
        self._post = Post(office.new_id)

    def release(
        self, account: Account, plot_id: str, checklist: Checklist, now: datetime
    ) -> Released:
        """Let the caller's phone tell the amount for this plot, today only.

        Raises
        ------
        DeskRefused
            With every point that is not met: unticked items, a crop on the plot, the other
            chemical within a week, acid already this season, a strength outside the table.
        """
        need(account, "operator")
        context = self._context_for(now)
        with self._office.work() as work:
            plot = known_plot(work, account, plot_id)
            found = why_not(plot.answers, checklist, context)
            if found:
                raise DeskRefused(
                    say("Not released. {reasons}", reasons=found) if len(found) > 1 else found[0]
                )
            day = context.today.isoformat()
            mark = release_mark(checklist.treatment, checklist.acid, checklist.strength_pct)
            answers = {**plot.answers, RELEASED: day, RELEASED_FOR: mark}
            released = replace(plot, answers=answers, updated_at=now)
            work.plots.save(released)
            text = self._told(work, released, checklist, context, now)
            self._office.log(
                work, account, "dose.released", now, subject="plot", subject_id=plot_id,
                phone_id=plot.phone_id, treatment=checklist.treatment, acid=checklist.acid,
                strength_pct=checklist.strength_pct, day=day,
                ticked=[name for name, _ in items(checklist.treatment)],
            )  # fmt: skip
        return Released(as_saved(released), text)

    def withdraw(self, account: Account, plot_id: str, now: datetime) -> Plot:
        """Take a release back; the phone tells no amount from then on."""
        need(account, "operator")
        with self._office.work() as work:
            plot = known_plot(work, account, plot_id)
            answers = {k: v for k, v in plot.answers.items() if k not in (RELEASED, RELEASED_FOR)}
            # An empty day is a change that running conversations take up; a lost key is not.
            held = replace(plot, answers={**answers, RELEASED: ""}, updated_at=now)
            work.plots.save(held)
            self._office.log(
                work, account, "dose.withdrawn", now, subject="plot", subject_id=plot_id,
                phone_id=plot.phone_id,
            )  # fmt: skip
        return as_saved(held)

    def _told(
        self,
        work: UnitOfWork,
        plot: Plot,
        checklist: Checklist,
        context: Context,
        now: datetime,
    ) -> str:
        phone = work.phones.get(plot.phone_id)
        language = (phone.language if phone else None) or self._language
        text = " ".join(
            self._translate(phrase, language) for phrase in _words(plot, checklist, context)
        )
        key = f"dose:{plot.id}:{checklist.treatment}:{context.today}:{plot.revision}"
        until = now + WORTH_SENDING
        letter = Letter(plot.phone_id, "alert", key, text, language, not_after=until)
        self._post.put(work, letter, now)
        return text


def why_not(answers: Answers, checklist: Checklist, context: Context) -> tuple[Phrase, ...]:
    """Return every reason against a release; none when it may be released."""
    unticked = [words for name, words in items(checklist.treatment) if not getattr(checklist, name)]
    return (*_cautions(answers, checklist, context), *unticked)


def _cautions(answers: Answers, checklist: Checklist, context: Context) -> tuple[Phrase, ...]:
    told = {**answers, "acid": checklist.acid, "acid_pct": checklist.strength_pct,
            "bleach_pct": checklist.strength_pct}  # fmt: skip
    if pipes_of(told, context) is None:
        return (say("The plot is not known well enough: fill in its form first."),)
    against = [*_ACID] if checklist.treatment == "acid" else [*_CHLORINE]
    found = [words for holds, words in against if holds(told, context)]
    if not nothing_grows(told, context):
        found.append(
            say(
                "By what is kept a crop grows here. Wait for the harvest,"
                " or set the crop right in the form first."
            )
        )
    return tuple(found)


def _not(name: str) -> Guard:
    guard = REGISTRY.guards[name]
    return lambda answers, context: not guard(answers, context)


_ACID: tuple[tuple[Guard, Phrase], ...] = (
    (
        REGISTRY.guards["acid_once_this_season"],
        say("There was acid in these lines this season: once is enough."),
    ),
    (
        REGISTRY.guards["chlorine_was_near"],
        say("There was chlorine in these lines this week: with acid it makes a gas that kills."),
    ),
    (_not("acid_is_known"), say("No acid without its name: choose one of the list.")),
    (_not("acid_dose_holds"), say("This strength, or this plot, is outside what may be told.")),
)
_CHLORINE: tuple[tuple[Guard, Phrase], ...] = (
    (
        REGISTRY.guards["acid_was_near"],
        say("There was acid in these lines this week: with chlorine it makes a gas that kills."),
    ),
    (
        REGISTRY.guards["water_is_brown"],
        say("The water is brown: chlorine makes rust of it that clogs the lines."),
    ),
    (_not("chlorine_dose_holds"), say("This strength, or this plot, is outside what may be told.")),
)


def _words(plot: Plot, checklist: Checklist, context: Context) -> tuple[Phrase, ...]:
    day, month = context.today.day, Month(context.today.month)
    if checklist.treatment == "acid":
        # Translators: a text to a farmer. {plot} is a name, {acid} such as "Citric acid, powder".
        released = say(
            "Plot {plot}, {day} {month} only: {acid} is released."
            " Ask for it that day: Upkeep, then Crust, slime.",
            plot=_name(plot), day=day, month=month, acid=say(ACID_NAMES[checklist.acid][0]),
        )  # fmt: skip
    else:
        # Translators: a text to a farmer. {plot} is a name.
        released = say(
            "Plot {plot}, {day} {month} only: chlorine is released."
            " Ask for it that day: Upkeep, then Crust, slime.",
            plot=_name(plot), day=day, month=month,
        )  # fmt: skip
    return (
        released,
        # Translators: caution, in a text to a farmer.
        say("Only with the trained helper beside you."),
        in_doubt(context.helpline),
    )


def _name(plot: Plot) -> str:
    return plot.name or "1"


def acid_choices() -> tuple[tuple[str, Phrase], ...]:
    """Return the acids that may be released: key and name."""
    return tuple((key, say(name)) for key, (name, _) in ACID_NAMES.items())
