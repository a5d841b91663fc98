"""Every job asks for the account's role itself, whatever a page let through."""

from __future__ import annotations

import inspect
from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from service.desk.accounts import Accounts
from service.desk.advice_sheet import AdviceSheets
from service.desk.callers import Callers
from service.desk.districts import RainReports
from service.desk.dose import Checklist, Doses
from service.desk.exports import Exports
from service.desk.farmer_rows import Lists
from service.desk.form import Forms
from service.desk.gateway_state import GatewayState
from service.desk.handover import Entry, Handovers
from service.desk.imports import Imports
from service.desk.outlook import Outlook
from service.desk.people import People
from service.desk.privacy import Privacy
from service.desk.refusals import NotYours
from service.desk.seasonal import SeasonalDrafts
from service.desk.seasonal_runs import SeasonalRuns
from service.desk.tickets import Tickets
from service.desk.visits import Visits
from service.desk.walking import Walking
from service.outreach import Place, Places, Seasonal
from service.records import ROLES, Audience

JOBS = {
    Accounts: {"all", "create", "change", "set_active", "unlock", "reset_password", "lines"},
    Privacy: {"export", "erase"},
}
"""What is an admin's alone."""
OPERATORS = {
    Walking: {"begin", "see", "answer", "back", "take_over", "hand_back", "leave"},
    Doses: {"release", "withdraw"},
    Tickets: {"reviews", "settle_review"},
    GatewayState: {"given_up", "resend", "let_go"},
}
"""What officers do not do."""
OFFICERS = {
    RainReports: {"choices", "report"},
    Imports: {"template", "preview", "run"},
    Exports: {"farmers"},
    SeasonalDrafts: {
        "all", "see", "count", "prepare", "edit", "estimate", "preview", "test", "submit",
        "approve", "send_back",
    },
    SeasonalRuns: {"start", "pause", "resume", "cancel", "progress", "export"},
    Visits: {"to_visit"},
    Outlook: {"days"},
}  # fmt: skip
"""What operators do not do."""
OWN = {(Accounts, "new_password")}
"""Asks for the old password instead."""


@pytest.fixture
def jobs(desk: Any, hasher: Any) -> dict[type, Any]:
    office, tables = desk.office, desk.planner.tables
    seasonal = Seasonal(
        unit_of_work=desk.unit_of_work,
        context_for=desk.context_for,
        translate=desk.speech.translate,
        new_id=office.new_id,
        places=Places(Place(ZoneInfo("UTC"))),
        language="en",
    )
    talking = (office, desk.dialogue, desk.speech, desk.context_for)
    found = [
        Accounts(office, hasher, ("en",)),
        AdviceSheets(*talking, desk.one_text),
        Callers(office),
        Doses(office, desk.speech.translate, desk.context_for),
        Exports(office),
        Forms(*talking),
        GatewayState(office),
        Handovers(*talking),
        Imports(office, Lists({}, {}, {})),
        Outlook(office),
        People(office, ("en",)),
        Privacy(office, "k"),
        RainReports(office, tables.districts),
        SeasonalDrafts(office, seasonal, districts=(), crops=(), languages=()),
        SeasonalRuns(office, seasonal),
        Tickets(office),
        Visits(office, desk.dialogue.book),
        Walking(*talking),
    ]
    return {type(one): one for one in found}


def arguments(method: Any, account: Any, now: Any) -> dict[str, Any]:
    """Return something for each argument that must be given."""
    known = {
        "account": account, "now": now, "audience": Audience(), "texts": {"en": "x"}, "typed": {},
        "day": date(2026, 11, 24), "mm": 1.0, "raw": b"", "revision": 0, "given": True,
        "active": True, "stop": False, "checklist": Checklist("acid", 32),
        "entry": Entry("+10005550100", "x", {}), "roles": ["officer"], "password": "x" * 12,
    }  # fmt: skip
    return {
        name: known.get(name, "x" * 12)
        for name, one in inspect.signature(method).parameters.items()
        if one.default is inspect.Parameter.empty
    }


def methods(jobs: dict[type, Any]) -> Iterator[tuple[type, str, Any]]:
    for kind, job in jobs.items():
        for name, method in inspect.getmembers(job, inspect.ismethod):
            if not name.startswith("_") and "account" in inspect.signature(method).parameters:
                yield kind, name, method


def test_an_account_that_is_switched_off_does_nothing(desk, jobs):
    off = replace(desk.admin, roles=ROLES, active=False)
    tried = 0
    for kind, name, method in methods(jobs):
        if (kind, name) in OWN:
            continue
        with pytest.raises(NotYours):
            method(**arguments(method, off, desk.now))
        tried += 1
    assert tried > 60


@pytest.mark.parametrize(
    ("role", "closed"), [("operator", [JOBS, OFFICERS]), ("officer", [JOBS, OPERATORS])]
)
def test_what_is_not_the_roles_is_refused(desk, jobs, role, closed):
    account = getattr(desk, role)
    for table in closed:
        for kind, names in table.items():
            for name in names:
                method = getattr(jobs[kind], name)
                with pytest.raises(NotYours):
                    method(**arguments(method, account, desk.now))


def test_the_tables_above_name_every_job_that_is_not_open_to_all(desk, jobs):
    """A role that has nothing at all is refused by each method, so none asks for no role."""
    nobody = replace(desk.operator, roles=())
    for kind, name, method in methods(jobs):
        if (kind, name) not in OWN:
            with pytest.raises(NotYours):
                method(**arguments(method, nobody, desk.now))
