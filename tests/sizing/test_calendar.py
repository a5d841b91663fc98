"""Watering and upkeep as iCalendar, read back by the library and held to RFC 5545."""

import datetime
import time
from itertools import pairwise

import pytest
from dateutil.rrule import rrulestr
from icalendar import Calendar

from service.advice import plan
from service.sizing.calendar import calendar_entries, icalendar_text
from service.sizing.card import read_card
from service.sizing.cases import Planting, plantings
from service.sizing.plain import plain_english
from service.sizing.tables import standard_tables

TABLES = standard_tables()
TODAY = datetime.date(2026, 11, 25)
STAMP = datetime.datetime(2026, 11, 25, 12, 0, tzinfo=datetime.UTC)


def entries(crop="tomato", planted="2026-10-01", climate=5.0, today=TODAY):
    card = read_card(
        {
            "plot": {"length_m": 20, "width_m": 20},
            "tank": {"volume_l": 500},
            "stand_height_m": 2.5,
            "climate": {"eto_mm_day": climate},
            **({} if crop is None else {"crop": crop, "planting_date": planted}),
        }
    )
    made = plan(card, TABLES, today=today)
    return made, calendar_entries(made, plantings(card, TABLES, today), today)


def text(found, plot="a plot"):
    return icalendar_text(found, plot, STAMP, plain_english)


@pytest.fixture(scope="module")
def tomato():
    return entries()


@pytest.fixture(scope="module")
def events(tomato):
    return Calendar.from_ical(text(tomato[1])).walk("VEVENT")


def days(event):
    start = event.decoded("dtstart")
    if not isinstance(start, datetime.datetime):
        start = datetime.datetime.combine(start, datetime.time())
    if "rrule" not in event:
        return [start.date()]
    rule = event["rrule"].to_ical().decode()
    return [when.date() for when in rrulestr(rule, dtstart=start)]


def watering(events):
    return [event for event in events if event["uid"].startswith("water")]


def test_every_day_from_today_to_the_last_picking_is_watered_once(events):
    """Tomato of 1 October: 135 days (FAO-56 Table 11), so to 12 February."""
    found = sorted(day for event in watering(events) for day in days(event))
    last = datetime.date(2026, 10, 1) + datetime.timedelta(days=134)
    assert last == datetime.date(2027, 2, 12)
    expected = [TODAY + datetime.timedelta(days=n) for n in range((last - TODAY).days + 1)]
    assert found == expected


def test_minutes_are_those_of_the_plans_month(tomato, events):
    rows = {(row.year, row.month): row for row in tomato[0].watering}
    for event in watering(events):
        start = event.decoded("dtstart")
        minutes = event.decoded("duration").total_seconds() / 60
        assert minutes == pytest.approx(rows[start.year, start.month].minutes_per_day, abs=0.5)
        assert start.time() == datetime.time(6, 0)


def test_upkeep_comes_round_at_its_intervals(events):
    by_key = {event["uid"].split("-")[0]: event for event in events}
    for key, gap in (("weekly", 7), ("flush", 15), ("tank", 30)):
        found = days(by_key[key])
        assert found[0] == TODAY + datetime.timedelta(days=gap)
        assert {(b - a).days for a, b in pairwise(found)} == {gap}


def test_a_season_begun_already_has_no_start_but_an_end(events):
    uids = [event["uid"] for event in events]
    assert not any(uid.startswith("season-start") for uid in uids)
    (end,) = [event for event in events if event["uid"].startswith("season-end")]
    assert end.decoded("dtstart") == datetime.date(2027, 2, 12)


def test_a_season_to_come_begins_with_a_flush():
    _, found = entries(planted="2026-12-24")
    assert found[0].key == "season-start"
    assert found[0].first == datetime.date(2026, 12, 24)
    assert min(e.first for e in found if e.key.startswith("water")) == datetime.date(2026, 12, 24)


