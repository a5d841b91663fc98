"""Scans for weekly texts: whose hour has come, once, with consent, at a decent hour."""

from __future__ import annotations

import itertools
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from service.channels import Bucket, Judge, Refused, Sender
from service.gateways import RecordedGateway
from service.outreach import LEFT_OUT, Place, Places, Reminders, Scan, WeeklyTime
from service.records import RainReport, ReminderChoice

NAIROBI, DELHI = ZoneInfo("Africa/Nairobi"), ZoneInfo("Asia/Kolkata")
HOUR = timedelta(hours=1)


@pytest.fixture
def make_reminders(handed_in: dict[str, Any]) -> Callable[..., Reminders]:
    def make(**changes: Any) -> Reminders:
        return Reminders(**{**handed_in, **changes})

    return make


@pytest.fixture
def reminders(make_reminders: Callable[..., Reminders]) -> Reminders:
    return make_reminders()


def test_one_text_when_the_hour_has_come(
    village: Any, reminders: Reminders, monday: datetime
) -> None:
    village.farmer("a")
    assert reminders.scan(monday - timedelta(minutes=1)) == Scan(looked_at=1)
    assert reminders.scan(monday) == Scan(looked_at=1, queued=1)
    (message,) = village.texts("a")
    assert message.text.startswith("Water each day, week from 23 Nov. Valve open about ")
    assert (message.kind, message.dedupe_key) == ("reminder", "reminder:p-a:week:2026-W48")
    # The hour is early: the text leaves when it is decent to write.
    assert message.not_before == monday + HOUR


def test_scanning_again_changes_nothing(
    village: Any, reminders: Reminders, monday: datetime
) -> None:
    village.farmer("a")
    reminders.scan(monday)
    for quarter in range(1, 30):
        again = reminders.scan(monday + timedelta(minutes=15 * quarter))
        assert again == Scan(looked_at=1, before=1)
    assert len(village.texts("a")) == 1


def test_every_week_brings_one(village: Any, reminders: Reminders, monday: datetime) -> None:
    village.farmer("a")
    for hours in range(0, 24 * 28, 5):
        reminders.scan(monday + timedelta(hours=hours))
    keys = [message.dedupe_key for message in village.texts("a")]
    assert keys == [f"reminder:p-a:week:2026-W{week}" for week in (48, 49, 50, 51)]


def test_the_hour_and_day_that_a_phone_chose(
    village: Any, reminders: Reminders, monday: datetime
) -> None:
    village.farmer("a", choice=(16, 3))
    thursday = monday.replace(day=26, hour=16)
    assert reminders.scan(thursday - timedelta(minutes=1)).queued == 0
    assert reminders.scan(thursday).queued == 1
    assert village.texts("a")[0].not_before == thursday


def test_another_choice_in_the_same_week_brings_no_second_text(
    village: Any, reminders: Reminders, monday: datetime
) -> None:
    village.farmer("a")
    reminders.scan(monday)
    with village.unit_of_work() as work:
        farmer = work.farmers.of_phone("f-a")[0]
        assert farmer.choice is None
        work.choices.put(ReminderChoice("f-a", 16, 3, monday))
        work.commit()
    assert reminders.scan(monday.replace(day=26, hour=17)) == Scan(looked_at=1, before=1)


def test_the_usual_time_may_be_another(
    village: Any, make_reminders: Callable[..., Reminders], monday: datetime
) -> None:
    village.farmer("a")
    reminders = make_reminders(usual=[WeeklyTime(2, 9)])
    assert reminders.scan(monday + HOUR).queued == 0
    assert reminders.scan(monday.replace(day=25, hour=9)).queued == 1


def test_the_usual_times_are_shared_out(
    village: Any, make_reminders: Callable[..., Reminders], monday: datetime
) -> None:
    for number in range(40):
        village.farmer(f"n{number}")
    usual = [WeeklyTime(day, hour) for day in (0, 1) for hour in (9, 15)]
    reminders = make_reminders(usual=usual)
    hours = [monday.replace(day=day, hour=hour) for day in (23, 24) for hour in (9, 15)]
    counts = [reminders.scan(now).queued for now in hours]
    assert sum(counts) == 40
    assert min(counts) >= 3
    assert sum(reminders.scan(now + timedelta(days=7)).queued for now in hours) == 40


