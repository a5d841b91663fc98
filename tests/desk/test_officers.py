"""Rain, visits, clusters of a fault, privacy, and what became of lost messages."""

from __future__ import annotations

import json
from datetime import date, timedelta
from typing import Any

import pytest

from service.channels.post import Letter, Post
from service.desk.districts import RainReports
from service.desk.gateway_state import GatewayState
from service.desk.privacy import Privacy
from service.desk.refusals import DeskRefused, NotYours
from service.desk.visits import Visits, _Told, clusters_in
from service.phrases import say
from service.records import Audience, Settlement, Ticket
from service.sizing.upkeep import every_days

# --- rain ----------------------------------------------------------------------------------------


@pytest.fixture
def rain(desk: Any) -> RainReports:
    return RainReports(desk.office, desk.planner.tables.districts)


def test_a_later_report_of_a_day_takes_the_place_of_the_first(desk, rain):
    day = date(2026, 11, 24)
    rain.report(desk.officer, "kotsindo", day, 12, desk.now)
    rain.report(desk.officer, "kotsindo", day, 15.04, desk.later(hours=1))
    (line,) = rain.lines(desk.officer, desk.now)
    assert (line.report.mm, line.district_name, line.by) == (15.0, "Kotsindo", "officer")


@pytest.mark.parametrize(
    ("district", "day", "mm", "why"),
    [
        ("atlantis", date(2026, 11, 24), 5, "of the list"),
        ("kotsindo", date(2026, 11, 26), 5, "still to come"),
        ("kotsindo", date(2026, 9, 1), 5, "days ago"),
        ("kotsindo", date(2026, 11, 24), -1, "0 to 500"),
        ("kotsindo", date(2026, 11, 24), 501, "0 to 500"),
        ("kotsindo", date(2026, 11, 24), float("nan"), "0 to 500"),
    ],
)
def test_rain_that_cannot_be_is_refused(desk, rain, district, day, mm, why):
    with pytest.raises(DeskRefused, match=why):
        rain.report(desk.officer, district, day, mm, desk.now)


def test_rain_is_reported_by_officers_of_the_district(desk, rain, bound_officer):
    for account in (desk.operator, bound_officer):
        with pytest.raises(NotYours):
            rain.report(account, "kotsindo", date(2026, 11, 24), 5, desk.now)
    rain.report(bound_officer, "velmora", date(2026, 11, 24), 5, desk.now)
    assert [key for key, _ in rain.choices(bound_officer)] == ["velmora"]


# --- visits --------------------------------------------------------------------------------------


@pytest.fixture
def visits(desk: Any) -> Visits:
    return Visits(desk.office, desk.dialogue.book)


def ticket(desk: Any, plot: Any, **more: Any) -> None:
    new_id = desk.office.new_id()
    with desk.unit_of_work() as work:
        given = {"opened_at": desk.now, "plot_id": plot.id, **more}
        work.tickets.add(Ticket(new_id, plot.phone_id, "call_back", new_id, **given))
        work.commit()


def check(du: float) -> dict[str, Any]:
    return {"measurements": [{"plot": "x", "day": "2026-11-01", "by": "cups", "du_pct": du}]}


def test_plots_are_ranked_by_what_is_wrong_with_words_for_each_reason(desk, visits):
    numbers = iter(range(100, 200))

    def plot(**more: Any) -> Any:
        return desk.plot(desk.phone(f"+10005550{next(numbers)}"), **more)

    fine = plot()
    danger, asked = plot(), plot()
    poor = plot(answers=check(65))
    fair = plot(answers=check(75))
    silent = plot(updated_at=desk.now - timedelta(days=200))
    late = plot(answers={"upkeep_filter_done": "2026-10-01"})
    fault = plot(answers={"fault_seen": "far", "fault_seen_on": "2026-11-20"})
    ticket(desk, danger, danger="splashed")
    ticket(desk, asked)
    found = visits.to_visit(desk.officer, Audience(), desk.now)
    order = [one.farmer.plot.id for one in found]
    ranked = (danger, asked, poor, fault, silent, fair, late)
    assert order == [one.id for one in ranked]
    assert fine.id not in order
    said = [desk.speech.translate(one.reasons[0].words, "en") for one in found]
    assert said == [
        "Somebody told of danger: ring first.",
        "1 ticket is open.",
        "The last cup test gave an evenness of 65 %.",
        "A fault was told, and no ticket followed.",
        "Nothing heard of this plot for 200 days.",
        "The last cup test gave an evenness of 75 %.",
        f"Overdue by {55 - every_days('filter')} days: the filter.",
    ]