def test_trees_are_shown_for_a_year_and_their_lines_stay():
    _, found = entries("citrus", "2020-05-05")
    assert max(entry.last for entry in found) == datetime.date(2027, 11, 24)
    assert not any(entry.key == "season-end" for entry in found)


@pytest.mark.parametrize("today", [TODAY, datetime.date(2026, 12, 1)])
def test_a_tree_is_watered_on_every_day_of_that_year(today):
    """Also in what is left of the month in which the year began."""
    _, found = entries("citrus", "2020-05-05", today=today)
    water = sorted((e.first, e.last) for e in found if e.key.startswith("water"))
    assert water[0][0] == today
    assert water[-1][1] == today + datetime.timedelta(days=364)
    assert all(
        after[0] - before[1] == datetime.timedelta(days=1) for before, after in pairwise(water)
    )
    assert len({e.key for e in found if e.key.startswith("water")}) == len(water)


def test_a_month_that_rain_waters_has_no_entry():
    """Dependable rain of 240 mm is 168 mm (0.8 P - 24), above 1.15 x 3 mm a day."""
    card_months = [3.0] * 12
    _, dry = entries(climate=card_months)
    card = read_card(
        {
            "plot": {"length_m": 20, "width_m": 20}, "tank": {"volume_l": 500},
            "stand_height_m": 2.5, "crop": "tomato", "planting_date": "2026-10-01",
            "climate": {"eto_mm_day": 3.0, "rain_mm_day": [8.0, *[0.0] * 11]},
        }
    )  # fmt: skip
    made = plan(card, TABLES, today=TODAY)
    wet = calendar_entries(made, plantings(card, TABLES, TODAY), TODAY)
    gone = {entry.key for entry in dry} - {entry.key for entry in wet}
    assert gone == {"water-2027-01"}


@pytest.mark.parametrize("crop", [None, "tomato"])
def test_without_a_growing_crop_there_is_nothing(crop):
    assert entries(crop, "2025-01-01")[1] == ()


def test_lines_are_folded_and_end_as_the_standard_says(tomato):
    """RFC 5545, 3.1: CRLF, at most 75 octets a line."""
    raw = text(tomato[1])
    assert raw.startswith(b"BEGIN:VCALENDAR\r\n")
    assert raw.endswith(b"END:VCALENDAR\r\n")
    assert b"\n" not in raw.replace(b"\r\n", b"")
    assert max(len(line) for line in raw.split(b"\r\n")) <= 75


def test_each_event_has_what_the_standard_asks_for(events):
    """RFC 5545, 3.6.1 and 3.3.10: uid and dtstamp; until of the same kind as dtstart."""
    assert len({event["uid"] for event in events}) == len(events)
    for event in events:
        assert event.decoded("dtstamp") == STAMP
        assert event["summary"]
        if "rrule" in event:
            (until,) = event["rrule"]["UNTIL"]
            assert type(until) is type(event.decoded("dtstart"))


def test_the_same_plot_keeps_its_ids_and_another_has_others(tomato):
    def ids(plot):
        return {event["uid"] for event in Calendar.from_ical(text(tomato[1], plot)).walk("VEVENT")}

    assert ids("one") == ids("one")
    assert not ids("one") & ids("two")


def test_cautions_stand_in_the_entry_of_tank_and_stand(events):
    (tank,) = [event for event in events if event["uid"].startswith("tank")]
    assert "everybody away" in tank["description"]


def one_watering(tomato, **row):
    """The event of December's watering, with these figures in the plan."""
    december = tomato[0].watering[2].model_copy(update=row)
    made = tomato[0].model_copy(update={"watering": (december,)})
    planted = Planting(TABLES.crop("tomato"), None, 1.0, datetime.date(2026, 10, 1), False)
    found = calendar_entries(made, [planted], TODAY)
    (event,) = watering(Calendar.from_ical(text(found)).walk("VEVENT"))
    return event