def test_after_more_than_a_day_without_scans_the_text_is_dropped(
    village: Any, reminders: Reminders, monday: datetime
) -> None:
    village.farmer("a")
    assert reminders.scan(monday + timedelta(hours=25)) == Scan(looked_at=1)
    assert reminders.scan(monday + timedelta(hours=24)).queued == 1


@pytest.mark.parametrize(
    ("who", "reason"),
    [
        ({"consent": None}, "no_consent"),
        ({"consent": False}, "no_consent"),
        ({"number": "handset:abc"}, "no_number"),
        ({"answers": {"crop": "tomato"}}, "not_in_use"),
    ],
)
def test_who_gets_none(
    village: Any, reminders: Reminders, monday: datetime, who: dict[str, Any], reason: str
) -> None:
    village.farmer("a", **who)
    assert reminders.scan(monday) == Scan(looked_at=1, left_out={reason: 1})
    assert reason in LEFT_OUT
    assert village.texts("a") == []


def test_stop_and_start_again(village: Any, reminders: Reminders, monday: datetime) -> None:
    village.farmer("a")
    village.says("a", False, monday + HOUR)
    assert reminders.scan(monday + 2 * HOUR).queued == 0
    village.says("a", True, monday + 3 * HOUR)
    assert reminders.scan(monday + 4 * HOUR).queued == 1


def test_many_pages(
    village: Any, make_reminders: Callable[..., Reminders], monday: datetime
) -> None:
    for number in range(7):
        village.farmer(f"n{number}")
    assert make_reminders(page=3).scan(monday) == Scan(looked_at=7, queued=7)


def test_a_scan_shared_out_among_workers(
    village: Any, make_reminders: Callable[..., Reminders], monday: datetime
) -> None:
    ids = ("0", "0000ab", "3fff", "4000", "7fff00", "bfff", "c000ff", "ffff", "p-last")
    for place, plot_id in enumerate(ids):
        village.farmer(f"n{place}", plot_id=plot_id)
    parts = [make_reminders(page=2).scan(monday, part, 4) for part in range(4)]
    assert sum(scan.looked_at for scan in parts) == sum(scan.queued for scan in parts) == len(ids)
    assert all(scan.queued for scan in parts)
    for part, all_parts in ((1, 1), (-1, 2), (0, 0)):
        with pytest.raises(ValueError, match="no part"):
            make_reminders().scan(monday, part, all_parts)


def test_a_plot_with_senseless_answers_silences_nobody_else(
    village: Any, reminders: Reminders, monday: datetime, laid: dict[str, object]
) -> None:
    village.farmer("a", answers={**laid, "weeks_since_planting": "some"})
    village.farmer("b", answers={**laid, "upkeep_filter_done": ["yesterday"]})
    village.farmer("c", language="xx")
    scan = reminders.scan(monday)
    assert scan.queued + sum(scan.left_out.values()) == 3
    assert scan.left_out["broken_answers"] >= 1
    assert village.texts("c")[0].language == "en"


def test_each_in_their_language(village: Any, reminders: Reminders, monday: datetime) -> None:
    village.farmer("a", language="sw")
    village.farmer("b", language=None)
    reminders.scan(monday)
    assert [village.texts(name)[0].language for name in "ab"] == ["sw", "en"]
    assert village.texts("a")[0].text != village.texts("b")[0].text


def test_what_was_recorded_as_done_is_not_said_again(
    village: Any, reminders: Reminders, monday: datetime
) -> None:
    village.farmer("a")
    reminders.scan(monday)
    assert "filter" in village.texts("a")[0].text
    sunday = (monday + timedelta(days=6)).date().isoformat()
    for task in ("filter", "walk", "lines", "tank"):
        village.tells("a", **{f"upkeep_{task}_done": sunday})
    reminders.scan(monday + timedelta(days=7))
    assert "Due" not in village.texts("a")[1].text


