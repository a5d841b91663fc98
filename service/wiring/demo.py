"""The desk tried out on the invented valley: farmers that do not exist, and an account per role."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from datetime import UTC, date, datetime, timedelta
from typing import Any, NamedTuple

from service.channels.kinds import RULES
from service.channels.tickets import missed_call
from service.console.desk import Jobs
from service.records import (
    ROLES,
    Account,
    Consent,
    Inbound,
    Message,
    Person,
    Phone,
    Plot,
    RainReport,
    Role,
    Ticket,
    UnitOfWork,
)
from service.text.measure import measure
from service.wiring.build import Service
from service.wiring.files import read_text, scenario_file
from service.wiring.keys import new_id, random_password

KEEPER = Account("command-line", "command line", ("admin",), "", datetime.min.replace(tzinfo=UTC))
"""Whoever has a shell on the machine may do what an admin may; the log names it so."""
_RAIN = (("kotsindo", 1, 12.0), ("kotsindo", 4, 3.5), ("aruneth", 2, 8.0), ("velmora", 1, 21.0))
"""District, days ago and rain [mm]; invented."""
_LIFE_OF_A_PLOT = timedelta(days=40)


class Demo(NamedTuple):
    """What a trial begins with: names and passwords, or why there are none."""

    passwords: Mapping[Role, str]
    why_none: str = ""


def prepare_demo(service: Service, jobs: Jobs) -> Demo:
    """Keep the invented farmers once, and give each role an account with a new password.

    Nothing is touched on the districts of a real deployment, nor beside accounts of its own.
    """
    if "districts" not in service.loaded.invented:
        return Demo({}, "the districts are real ones, so no accounts were made for trying")
    accounts = {one.name: one for one in jobs.accounts.all(KEEPER)}
    if set(accounts) - set(ROLES):
        return Demo({}, "there are accounts already; `litreline accounts list` shows them")
    now = service.clock()
    _keep_farmers(service, now)
    passwords = {role: random_password() for role in ROLES}
    for role, password in passwords.items():
        if role in accounts:
            jobs.accounts.reset_password(KEEPER, accounts[role].id, password, now)
            jobs.accounts.set_active(KEEPER, accounts[role].id, now, active=True)
        else:
            jobs.accounts.create(
                KEEPER, role, [role], password, now, phone="+10005550199", language="en"
            )
    return Demo(passwords)


def _keep_farmers(service: Service, now: datetime) -> None:
    told = json.loads(read_text(scenario_file("farmers.json")))
    with service.database.unit_of_work() as work:
        if work.farmers.districts():
            return
        phones: dict[str, Phone] = {}
        for one in told:
            _keep_farmer(work, phones, one, now)
        for district, days, mm in _RAIN:
            day = now.date() - timedelta(days=days)
            work.rain.put(RainReport(district, day, mm, now, KEEPER.id))
        work.commit()


def _keep_farmer(
    work: UnitOfWork, phones: dict[str, Phone], one: Mapping[str, Any], now: datetime
) -> None:
    since = now - timedelta(days=one.get("days_ago", 0)) - _LIFE_OF_A_PLOT
    number, answers = one["number"], _answers(one["answers"], now.date())
    first = number not in phones
    phone = phones.setdefault(number, Phone(new_id(), number, answers["language"], since))
    person = Person(new_id(), phone.id, one["name"], since, tuple(one["groups"]))
    plot = Plot(
        new_id(), phone.id, since, since, answers=answers, current=first, person_id=person.id
    )
    yes = one["consent"]
    consents = (
        [Consent(new_id(), phone.id, since, yes, "invented", "paper")] if yes in (0, 1) else []
    )
    work.farmers.add_all([phone] if first else [], [person], [plot], consents if first else [])
    for ticket in _tickets(one, phone, plot, now):
        work.tickets.add(ticket)
    for place, text in enumerate(one.get("texts", ())):
        _keep_text(work, phone, text, now - timedelta(hours=6, minutes=-place))
    if lost := one.get("given_up"):
        _keep_lost(work, phone, lost, now)


def _consents(one: Mapping[str, Any], phone: Phone) -> list[Consent]:
    given = one["consent"]
    if given is None:
        return []
    return [Consent(new_id(), phone.id, phone.created_at, given, "invented", "paper")]


def _answers(told: Mapping[str, Any], today: date) -> dict[str, Any]:
    """The answers with their days: "@60" is a day sixty days ago."""
    answers = {**told, "weeks_told_on": today.isoformat()}
    for name, value in told.items():
        if isinstance(value, str) and value.startswith("@"):
            answers[name] = (today - timedelta(days=int(value[1:]))).isoformat()
    return answers


def _tickets(one: Mapping[str, Any], phone: Phone, plot: Plot, now: datetime) -> Iterator[Ticket]:
    for told in one.get("tickets", ()):
        opened = now - timedelta(hours=told["hours_ago"])
        yield Ticket(
            new_id(), phone.id, "call_back", f"demo:{new_id()}", opened,
            matter=told["matter"], danger=told.get("danger", ""), plot_id=plot.id,
        )  # fmt: skip
    if one.get("missed"):
        yield missed_call(phone.id, now - timedelta(hours=2), new_id)


def _keep_text(work: UnitOfWork, phone: Phone, text: str, at: datetime) -> None:
    work.inbox.add(Inbound(new_id(), "demo", new_id(), phone.id, "", "", text, at, taken_at=at))


def _keep_lost(work: UnitOfWork, phone: Phone, text: str, now: datetime) -> None:
    """A message that was given up, as an admin meets it on the page of the gateway."""
    size, rule = measure(text), RULES["reminder"]
    work.outbox.add(
        Message(
            id=new_id(),
            phone_id=phone.id,
            channel="sms",
            kind="reminder",
            dedupe_key=f"demo:{new_id()}",
            text=text,
            language=phone.language or "en",
            encoding=size.encoding,
            parts=size.parts,
            priority=rule.priority,
            created_at=now,
            place=0,
            not_before=now,
            not_after=now,
            next_try=now,
            state="failed",
            open=False,
            reason="invented: the network refused the number",
            settled_at=now,
        )
    )