@pytest.mark.parametrize(
    ("litres", "minutes", "fills", "summary", "first_line"),
    [
        # To the ten below 1000 L and to the hundred above; minutes to five; fills to one decimal.
        (994, 42.6, 2.26, "valve open about 45 min", "About 990 L, 2.3 x the tank."),
        (1060, 42.4, 1.96, "valve open about 40 min", "About 1100 L, 2 x the tank."),
        # A valve is not told to be open for no minutes, nor for two.
        (12, 2.0, 0.12, "valve open about 5 min", "About 10 L, 0.1 x the tank."),
        # A bed of a square metre: to the litre, and never none.
        (4.4, 90.0, 0.01, "valve open about 90 min", "About 4 L, 0.1 x the tank."),
        (0.3, 90.0, 0.0, "valve open about 90 min", "About 1 L, 0.1 x the tank."),
        # A tank too low to bring the litres has no minutes.
        (994, None, 2.26, "about 990 L", "About 990 L, 2.3 x the tank."),
    ],
)
def test_figures_are_told_as_roughly_as_they_can_be_kept(
    tomato, litres, minutes, fills, summary, first_line
):
    row = {"gross_l_day": litres, "minutes_per_day": minutes, "fills_per_day": fills}
    event = one_watering(tomato, **row)
    assert event["summary"] == f"Water the plot: {summary}"
    assert event["description"].split("\n")[0] == first_line
    assert "Dig first" in event["description"]


def test_watering_without_minutes_lasts_no_hour_of_the_day(tomato):
    timed = one_watering(tomato, minutes_per_day=0.3)
    assert timed.decoded("duration") == datetime.timedelta(minutes=1)
    assert "transp" not in timed
    all_day = one_watering(tomato, minutes_per_day=None)
    assert type(all_day.decoded("dtstart")) is datetime.date
    assert all_day["transp"] == "TRANSPARENT"
    assert "duration" not in all_day


def told(event):
    return event.decoded("dtstart"), str(event["summary"]), event["description"].split("\n")


def test_what_is_told_on_which_day_and_with_what_words():
    """Planted on 24 December: the first rounds 7, 15 and 30 days on, the last picking 134."""
    _, found = entries(planted="2026-12-24")
    events = Calendar.from_ical(text(found)).walk("VEVENT")
    upkeep = [event for event in events if event not in watering(events)]
    planting = datetime.date(2026, 12, 24)
    after = {days: planting + datetime.timedelta(days=days) for days in (7, 15, 30, 134)}
    assert [told(event)[:2] for event in upkeep] == [
        (planting, "Before the first watering: flush"),
        (after[7], "Filter and lines"),
        (after[15], "Flush the lines"),
        (after[30], "Tank and stand"),
        (after[134], "End of the crop: put the lines away"),
    ]
    # Dirt must leave the main pipe before the lines are opened, else it is driven into them.
    start, weekly, flush, tank, end = (told(event)[2] for event in upkeep)
    assert start[0].index("main pipe first") < start[0].index("lines")
    assert [len(lines) for lines in (start, weekly, flush, tank, end)] == [1, 2, 1, 2, 2]
    assert "river or pond" in weekly[0]
    assert "dry drippers" in weekly[1]
    assert "until the water is clear" in flush[0]
    assert "strap sound" in tank[0]
    assert "everybody away" in tank[1]
    assert "away from rats and fire" in end[0]
    assert "from children" in end[1]
    assert all(event["transp"] == "TRANSPARENT" for event in upkeep)
    # What is done once does not come round.
    assert ["rrule" in event for event in upkeep] == [False, True, True, True, False]


def test_planted_today_begins_with_a_flush_today():
    _, found = entries(planted=TODAY.isoformat())
    assert {entry.key for entry in found if entry.first == TODAY} == {
        "season-start",
        "water-2026-11",
    }