def test_rain_that_an_officer_reported(
    village: Any, reminders: Reminders, monday: datetime
) -> None:
    village.farmer("dry", answers=None)
    village.farmer("wet", answers={**_answers(village), "district": "velmora"})
    with village.unit_of_work() as work:
        work.rain.put(RainReport("velmora", monday.date(), 60.0, monday))
        work.commit()
    reminders.scan(monday)
    assert "the soil holds enough" in village.texts("wet")[0].text
    assert "the soil holds enough" not in village.texts("dry")[0].text


def _answers(village: Any) -> dict[str, Any]:
    with village.unit_of_work() as work:
        return dict(work.plots.get("p-dry").answers)


# --- quiet hours, holidays, zones, clock changes -------------------------------------------------


def test_sunday_and_holidays_are_quiet_when_planning(
    village: Any, make_reminders: Callable[..., Reminders]
) -> None:
    # Sunday 13 December 2026; the 12th, a Saturday, is Jamhuri Day (from memory).
    village.farmer("a", choice=(9, 6))
    village.farmer("b", choice=(9, 5))
    reminders = make_reminders(places=Places(Place(NAIROBI, "KE")))
    reminders.scan(datetime(2026, 12, 12, 9, tzinfo=NAIROBI))
    reminders.scan(datetime(2026, 12, 13, 9, tzinfo=NAIROBI))
    monday = datetime(2026, 12, 14, 8, tzinfo=NAIROBI)
    for name in "ab":
        (message,) = village.texts(name)
        assert message.not_before == monday
        # The day in the words is that on which it leaves.
        assert "week from 14 Dec" in message.text


def test_each_district_by_its_own_clock(
    village: Any, make_reminders: Callable[..., Reminders], laid: dict[str, object]
) -> None:
    village.farmer("near")
    village.farmer("far", answers={**laid, "district": "velmora"})
    reminders = make_reminders(places=Places(Place(NAIROBI), {"velmora": Place(DELHI)}))
    # 07:00 in Delhi is half past four in Nairobi.
    early = datetime(2026, 11, 23, 7, tzinfo=DELHI)
    assert reminders.scan(early).queued == 1
    assert village.texts("far")[0].not_before == early + HOUR
    assert reminders.scan(datetime(2026, 11, 23, 7, tzinfo=NAIROBI)).queued == 1


def test_a_clock_put_forward_over_the_hour(
    village: Any, make_reminders: Callable[..., Reminders]
) -> None:
    berlin = ZoneInfo("Europe/Berlin")
    village.farmer("a", choice=(2, 6))
    reminders = make_reminders(places=Places(Place(berlin), sundays=True))
    # Sunday 29 March 2026: two o'clock never comes, three does at 01:00 by Greenwich.
    change = datetime(2026, 3, 29, 1, tzinfo=UTC)
    quarters = [change + timedelta(minutes=15 * number) for number in range(-12, 12)]
    assert [reminders.scan(now).queued for now in quarters] == [0] * 12 + [1] + [0] * 11


def test_a_clock_put_back_over_the_hour(
    village: Any, make_reminders: Callable[..., Reminders]
) -> None:
    berlin = ZoneInfo("Europe/Berlin")
    village.farmer("a", choice=(2, 6))
    reminders = make_reminders(places=Places(Place(berlin), sundays=True))
    first = datetime(2026, 10, 25, 0, tzinfo=UTC)
    quarters = [first + timedelta(minutes=15 * number) for number in range(-8, 16)]
    assert [reminders.scan(now).queued for now in quarters] == [0] * 8 + [1] + [0] * 15


def test_midnight_belongs_to_the_new_day_and_week(
    village: Any, reminders: Reminders, monday: datetime
) -> None:
    village.farmer("a", choice=(0, 0))
    midnight = monday.replace(hour=0)
    assert reminders.scan(midnight - timedelta(seconds=1)).queued == 0
    assert reminders.scan(midnight).queued == 1
    assert village.texts("a")[0].dedupe_key.endswith("2026-W48")


# --- what is looked at again when it leaves ------------------------------------------------------


