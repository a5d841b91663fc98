"""The trial of the desk: invented farmers, an account per role, and nothing on real ground."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import UTC, datetime
from typing import Any

import pytest

from service.desk.signing_in import Sitting
from service.records import Audience
from service.settings import Settings
from service.wiring.build import Service, build
from service.wiring.demo import KEEPER, prepare_demo
from service.wiring.desk import make_jobs_of_desk

NOW = datetime(2026, 11, 25, 9, 0, tzinfo=UTC)


@pytest.fixture
def trial(make_settings: Callable[..., Settings], hasher: Any) -> Iterator[tuple[Service, Any]]:
    settings = make_settings()
    service = build(settings, clock=lambda: NOW)
    service.database.migrate()
    yield service, make_jobs_of_desk(service, settings, hasher=hasher)
    service.database.close()


def test_each_role_gets_a_password_and_a_new_one_each_time(trial: Any) -> None:
    service, jobs = trial
    first, second = prepare_demo(service, jobs), prepare_demo(service, jobs)
    assert set(first.passwords) == {"operator", "officer", "admin"}
    assert first.passwords != second.passwords
    sitting = jobs.signing_in.sign_in("officer", second.passwords["officer"], NOW)
    assert isinstance(sitting, Sitting)
    assert jobs.signing_in.account(sitting).roles == ("officer",)


def test_the_invented_farmers_are_kept_once_and_marked(trial: Any) -> None:
    service, jobs = trial
    prepare_demo(service, jobs)
    prepare_demo(service, jobs)
    with service.database.unit_of_work() as work:
        farmers = work.farmers.page(Audience(), "", 100)
        tickets = work.tickets.waiting()
        lost = work.outbox.given_up()
    assert len(farmers) == 12
    assert all(one.phone.number.startswith("+1000555") for one in farmers)
    assert tickets[0].danger == "stand_leans"
    assert {one.kind for one in tickets} == {"call_back", "missed_call"}
    assert [message.state for message, _ in lost] == ["failed"]
    assert all("invented" in message.reason for message, _ in lost)


def test_every_invented_plot_can_be_planned(trial: Any) -> None:
    service, jobs = trial
    prepare_demo(service, jobs)
    with service.database.unit_of_work() as work:
        farmers = work.farmers.page(Audience(), "", 100)
    for one in farmers:
        assert service.context_for(NOW).plan(one.plot.answers).layouts, one.plot.answers


def test_accounts_of_somebody_else_are_left_alone(trial: Any) -> None:
    service, jobs = trial
    jobs.accounts.create(KEEPER, "Neema", ["admin"], "a long sentence", NOW)
    demo = prepare_demo(service, jobs)
    assert demo.passwords == {}
    assert "accounts already" in demo.why_none
    assert [one.name for one in jobs.accounts.all(KEEPER)] == ["Neema"]


def test_nothing_is_invented_on_real_districts(trial: Any) -> None:
    service, jobs = trial
    real = replace(service, loaded=service.loaded._replace(invented=("prices",)))
    assert "real ones" in prepare_demo(real, jobs).why_none
    with service.database.unit_of_work() as work:
        assert work.farmers.districts() == ()
