"""Watering and upkeep as iCalendar, read back by the library and held to RFC 5545."""

import datetime
from itertools import pairwise

import pytest
from dateutil.rrule import rrulestr
from icalendar import Calendar

from service.advice import plan
from service.sizing.calendar import calendar_entries, icalendar_text
from service.sizing.card import read_card
from service.sizing.cases import plantings
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
