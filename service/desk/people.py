"""Several people on one phone, several plots of one person: adding, naming, switching."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import replace
from datetime import datetime
from typing import Literal, TypeAlias

from service.desk.office import Office, current_plot, known_phone, known_plot, need
from service.desk.refusals import DeskRefused, unknown
from service.desk.typed import one_line, several_lines
from service.phrases import say
from service.records import Account, By, Consent, Person, Plot, UnitOfWork

LONGEST_NAME = 80
MOST_GROUPS = 10
How: TypeAlias = Literal["call", "visit", "paper"]
"""How somebody told the desk: on the telephone, face to face, by a signed form."""


class People:
    """Changes who and what belongs to a phone. `languages` are the codes a caller may choose."""

    def __init__(self, office: Office, languages: Collection[str]) -> None:
        self._office, self._languages = office, languages

    def add_person(
        self,
        account: Account,
        phone_id: str,
        name: str,
        now: datetime,
        *,
        groups: Sequence[str] = (),
        note: str = "",
    ) -> Person:
        """Keep somebody who uses a phone."""
        need(account, "operator", "officer")
        new_id, told = self._office.new_id(), several_lines(note)
        person = Person(new_id, phone_id, checked_name(name), now, _groups(groups), told)
        with self._office.work() as work:
            known_phone(work, account, phone_id)
            work.people.add(person)
            self._log(work, account, "person.added", now, "person", person.id)
        return person

    def change_person(
        self,
        account: Account,
        person_id: str,
        now: datetime,
        *,
        name: str | None = None,
        groups: Sequence[str] | None = None,
        note: str | None = None,
    ) -> Person:
        """Change a name, groups or note; None leaves as it is."""
        need(account, "operator", "officer")
        with self._office.work() as work:
            old = work.people.get(person_id)
            if old is None:
                raise unknown()
            known_phone(work, account, old.phone_id)
            new = replace(
                old,
                name=old.name if name is None else checked_name(name),
                groups=old.groups if groups is None else _groups(groups),
                note=old.note if note is None else several_lines(note),
            )
            work.people.save(new)
            self._log(work, account, "person.changed", now, "person", person_id)
        return new

    def add_plot(
        self,
        account: Account,
        phone_id: str,
        name: str,
        now: datetime,
        *,
        person_id: str | None = None,
        district: str = "",
    ) -> Plot:
        """Keep another plot of a phone and turn to it; its answers are still to be told."""
        need(account, "operator", "officer")
        with self._office.work() as work:
            known_phone(work, account, phone_id)
            self._owner(work, phone_id, person_id)
            _turn_from(work, phone_id)
            answers = {"district": district} if district else {}
            plot = Plot(
                id=self._office.new_id(),
                phone_id=phone_id,
                created_at=now,
                updated_at=now,
                name=checked_name(name),
                answers=answers,
                person_id=person_id,
            )
            work.plots.add(plot)
            self._log(work, account, "plot.added", now, "plot", plot.id)
        return plot

    def change_plot(
        self,
        account: Account,
        plot_id: str,
        now: datetime,
        *,
        name: str | None = None,
        person_id: str | None = None,
    ) -> Plot:
        """Name a plot, or say whose it is; None leaves as it is."""
        need(account, "operator", "officer")
        with self._office.work() as work:
            old = known_plot(work, account, plot_id)
            self._owner(work, old.phone_id, person_id)
            new = replace(
                old,
                name=old.name if name is None else checked_name(name),
                person_id=person_id or old.person_id,
            )
            work.plots.save(new)
            self._log(work, account, "plot.changed", now, "plot", plot_id)
        return new

    def turn_to(self, account: Account, plot_id: str, now: datetime) -> Plot:
        """Make a plot the one that new conversations of its phone are about."""
        need(account, "operator", "officer")
        with self._office.work() as work:
            plot = known_plot(work, account, plot_id)
            if not plot.current:
                _turn_from(work, plot.phone_id)
                plot = replace(plot, current=True)
                work.plots.save(plot)
            self._log(work, account, "plot.turned_to", now, "plot", plot_id)
        return plot

    def set_language(self, account: Account, phone_id: str, language: str, now: datetime) -> None:
        """Choose the language in which a phone is answered."""
        need(account, "operator", "officer")
        if language not in self._languages:
            raise DeskRefused(say("Choose a language of the list."))
        with self._office.work() as work:
            known_phone(work, account, phone_id)
            work.phones.set_language(phone_id, language)
            self._log(work, account, "caller.language", now, "phone", phone_id, language=language)

    def record_consent(
        self,
        account: Account,
        phone_id: str,
        words: str,
        how: How,
        now: datetime,
        *,
        given: bool,
    ) -> Consent:
        """Write a yes, or a wish to be left alone, into the ledger, in the caller's words.

        Raises
        ------
        DeskRefused
            Without the words; nobody's yes is made up.
        """
        need(account, "operator", "officer")
        said = one_line(words)
        if given and len(said) < 2:
            raise DeskRefused(
                say("Write down what the caller said. Example: {example}", example=_YES_IN_WORDS)
            )
        by: By = "operator" if "operator" in account.roles else "officer"
        line = Consent(self._office.new_id(), phone_id, now, given, said, how, by=by)
        with self._office.work() as work:
            known_phone(work, account, phone_id)
            work.consents.add(line)
            action = "consent.given" if given else "consent.stopped"
            self._log(work, account, action, now, "phone", phone_id, how=how)
        return line

    def _owner(self, work: UnitOfWork, phone_id: str, person_id: str | None) -> None:
        if person_id is None:
            return
        person = work.people.get(person_id)
        if person is None or person.phone_id != phone_id:
            raise DeskRefused(say("That person does not belong to this phone."))

    def _log(
        self,
        work: UnitOfWork,
        account: Account,
        action: str,
        now: datetime,
        subject: str,
        subject_id: str,
        **detail: object,
    ) -> None:
        self._office.log(
            work, account, action, now, subject=subject, subject_id=subject_id, **detail
        )


_YES_IN_WORDS = "yes, send me the weekly water"


def checked_name(name: str) -> str:
    """Return a name without needless gaps. Raises DeskRefused when it is empty or too long."""
    bare = one_line(name)
    if not bare or len(bare) > LONGEST_NAME:
        raise DeskRefused(say("A name has 1 to {most} letters.", most=LONGEST_NAME))
    return bare


def _groups(groups: Sequence[str]) -> tuple[str, ...]:
    bare = (one_line(group, LONGEST_NAME) for group in groups)
    return tuple(dict.fromkeys(group for group in bare if group))[:MOST_GROUPS]


def _turn_from(work: UnitOfWork, phone_id: str) -> None:
    """Leave the plot that the phone's conversations were about."""
    plot = current_plot(work, phone_id)
    if plot is not None:
        work.plots.save(replace(plot, current=False))
