"""Seasonal messages at the desk: from a draft over a second pair of eyes to what became of each."""

from __future__ import annotations

from datetime import UTC, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from service.desk.outlook import Outlook
from service.desk.refusals import Clash, DeskRefused, NotYours
from service.desk.seasonal import SeasonalDrafts
from service.desk.seasonal_runs import SeasonalRuns
from service.outreach import Place, Places, Seasonal
from service.records import Audience, ReminderChoice

TEXTS = {"en": "Rain is near. Water {minutes} min today, {name}."}
ALL = Audience()


@pytest.fixture
def seasonal(desk: Any) -> Seasonal:
    return Seasonal(
        unit_of_work=desk.unit_of_work,
        context_for=desk.context_for,
        translate=desk.speech.translate,
        new_id=desk.office.new_id,
        places=Places(Place(ZoneInfo("UTC"))),
        language="en",
    )


@pytest.fixture
def make_drafts(desk: Any, seasonal: Seasonal) -> Any:
    tables = desk.planner.tables

    def make(above: int = 2) -> SeasonalDrafts:
        return SeasonalDrafts(
            desk.office,
            seasonal,
            districts=tuple(tables.districts),
            crops=tuple(tables.crops),
            languages=("en", "sw"),
            second_eyes_above=above,
        )

    return make


@pytest.fixture
def drafts(make_drafts: Any) -> SeasonalDrafts:
    return make_drafts()


@pytest.fixture
def woken() -> list[str]:
    return []


@pytest.fixture
def runs(desk: Any, seasonal: Seasonal, woken: list[str]) -> SeasonalRuns:
    return SeasonalRuns(desk.office, seasonal, woken.append)


@pytest.fixture
def farmers(desk: Any) -> list[Any]:
    """Three plots whose owners wish to be written to, and one whose owner does not."""
    plots = []
    for place in range(4):
        phone = desk.phone(f"+1000555010{place}")
        person = desk.people.add_person(desk.operator, phone.id, f"Farmer {place}", desk.now)
        plots.append(desk.plot(phone, person_id=person.id))
        desk.people.record_consent(
            desk.operator, phone.id, "yes please", "call", desk.now, given=place < 3
        )
    return plots


@pytest.fixture
def second(desk: Any) -> Any:
    return desk.account("second", "officer", phone="+10005550998")


def draft(drafts: SeasonalDrafts, desk: Any, **more: Any) -> Any:
    given = {"title": "Rain", "audience": ALL, "texts": TEXTS, **more}
    return drafts.prepare(desk.officer, now=desk.now, **given)


def test_a_large_one_needs_another_pair_of_eyes(desk, drafts, farmers, second):
    message = draft(drafts, desk)
    assert drafts.see(desk.officer, message.id).needs_second
    waiting = drafts.submit(desk.officer, message.id, desk.now)
    assert waiting.state == "waiting"
    with pytest.raises(DeskRefused, match="Another person"):
        drafts.approve(desk.officer, message.id, waiting.revision, desk.now)
    approved = drafts.approve(second, message.id, waiting.revision, desk.now)
    assert (approved.state, approved.approved_by) == ("approved", second.id)


def test_whoever_changed_the_words_last_does_not_approve_them_either(desk, drafts, farmers, second):
    message = draft(drafts, desk)
    edited = drafts.edit(second, message.id, desk.now, revision=message.revision, title="R")
    waiting = drafts.submit(second, edited.id, desk.now)
    for account in (desk.officer, second):
        with pytest.raises(DeskRefused, match="Another person"):
            drafts.approve(account, message.id, waiting.revision, desk.now)


def test_a_small_one_is_approved_by_its_writer(desk, make_drafts, farmers):
    drafts = make_drafts(above=4)
    message = draft(drafts, desk)
    assert drafts.submit(desk.officer, message.id, desk.now).approved_by == desk.officer.id


