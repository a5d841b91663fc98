"""A plot handed over or enrolled on paper: the form to print, and its quick entry.

The same answers as the caller's own, under the same names; the cup test and the minutes of a full
tank are measurements and calibrate the plot, unless they contradict the rest.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime

from service.advice import Context
from service.advice.check_cups import cup_test
from service.advice.myplot_card import TOLD, Record, records
from service.advice.myplot_screens import enrolled
from service.desk.callers import read_or_refuse
from service.desk.fields import DISTRICT, Field, fields_of, read_form
from service.desk.form import MY_PLOT, TIMED
from service.desk.office import (
    Office,
    as_saved,
    current_plot,
    known_phone,
    known_plot,
    need,
    need_caller,
    need_district,
)
from service.desk.people import checked_name
from service.desk.refusals import DeskRefused
from service.desk.speech import Speech
from service.desk.typed import one_line
from service.dialogue import Dialogue
from service.errors import CardError, NotConverged, OutOfRange
from service.phrases import Phrase, say
from service.records import Account, Consent, Person, Phone, Plot, UnitOfWork, with_changes
from service.sizing.calibration import Calibration, Contradiction

MORE_FLOW = "plan"
MORE = ("soil", "water_source", "supply_fill", "fills_a_day", "emitter_flow_lph",
        "emitter_spacing_m", "main_pipe", "rise_along_length_m", "rise_along_width_m")  # fmt: skip
"""Questions of the plan that a paper form asks too; the plot's sides follow from its lines."""
NEEDED = (
    "laid_lines", "laid_line_length_m", "crop", "weeks_since_planting", "tank_volume_l",
    "stand_height_m",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Cups:
    """A cup test as it stands on paper: volumes row by row [mL], minutes of the catch.

    `tank_share` is how full the tank was when the first cup stood under, from 0 to 1.
    """

    volumes: Sequence[Sequence[float]]
    minutes: float = 6.0
    tank_share: float = 1.0


@dataclass(frozen=True, slots=True)
class Entry:
    """One paper form, typed in. `typed` are answers by name as `fields` lists them."""

    number: str = field(repr=False)
    name: str
    typed: Mapping[str, str]
    plot_name: str = ""
    language: str | None = None
    groups: tuple[str, ...] = ()
    cups: Cups | None = None
    consent: bool | None = None
    consent_words: str = field(default="", repr=False)
    plot_id: str | None = None
    """A plot that is kept already: a handover record of it; a new one without it."""


@dataclass(frozen=True, slots=True)
class Entered:
    """What came of an entry: the plot, unless something was not understood."""

    plot: Plot | None
    problems: Mapping[str, tuple[Phrase, ...]]
    found: tuple[Calibration | Contradiction, ...] = ()
    """What each measurement said; one that contradicts the rest was not kept."""


@dataclass(frozen=True, slots=True)
class Handed:
    """A plot as it is kept, for its handover record or for another entry about it."""

    plot: Plot
    number: str = field(repr=False)
    language: str | None
    person: Person | None
    fields: tuple[Field, ...]
    measurements: tuple[Record, ...]
    """Those of the plot as it is told now, the newest last."""


class Handovers:
    """Lists the fields of the paper form, and takes what was written on it."""

    def __init__(
        self,
        office: Office,
        dialogue: Dialogue,
        speech: Speech,
        context_for: Callable[[datetime], Context],
        region: str = "",
    ) -> None:
        self._office, self._dialogue, self._speech = office, dialogue, speech
        self._context_for, self._region = context_for, region

    def fields(self, account: Account, now: datetime) -> tuple[Field, ...]:
        """Return the questions of the form, to be printed or typed in, in their order."""
        need(account, "officer", "operator")
        return self._fields(self._context_for(now), {})

    def of_plot(self, account: Account, plot_id: str, now: datetime) -> Handed:
        """Return a plot as it is kept. Raises Unknown, or NotYours for another district."""
        need(account, "officer", "operator")
        with self._office.work() as work:
            plot = known_plot(work, account, plot_id)
            phone = known_phone(work, account, plot.phone_id)
            person = work.people.get(plot.person_id) if plot.person_id else None
            self._office.log(
                work, account, "plot.record_seen", now, subject="plot", subject_id=plot.id
            )
        fields = self._fields(self._context_for(now), plot.answers)
        return Handed(plot, phone.number, phone.language, person, fields, records(plot.answers))

    def enter(self, account: Account, entry: Entry, now: datetime) -> Entered:
        """Keep a form: phone, person, plot, measurements and consent, all or nothing.

        Raises
        ------
        DeskRefused
            No phone number or name, a foreign district, or answers that make no plot.
        """
        need(account, "officer", "operator")
        context = self._context_for(now)
        number, name = read_or_refuse(entry.number, self._region), checked_name(entry.name)
        with self._office.work() as work:
            old = known_plot(work, account, entry.plot_id) if entry.plot_id else None
            before = dict(old.answers) if old else {}
            answers, problems = self._read(account, entry.typed, before, context)
            if problems:
                return Entered(None, problems)
            need_district(account, str(answers.get(DISTRICT) or ""))
            told, found = _enrolled(answers, entry, context)
            plot = self._kept(work, account, entry, old, number, name, told, now)
            self._office.log(
                work, account, "plot.handed_over" if old else "plot.enrolled", now,
                subject="plot", subject_id=plot.id, phone_id=plot.phone_id,
                measured=len(found), contradicts=sum(isinstance(f, Contradiction) for f in found),
            )  # fmt: skip
        return Entered(plot, {}, found)

    def _fields(self, context: Context, answers: Mapping[str, object]) -> tuple[Field, ...]:
        book = self._dialogue.book
        own = fields_of(book, MY_PLOT, answers, context)
        names = {one.name for one in own}
        more = fields_of(book, MORE_FLOW, answers, context)
        return (*own, *(one for one in more if one.name in MORE and one.name not in names))

    def _read(
        self,
        account: Account,
        typed: Mapping[str, str],
        before: Mapping[str, object],
        context: Context,
    ) -> tuple[Mapping[str, object], dict[str, tuple[Phrase, ...]]]:
        words = self._speech.words_for(account.language)
        book = self._dialogue.book
        first = read_form(book, MY_PLOT, before, typed, words, context)
        more = {name: text for name, text in typed.items() if name in MORE}
        both = read_form(book, MORE_FLOW, first.answers, more, words, context)
        problems = {**first.problems, **both.problems}
        for name in NEEDED:
            if both.answers.get(name) in (None, "") and name not in problems:
                problems[name] = (say("This must be filled in."),)
        return both.answers, problems

    def _kept(
        self,
        work: UnitOfWork,
        account: Account,
        entry: Entry,
        old: Plot | None,
        number: str,
        name: str,
        answers: Mapping[str, object],
        now: datetime,
    ) -> Plot:
        phone = self._phone(work, account, number, entry.language, now)
        if old is not None and old.phone_id != phone.id:
            raise DeskRefused(say("That plot belongs to another number."))
        person = self._person(work, phone, name, entry.groups, now)
        if entry.consent is not None:
            self._consent(work, phone, entry, now)
        if old is not None:
            kept = with_changes(old.answers, old.answers, answers)
            new = replace(old, answers=kept, person_id=person.id, updated_at=now)
            work.plots.save(new)
            return as_saved(new)
        current = current_plot(work, phone.id) is None
        plot = Plot(
            id=self._office.new_id(),
            phone_id=phone.id,
            created_at=now,
            updated_at=now,
            name=one_line(entry.plot_name, 80),
            answers=dict(answers),
            current=current,
            person_id=person.id,
        )
        work.plots.add(plot)
        return plot

    def _phone(
        self, work: UnitOfWork, account: Account, number: str, language: str | None, now: datetime
    ) -> Phone:
        phone = work.phones.find(number)
        if phone is None:
            phone = Phone(self._office.new_id(), number, language, now)
            work.phones.add(phone)
        elif farmers := work.farmers.of_phone(phone.id):
            need_caller(account, farmers)
        return phone

    def _person(
        self, work: UnitOfWork, phone: Phone, name: str, groups: tuple[str, ...], now: datetime
    ) -> Person:
        for person in work.people.of_phone(phone.id):
            if person.name.casefold() == name.casefold():
                return person
        person = Person(self._office.new_id(), phone.id, name, now, groups)
        work.people.add(person)
        return person

    def _consent(self, work: UnitOfWork, phone: Phone, entry: Entry, now: datetime) -> None:
        words = one_line(entry.consent_words) or "box ticked on the paper form"
        new_id, given = self._office.new_id(), entry.consent is True
        work.consents.add(Consent(new_id, phone.id, now, given, words, "paper", by="officer"))


def _enrolled(
    answers: Mapping[str, object], entry: Entry, context: Context
) -> tuple[Mapping[str, object], tuple[Calibration | Contradiction, ...]]:
    told: dict[str, object] = {**answers, "laid": TOLD}
    timed = bool(entry.typed.get(TIMED, "").strip())
    # Minutes of an earlier day are a measurement already: they are not taken for today's.
    asked = told if timed else {**told, TIMED: 0}
    try:
        record = cups_of(told, entry.cups, context) if entry.cups is not None else None
        done = enrolled(asked, record, context)
        kept = {**done.answers, TIMED: told.get(TIMED, 0)}
        context.plan(kept)
    except (CardError, NotConverged, OutOfRange) as error:
        raise DeskRefused(
            say("These answers make no plot: look at lines, tank and stand again.")
        ) from error
    return kept, done.found


def cups_of(answers: Mapping[str, object], cups: Cups, context: Context) -> Record:
    """Return a cup test as it is kept.

    Raises
    ------
    DeskRefused
        When the rows are not those that this plot is sampled by.
    CardError
        When the answers make no plot.
    """
    count = sum(len(row) for row in cups.volumes)
    told: dict[str, object] = {
        **answers,
        "check_cups": count,
        "check_minutes": cups.minutes,
        "check_tank_share": cups.tank_share,
    }
    for row, volumes in enumerate(cups.volumes, 1):
        told.update({f"check_{row}_{place}": ml for place, ml in enumerate(volumes, 1)})
    test = cup_test(told, context)
    ways = {way.cups: [len(row.emitters) for row in way.rows] for way in test.samplings}
    if ways.get(count) != [len(row) for row in cups.volumes]:
        wanted = "; ".join(f"{cups}: {'+'.join(map(str, rows))}" for cups, rows in ways.items())
        raise DeskRefused(
            say("The cups do not fit this plot. Cups, row by row: {ways}", ways=wanted)
        )
    return test.record
