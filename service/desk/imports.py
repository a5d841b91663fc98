"""Taking in a list of farmers: all of it in one transaction, or nothing."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from hashlib import sha256

from service.desk.csv_cells import decoded
from service.desk.farmer_rows import FarmerRow, Lists, Reading, RowProblem, read_rows, template
from service.desk.office import Office, limited, need
from service.desk.refusals import DeskRefused
from service.desk.remembered_stops import asked_to_be_forgotten
from service.phrases import say
from service.records import Account, Consent, Person, Phone, Plot, UnitOfWork

MOST_OCTETS = 8 * 1024 * 1024
SHOWN = 20
"""Rows that a preview shows of those that are right."""
WAY = "paper"


@dataclass(frozen=True, slots=True)
class ImportPlan:
    """What a list would do. It can be kept only without problems."""

    rows: tuple[FarmerRow, ...]
    problems: tuple[RowProblem, ...]
    total: int
    phones: int
    """New numbers."""
    known: int
    """Rows left out because that farmer and plot are kept already."""
    consents: int
    digest: str
    """Of the file: goes back with the order to keep it, so that what was seen is what is kept."""

    @property
    def sample(self) -> tuple[FarmerRow, ...]:
        """The first rows that are right."""
        return self.rows[:SHOWN]


class Imports:
    """Reads lists of farmers. `number_key` is the key by which forgotten numbers are known."""

    def __init__(
        self,
        office: Office,
        lists: Lists,
        *,
        region: str = "",
        number_key: str = "",
        today_of: Callable[[datetime], date] = lambda now: now.date(),
    ) -> None:
        self._office, self._lists, self._region = office, lists, region
        self._key, self._today_of = number_key, today_of

    def template(self, account: Account) -> str:
        """Return a list with one invented farmer, to be written over."""
        need(account, "officer")
        mine = limited(account) or tuple(self._lists.districts.values())
        return template(mine[0] if mine else "")

    def preview(
        self, account: Account, raw: bytes, now: datetime, *, skip_known: bool = False
    ) -> ImportPlan:
        """Return what a file would do, with every problem in it; nothing is kept."""
        need(account, "officer")
        with self._office.work() as work:
            plan, _ = self._planned(work, account, raw, now, skip_known=skip_known)
            self._office.log(
                work, account, "import.previewed", now, rows=plan.total,
                problems=len(plan.problems),
            )  # fmt: skip
        return plan

    def run(
        self,
        account: Account,
        raw: bytes,
        now: datetime,
        *,
        digest: str,
        skip_known: bool = False,
    ) -> ImportPlan:
        """Keep every farmer of a file, or none.

        Raises
        ------
        DeskRefused
            When the file is not the one that was previewed, or has a problem.
        """
        need(account, "officer")
        with self._office.work() as work:
            plan, phones = self._planned(work, account, raw, now, skip_known=skip_known)
            if plan.digest != digest:
                raise DeskRefused(say("This is another file than the one you looked at."))
            if plan.problems:
                raise DeskRefused(
                    say("Nothing was taken in: {count} problems.", count=len(plan.problems))
                )
            source = f"list:{digest[:12]}"
            _Keeper(self._office, work, now, source, phones).keep(plan.rows)
            self._office.log(
                work, account, "import.kept", now, subject="import", subject_id=digest[:12],
                rows=len(plan.rows), phones=plan.phones, known=plan.known,
            )  # fmt: skip
        return plan

    def _planned(
        self, work: UnitOfWork, account: Account, raw: bytes, now: datetime, *, skip_known: bool
    ) -> tuple[ImportPlan, Mapping[str, Phone]]:
        """Return what a file would do, and those of its numbers that are kept already."""
        digest = sha256(raw).hexdigest()
        reading = self._reading(raw, now)
        problems = list(reading.problems)
        phones = _phones(work, reading.rows)
        rows, known = _against_store(work, reading.rows, phones, problems, skip_known=skip_known)
        problems += _out_of_reach(reading.rows, limited(account))
        problems += self._forgotten(work, reading.rows, phones)
        plan = ImportPlan(
            rows=rows,
            problems=tuple(sorted(problems, key=lambda one: one.line)),
            total=reading.total,
            phones=len({row.number for row in rows if row.number not in phones}),
            known=known,
            consents=sum(row.consent is True for row in rows),
            digest=digest,
        )
        return plan, phones

    def _reading(self, raw: bytes, now: datetime) -> Reading:
        if len(raw) > MOST_OCTETS:
            too_long = say("This file is too large: split the list.")
            return Reading((), (RowProblem(1, "", too_long),), 0)
        try:
            text = decoded(raw)
        except UnicodeDecodeError:
            not_utf8 = say("Save the sheet again as CSV, UTF-8: some letters cannot be read.")
            return Reading((), (RowProblem(1, "", not_utf8),), 0)
        return read_rows(text, self._lists, self._region, self._today_of(now))

    def _forgotten(
        self, work: UnitOfWork, rows: tuple[FarmerRow, ...], phones: Mapping[str, Phone]
    ) -> list[RowProblem]:
        left_alone = asked_to_be_forgotten(work, self._key)
        what = say(
            "This number asked to be forgotten and left alone."
            " Its owner must call or text first: take the row out."
        )
        return [
            RowProblem(row.line, "number", what, "")
            for row in rows
            if row.number not in phones and left_alone(row.number)
        ]


def _phones(work: UnitOfWork, rows: tuple[FarmerRow, ...]) -> dict[str, Phone]:
    numbers = dict.fromkeys(row.number for row in rows)
    found = ((number, work.phones.find(number)) for number in numbers)
    return {number: phone for number, phone in found if phone is not None}


def _against_store(
    work: UnitOfWork,
    rows: tuple[FarmerRow, ...],
    phones: Mapping[str, Phone],
    problems: list[RowProblem],
    *,
    skip_known: bool,
) -> tuple[tuple[FarmerRow, ...], int]:
    """Return the rows that are new; the others are left out, or told as problems."""
    new, known = [], 0
    what = say("This farmer and plot are kept already: take the row out, or leave known ones out.")
    for row in rows:
        phone = phones.get(row.number)
        if phone is None or not _is_kept(work, phone, row):
            new.append(row)
        elif skip_known:
            known += 1
        else:
            problems.append(RowProblem(row.line, "number", what, ""))
    return tuple(new), known


def _is_kept(work: UnitOfWork, phone: Phone, row: FarmerRow) -> bool:
    people = {one.id: one.name.casefold() for one in work.people.of_phone(phone.id)}
    return any(
        plot.name.casefold() == row.plot.casefold()
        and people.get(plot.person_id or "", row.name.casefold()) == row.name.casefold()
        for plot in work.plots.of_phone(phone.id)
    )


def _out_of_reach(rows: tuple[FarmerRow, ...], only: tuple[str, ...]) -> list[RowProblem]:
    what = say("This is outside your districts.")
    return [
        RowProblem(row.line, "district", what, only[0])
        for row in rows
        if only and row.answers.get("district") not in only
    ]


class _Keeper:
    """Gathers what rows bring; several rows may share a phone, and several plots a person.

    `known` are the numbers that are kept already. One that somebody else adds meanwhile is a
    clash, and nothing is kept.
    """

    def __init__(
        self,
        office: Office,
        work: UnitOfWork,
        now: datetime,
        source: str,
        known: Mapping[str, Phone],
    ) -> None:
        self._office, self._work, self._now, self._source = office, work, now, source
        self._phones, self._new_phones = dict(known), list[Phone]()
        self._people: dict[tuple[str, str], Person] = {}
        self._new_people, self._plots = list[Person](), list[Plot]()
        self._consents, self._has_current = list[Consent](), set[str]()
        for phone in known.values():
            self._look_up(phone)

    def keep(self, rows: Sequence[FarmerRow]) -> None:
        """Write what all rows bring."""
        for row in rows:
            self._gather(row)
        self._work.farmers.add_all(self._new_phones, self._new_people, self._plots, self._consents)

    def _look_up(self, phone: Phone) -> None:
        if any(plot.current for plot in self._work.plots.of_phone(phone.id)):
            self._has_current.add(phone.id)
        for person in self._work.people.of_phone(phone.id):
            self._people[phone.id, person.name.casefold()] = person

    def _gather(self, row: FarmerRow) -> None:
        phone = self._phone(row)
        person = self._person(row, phone)
        current = phone.id not in self._has_current
        self._has_current.add(phone.id)
        plot = Plot(
            id=self._office.new_id(),
            phone_id=phone.id,
            created_at=self._now,
            updated_at=self._now,
            name=row.plot,
            answers=dict(row.answers),
            current=current,
            person_id=person.id,
        )
        self._plots.append(plot)
        if row.consent is not None:
            self._consents.append(self._consent(row, phone, given=row.consent))

    def _consent(self, row: FarmerRow, phone: Phone, *, given: bool) -> Consent:
        words = f"consent {'yes' if given else 'no'} in {self._source}, row {row.line}"
        new_id, now = self._office.new_id(), self._now
        return Consent(new_id, phone.id, now, given, words, WAY, by="officer")

    def _phone(self, row: FarmerRow) -> Phone:
        if row.number not in self._phones:
            phone = Phone(self._office.new_id(), row.number, row.language, self._now)
            self._phones[row.number] = phone
            self._new_phones.append(phone)
        return self._phones[row.number]

    def _person(self, row: FarmerRow, phone: Phone) -> Person:
        key = (phone.id, row.name.casefold())
        if key not in self._people:
            person = Person(self._office.new_id(), phone.id, row.name, self._now, row.groups)
            self._people[key] = person
            self._new_people.append(person)
        return self._people[key]