def test_an_edit_takes_the_approval_away_and_the_version_looked_at_counts(
    desk, drafts, farmers, second
):
    message = draft(drafts, desk)
    waiting = drafts.submit(desk.officer, message.id, desk.now)
    edited = drafts.edit(
        desk.officer, message.id, desk.now, revision=waiting.revision, texts={"en": "Other words"}
    )
    assert (edited.state, edited.approved_by) == ("draft", None)
    again = drafts.submit(desk.officer, message.id, desk.now)
    with pytest.raises(Clash):
        drafts.approve(second, message.id, waiting.revision, desk.now)
    drafts.approve(second, message.id, again.revision, desk.now)
    with pytest.raises(Clash):
        drafts.edit(desk.officer, message.id, desk.now, revision=again.revision, title="late")


@pytest.mark.parametrize(
    ("texts", "why"),
    [({}, "empty"), ({"en": "Water {minuets} min"}, "minuets"), ({"en": "x" * 700}, "Too long")],
)
def test_texts_that_must_be_mended_are_not_submitted(desk, drafts, farmers, texts, why):
    message = draft(drafts, desk, texts=texts)
    with pytest.raises(DeskRefused, match=why):
        drafts.submit(desk.officer, message.id, desk.now)


def test_nobody_is_no_audience(desk, drafts, farmers):
    message = draft(drafts, desk, audience=Audience(districts=("velmora",)))
    assert drafts.count(desk.officer, message.audience) == 0
    with pytest.raises(DeskRefused, match="No plot"):
        drafts.submit(desk.officer, message.id, desk.now)


@pytest.mark.parametrize(
    "audience", [Audience(districts=("x",)), Audience(crops=("x",)), Audience(languages=("fr",))]
)
def test_an_audience_that_cannot_be_is_refused(desk, drafts, audience):
    with pytest.raises(DeskRefused, match="not in the list"):
        draft(drafts, desk, audience=audience)


def test_estimate_and_preview_are_of_real_recipients_with_masked_numbers(desk, drafts, farmers):
    message = draft(drafts, desk)
    found = drafts.estimate(desk.officer, message.id, desk.now)
    assert (found.plots, found.recipients, found.parts) == (4, 3, 3)
    looked = drafts.preview(desk.officer, message.id, desk.now)
    assert len(looked) == 3
    assert {f"Farmer {place}" for place in range(3)} == {
        one.text.rsplit(", ", 1)[1].rstrip(".") for one in looked
    }
    assert not any("5550" in one.number for one in looked)


def test_a_test_goes_to_the_officers_own_phone_only(desk, drafts, farmers):
    message = draft(drafts, desk)
    (sent,) = drafts.test(desk.officer, message.id, desk.now)
    with desk.unit_of_work() as work:
        own = work.phones.find(desk.officer.phone)
        assert own is not None
        (text,) = work.outbox.of_phone(own.id)
        assert sum(work.outbox.counts().values()) == 1
    assert (text.text, text.kind) == (sent.text, "answer")
    phoneless = desk.account("phoneless", "officer")
    with pytest.raises(DeskRefused, match="no phone number"):
        drafts.test(phoneless, message.id, desk.now)


@pytest.fixture
def approved(desk: Any, drafts: SeasonalDrafts, farmers: Any, second: Any) -> Any:
    message = draft(drafts, desk)
    waiting = drafts.submit(desk.officer, message.id, desk.now)
    return drafts.approve(second, message.id, waiting.revision, desk.now)


def go(seasonal: Seasonal, message: Any, desk: Any) -> Any:
    return seasonal.continue_batch(message.id, "", desk.now)


def test_it_goes_out_is_watched_and_exported(desk, runs, seasonal, approved, woken):
    runs.start(desk.officer, approved.id, desk.now)
    assert woken == [approved.id]
    go(seasonal, approved, desk)
    progress = runs.progress(desk.officer, approved.id)
    assert (progress.state, progress.planned, progress.skipped) == ("running", 3, 1)
    rows = runs.export(desk.officer, approved.id, desk.now).splitlines()
    assert len(rows) == 5
    assert sum("queued" in row for row in rows) == 3
    assert not any("55501" in row for row in rows)