def test_reasons_add_up_and_old_ones_fall_away(desk, visits):
    both = desk.plot(
        desk.phone(), answers={**check(65), "fault_seen": "far", "fault_seen_on": "2026-11-20"}
    )
    (visit,) = visits.to_visit(desk.officer, Audience(), desk.now)
    assert visit.farmer.plot.id == both.id
    assert visit.score == sum(one.weight for one in visit.reasons) == 45
    (later,) = visits.to_visit(desk.officer, Audience(), desk.later(days=30))
    assert later.score == 25


def test_an_officer_visits_the_own_districts_only(desk, visits, bound_officer):
    desk.plot(desk.phone(), answers=check(50))
    mine = desk.plot(desk.phone("+10005550101"), answers={**check(50), "district": "velmora"})
    found = visits.to_visit(bound_officer, Audience(), desk.now)
    assert [one.farmer.plot.id for one in found] == [mine.id]
    with pytest.raises(NotYours):
        visits.to_visit(bound_officer, Audience(districts=("kotsindo",)), desk.now)
    with pytest.raises(NotYours):
        visits.to_visit(desk.operator, Audience(), desk.now)


TODAY = date(2026, 11, 25)


def told(fault: str, days_ago: int, phone: int) -> _Told:
    return _Told("kotsindo", fault, TODAY - timedelta(days=days_ago), f"p{phone}")


def test_three_phones_in_a_fortnight_with_nothing_before_are_a_cluster():
    three = [told("bites", day, phone) for day, phone in ((0, 1), (5, 2), (13, 3))]
    (cluster,) = clusters_in(three, TODAY, {"bites": say("Bites on the lines")})
    assert (cluster.phones, cluster.usual, cluster.name.text) == (3, 0.0, "Bites on the lines")
    assert clusters_in(three[:2], TODAY, {}) == ()
    assert clusters_in([*three[:2], told("bites", 14, 3)], TODAY, {}) == ()


def test_one_phone_that_tells_three_times_is_none():
    assert clusters_in([told("bites", day, 1) for day in (0, 1, 2)], TODAY, {}) == ()


def test_what_is_usual_is_none_and_three_times_the_usual_is_one():
    # 24 in 168 days are 2 a fortnight.
    usual = [told("far", 14 + 7 * week, 100 + week) for week in range(24)]
    five = [told("far", 1, phone) for phone in range(5)]
    assert clusters_in([*usual, *five], TODAY, {}) == ()
    (cluster,) = clusters_in([*usual, *five, told("far", 2, 5)], TODAY, {})
    assert (cluster.phones, cluster.usual) == (6, 2.0)


def test_clusters_come_from_tickets_and_from_what_plots_were_told(desk, visits):
    for place in range(3):
        answers = {"fault_seen": "bites", "fault_seen_on": "2026-11-20"}
        desk.plot(desk.phone(f"+1000555010{place}"), answers=answers)
    one = desk.plot(desk.phone("+10005550109"))
    so_far = {"flow": "fault", "state": "bites", "answers": {"fault_seen": "bites"}}
    ticket(desk, one, so_far=so_far)
    (cluster,) = visits.clusters(desk.officer, desk.now)
    assert (cluster.district, cluster.fault, cluster.phones) == ("kotsindo", "bites", 4)
    assert desk.speech.translate(cluster.name, "en") == "Bites on the lines"


# --- privacy -------------------------------------------------------------------------------------


@pytest.fixture
def privacy(desk: Any) -> Privacy:
    return Privacy(desk.office, "key")


def test_an_export_is_readable_and_whole(desk, privacy):
    phone = desk.phone()
    desk.plot(phone)
    desk.people.add_person(desk.operator, phone.id, "Amina ठाकुर", desk.now)
    desk.people.record_consent(desk.operator, phone.id, "yes please", "call", desk.now, given=True)
    text = privacy.export(desk.admin, phone.id, desk.now)
    whole = json.loads(text)
    assert whole["phone"]["number"] == phone.number
    assert whole["people"][0]["name"] == "Amina ठाकुर"
    assert "ठाकुर" in text
    assert whole["plots"][0]["answers"]["laid_lines"] == 15
    assert whole["consents"][0]["words"] == "yes please"
    assert any(line["action"] == "consent.given" for line in whole["seen_or_changed_by"])