class Post:
    """A sender over the village's outbox, and a clock that tests turn."""

    def __init__(self, village: Any, places: Places, now: datetime) -> None:
        self.now, self.gateway = now, RecordedGateway(True)
        numbers = itertools.count(1)
        self.sender = Sender(
            unit_of_work=village.unit_of_work,
            gateway=self.gateway,
            judge=Judge(places.hours(), lambda: 0.5, repeatable=True, hours_of=places.hours_of),
            bucket=Bucket(1000, 0.0),
            new_id=lambda: f"s{next(numbers):05d}",
            clock=lambda: self.now,
            seconds=lambda: 0.0,
        )

    def sent(self, now: datetime) -> int:
        """Send what may leave at a moment; return how many did in all."""
        self.now = now
        while self.sender.once().handled:
            pass
        return len(self.gateway.submitted)


def test_stop_between_queue_and_sending(
    village: Any, reminders: Reminders, places: Places, monday: datetime
) -> None:
    village.farmer("a")
    village.farmer("b")
    reminders.scan(monday)
    village.says("a", False, monday + timedelta(minutes=30))
    post = Post(village, places, monday)
    assert post.sent(monday + timedelta(minutes=59)) == 0
    assert post.sent(monday + HOUR) == 1
    assert [village.texts(name)[0].state for name in "ab"] == ["failed", "accepted"]
    assert village.texts("a")[0].reason == "no consent to reminders"


def test_a_sender_that_was_down_keeps_the_evening_and_the_holiday(village: Any,
    make_reminders: Callable[..., Reminders]) -> None:  # fmt: skip
    places = Places(Place(NAIROBI, "KE"))
    # Friday 11 December 2026, and nobody sends until the evening: Saturday is Jamhuri Day, Sunday
    # is quiet too, and by Monday the text is worth nothing any more.
    village.farmer("a", choice=(17, 4))
    friday = datetime(2026, 12, 11, 17, tzinfo=NAIROBI)
    make_reminders(places=places).scan(friday)
    post = Post(village, places, friday)
    for hours in (2, 5, 16, 20):
        assert post.sent(friday + timedelta(hours=hours)) == 0
        assert village.texts("a")[0].state == "queued"
    assert post.sent(datetime(2026, 12, 14, 8, tzinfo=NAIROBI)) == 0
    assert village.texts("a")[0].state == "expired"


def test_a_sender_keeps_the_hours_of_each_district(
    village: Any, make_reminders: Callable[..., Reminders], laid: dict[str, object]
) -> None:
    places = Places(Place(NAIROBI), {"velmora": Place(DELHI)})
    village.farmer("near", choice=(15, 2))
    village.farmer("far", answers={**laid, "district": "velmora"}, choice=(17, 2))
    wednesday = datetime(2026, 11, 25, 15, tzinfo=NAIROBI)
    make_reminders(places=places).scan(wednesday)
    post = Post(village, places, wednesday)
    # 18:00 in Nairobi is half past eight in Delhi.
    assert post.sent(wednesday.replace(hour=18)) == 1
    states = {name: village.texts(name)[0].state for name in ("near", "far")}
    assert states == {"near": "accepted", "far": "queued"}
    assert post.sent(datetime(2026, 11, 26, 8, tzinfo=DELHI)) == 2


def test_a_number_at_which_nobody_is_any_more(
    village: Any, reminders: Reminders, monday: datetime
) -> None:
    village.farmer("a")
    post = Post(village, Places(Place(NAIROBI)), monday)
    for week in range(3):
        post.gateway.will_answer([Refused("unknown subscriber", nobody=True)])
        now = monday + timedelta(days=7 * week)
        assert reminders.scan(now).queued == 1
        post.sent(now + HOUR)
    later = reminders.scan(monday + timedelta(days=21))
    assert later == Scan(looked_at=1, left_out={"number_paused": 1})


def test_two_scans_at_once_queue_one_text(
    village: Any, make_reminders: Callable[..., Reminders], monday: datetime
) -> None:
    """Both look before either writes: the outbox takes the key once."""
    village.farmer("a")
    second = make_reminders()
    inner: list[Scan] = []

    def context_of_the_first(moment: datetime) -> Any:
        if not inner:
            inner.append(Scan())
            inner[0] = second.scan(monday)
        return second._contexts.context_for(moment)

    first = make_reminders(context_for=context_of_the_first)
    done = first.scan(monday)
    assert inner == [Scan(looked_at=1, queued=1)]
    assert replace(done, before=0) == Scan(looked_at=1)
    assert len(village.texts("a")) == 1