def test_paused_it_waits_and_resumed_it_goes_on(desk, runs, seasonal, approved, woken):
    runs.start(desk.officer, approved.id, desk.now)
    runs.pause(desk.officer, approved.id, desk.now)
    assert go(seasonal, approved, desk).why == "paused"
    runs.resume(desk.officer, approved.id, desk.now)
    assert go(seasonal, approved, desk)
    assert woken == [approved.id, approved.id]


def test_cancelled_what_waits_is_taken_out(desk, runs, seasonal, approved):
    runs.start(desk.officer, approved.id, desk.now)
    go(seasonal, approved, desk)
    assert runs.cancel(desk.officer, approved.id, desk.now) == 3
    assert go(seasonal, approved, desk) is None
    with pytest.raises(DeskRefused, match="ended"):
        runs.cancel(desk.officer, approved.id, desk.now)
    with desk.unit_of_work() as work:
        assert work.outbox.counts() == {"failed": 3}


def test_only_what_was_approved_starts_and_not_a_year_ahead(desk, drafts, runs, approved):
    with pytest.raises(DeskRefused, match="cannot be done"):
        runs.start(desk.officer, draft(drafts, desk).id, desk.now)
    with pytest.raises(DeskRefused, match="a year off"):
        runs.start(desk.officer, approved.id, desk.now, desk.now + timedelta(days=400))
    begun = runs.start(desk.officer, approved.id, desk.now, desk.now + timedelta(days=2))
    assert begun.starts_at == desk.now.astimezone(UTC) + timedelta(days=2)


def test_operators_write_to_nobody_and_officers_to_their_districts(
    desk, drafts, runs, approved, bound_officer
):
    with pytest.raises(NotYours):
        drafts.prepare(desk.operator, "Rain", ALL, TEXTS, desk.now)
    for audience in (ALL, Audience(districts=("velmora", "kotsindo"))):
        with pytest.raises(NotYours):
            drafts.prepare(bound_officer, "Rain", audience, TEXTS, desk.now)
    mine = Audience(districts=("velmora",))
    message = drafts.prepare(bound_officer, "Rain", mine, TEXTS, desk.now)
    assert [one.id for one in drafts.all(bound_officer)] == [message.id]
    for act in (runs.start, runs.pause, runs.cancel, runs.export):
        with pytest.raises(NotYours):
            act(bound_officer, approved.id, desk.now)


def test_each_step_is_in_the_log(desk, runs, approved):
    runs.start(desk.officer, approved.id, desk.now)
    runs.pause(desk.officer, approved.id, desk.now)
    steps = [action for action in desk.actions() if action.startswith("seasonal.")]
    assert steps == [
        f"seasonal.{step}" for step in ("prepared", "submitted", "approved", "started", "paused")
    ]


def test_the_coming_days_show_reminders_by_weekday_and_what_begins(desk, drafts, runs, approved):
    """25 November 2026 is a Wednesday; whoever chose no day has Monday."""
    with desk.unit_of_work() as work:
        (first, *_) = work.farmers.page(ALL, "", 1)
        work.choices.put(ReminderChoice(first.phone.id, 9, 4, desk.now))
        work.commit()
    runs.start(desk.officer, approved.id, desk.now, desk.now + timedelta(days=3))
    draft(drafts, desk)
    days = Outlook(desk.office).days(desk.officer, ALL, desk.now, 7)
    assert [one.day.isoformat() for one in days[:2]] == ["2026-11-25", "2026-11-26"]
    assert [one.reminders for one in days] == [0, 0, 1, 0, 0, 2, 0]
    assert [[message.id for message in one.seasonal] for one in days] == [
        [], [], [], [approved.id], [], [], []
    ]  # fmt: skip