@pytest.mark.parametrize("left_alone", [True, False])
def test_an_erased_caller_leaves_no_row_and_no_number_only_a_keyed_mark(desk, privacy, left_alone):
    phone = desk.phone()
    desk.plot(phone)
    if left_alone:
        desk.people.record_consent(desk.operator, phone.id, "stop", "call", desk.now, given=False)
    assert privacy.erase(desk.admin, phone.id, "by letter of today", desk.now) >= 2
    with desk.unit_of_work() as work:
        assert work.phones.find(phone.number) is None
        assert work.plots.of_phone(phone.id) == ()
        lines = work.accounts.lines(limit=100)
    assert phone.number[-6:] not in repr(lines)
    (line,) = [one for one in lines if one.action == "caller.erased"]
    assert line.detail["left_alone"] is left_alone
    assert line.subject_id != phone.id


def test_only_an_admin_gives_out_or_erases_and_says_why(desk, privacy):
    phone = desk.phone()
    for account in (desk.operator, desk.officer):
        with pytest.raises(NotYours):
            privacy.export(account, phone.id, desk.now)
        with pytest.raises(NotYours):
            privacy.erase(account, phone.id, "by letter of today", desk.now)
    with pytest.raises(DeskRefused, match="who asked"):
        privacy.erase(desk.admin, phone.id, " ", desk.now)


# --- lost messages -------------------------------------------------------------------------------


@pytest.fixture
def gateway(desk: Any) -> GatewayState:
    return GatewayState(desk.office)


def lost(desk: Any, phone: Any, kind: str = "answer", *, doubtful: bool = False) -> str:
    with desk.unit_of_work() as work:
        letter = Letter(phone.id, kind, desk.office.new_id(), "text", "en")  # type: ignore[arg-type]
        Post(desk.office.new_id).put(work, letter, desk.now)
        (claimed,) = work.outbox.claim("o", desk.now, desk.now + timedelta(minutes=1), 1)
        since = desk.now if doubtful else None
        state: Any = "uncertain" if doubtful else "failed"
        gone = Settlement(
            state, False, desk.now, 1, uncertain_since=since, reason="no", settled_at=desk.now
        )
        work.outbox.settle(claimed.message.id, "o", gone)
        work.commit()
    return claimed.message.id


def test_what_was_given_up_is_listed_until_somebody_decides(desk, gateway):
    phone = desk.phone()
    first, second = lost(desk, phone), lost(desk, phone)
    assert {one.message.id for one in gateway.given_up(desk.operator, desk.now)} == {first, second}
    assert phone.number[-6:] not in gateway.given_up(desk.operator, desk.now)[0].masked
    gateway.let_go(desk.operator, first, desk.now)
    again = gateway.resend(desk.operator, second, desk.now)
    assert again is not None
    assert (again.text, again.state, again.open) == ("text", "queued", True)
    assert gateway.given_up(desk.operator, desk.now) == ()
    assert gateway.counts(desk.operator) == {"failed": 2, "queued": 1}
    assert {"message.let_go", "message.resent"} <= set(desk.actions())


def test_a_message_is_sent_again_once(desk, gateway):
    message_id = lost(desk, desk.phone())
    assert gateway.resend(desk.operator, message_id, desk.now) is not None
    assert gateway.resend(desk.operator, message_id, desk.now) is None
    assert gateway.counts(desk.operator)["queued"] == 1


def test_a_danger_that_may_have_arrived_is_not_sent_twice(desk, gateway):
    message_id = lost(desk, desk.phone(), "alert", doubtful=True)
    (one,) = gateway.given_up(desk.operator, desk.now)
    assert one.twice_does_harm
    with pytest.raises(DeskRefused, match="ring the caller"):
        gateway.resend(desk.operator, message_id, desk.now)
    gateway.let_go(desk.operator, message_id, desk.now)


def test_what_is_still_tried_is_not_decided(desk, gateway):
    phone = desk.phone()
    with desk.unit_of_work() as work:
        Post(desk.office.new_id).put(work, Letter(phone.id, "answer", "k", "t", "en"), desk.now)
        (message,) = work.outbox.of_phone(phone.id)
        work.commit()
    for act in (gateway.resend, gateway.let_go):
        with pytest.raises(DeskRefused, match="not given up"):
            act(desk.operator, message.id, desk.now)
    with pytest.raises(NotYours):
        gateway.given_up(desk.officer, desk.now)