def test_on_the_day_of_the_last_picking_all_is_done_once_more():
    """135 days from 1 October end on 12 February: watered that day, and on the next no more."""
    last = datetime.date(2027, 2, 12)
    _, found = entries(today=last)
    assert {entry.key for entry in found} == {
        "water-2027-02", "weekly", "flush", "tank", "season-end"
    }  # fmt: skip
    events = Calendar.from_ical(text(found)).walk("VEVENT")
    assert all(days(event) == [last] for event in events)
    assert not any("rrule" in event for event in events)
    assert entries(today=last + datetime.timedelta(days=1))[1] == ()


def test_a_crop_that_grows_in_and_then_stays_has_no_end():
    """Banana has stages (FAO-56 Table 11) but is not taken out after them."""
    _, found = entries("banana", "2026-03-01")
    assert max(entry.last for entry in found) == datetime.date(2027, 11, 24)
    assert not any(entry.key == "season-end" for entry in found)


def test_watering_can_be_told_from_upkeep_by_its_category(events):
    for event in events:
        kind = b"WATERING" if event["uid"].startswith("water") else b"UPKEEP"
        assert event["categories"].to_ical() == kind


def test_a_calendar_says_its_version_and_maker(tomato):
    """RFC 5545, 3.7.4: the version is 2.0; 3.7.3: the maker must stand there."""
    calendar = Calendar.from_ical(text(tomato[1]))
    assert calendar["version"] == "2.0"
    assert "Litreline" in calendar["prodid"]


@pytest.fixture
def clock_of_kathmandu(monkeypatch):
    monkeypatch.setenv("TZ", "Asia/Kathmandu")
    time.tzset()
    yield
    monkeypatch.undo()
    time.tzset()


@pytest.mark.usefixtures("clock_of_kathmandu")
def test_the_stamp_is_in_universal_time_whatever_the_machines_zone(tomato):
    """RFC 5545, 3.8.7.2: dtstamp in UTC. 17:45 in Nepal, 5 h 45 min ahead, is 12:00."""
    zone = datetime.timezone(datetime.timedelta(hours=5, minutes=45))
    stamp = datetime.datetime(2026, 11, 25, 17, 45, tzinfo=zone)
    made = icalendar_text(tomato[1][:1], "a plot", stamp, plain_english)
    assert b"DTSTAMP:20261125T120000Z" in made


@pytest.mark.parametrize(
    ("planted", "watered"),
    [
        # Grape grows 240 days of its year (FAO-56 Table 11): from 15 March to 9 November.
        ("2026-03-15", [(datetime.date(2027, 3, 15), datetime.date(2027, 3, 31))]),
        # From 20 December to 16 August: no day before the 20th.
        ("2026-12-20", [(datetime.date(2026, 12, 20), datetime.date(2026, 12, 31))]),
    ],
)
def test_nothing_is_watered_while_a_crop_rests(planted, watered):
    """Asked on 25 November, in the middle of the rest."""
    _, found = entries("grape", planted)
    water = [entry for entry in found if entry.key.startswith("water")]
    assert [(entry.first, entry.last) for entry in water][:1] == watered


def test_days_between_two_crops_of_a_month_are_left_out():
    """Radish of 25 days sown on 1 and kept from 25 on by onion: two entries, two names."""
    radish, onion = TABLES.crop("radish"), TABLES.crop("onion")
    stays = int(radish.stages.total)
    sown = datetime.date(2026, 12, 10) - datetime.timedelta(days=stays - 1)
    planting = [
        Planting(radish, 5, 0.5, sown, False),
        Planting(onion, 5, 0.5, datetime.date(2026, 12, 25), False),
    ]
    plan, _ = entries("radish", sown.isoformat())
    december = next(row for row in plan.watering if row.month == 12)
    made = plan.model_copy(update={"watering": (december,)})
    water = [e for e in calendar_entries(made, planting, TODAY) if e.key.startswith("water")]
    assert [(entry.key, entry.first.day, entry.last.day) for entry in water] == [
        ("water-2026-12", 1, 10),
        ("water-2026-12-2", 25, 31),
    ]
