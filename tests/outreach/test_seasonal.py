"""Seasonal messages: estimate, preview, batches, pause, cancel, the end."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from dataclasses import replace
from datetime import datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from service.advice import rounding
from service.outreach import LEFT_OUT, Place, Places, Seasonal, Wait
from service.outreach.plot_week import need_of, plot_week
from service.outreach.seasonal import PAUSE_WAIT, QUEUE_WAIT
from service.records import Audience, ConcurrentChange, Person, SeasonalMessage, Settlement

TEXTS = {
    "en": "{name}, {date}: {crop} ({stage}) in {district}: {minutes} min, {fills} x, {litres} L.",
    "sw": "{name}: dakika {minutes}.",
}
PLAIN = {"en": "Meeting on Friday at the well."}
ALL = Audience()


@pytest.fixture
def make_seasonal(handed_in: dict[str, Any]) -> Callable[..., Seasonal]:
    def make(**changes: Any) -> Seasonal:
        return Seasonal(**{**handed_in, **changes})

    return make


@pytest.fixture
def seasonal(make_seasonal: Callable[..., Seasonal]) -> Seasonal:
    return make_seasonal()


@pytest.fixture
def noon(monday: datetime) -> datetime:
    return monday.replace(hour=12)


@pytest.fixture
def approved(village: Any, monday: datetime) -> Callable[..., None]:
    """Keep an approved message."""

    def approved(texts: dict[str, str] = TEXTS, **changes: Any) -> None:
        message = SeasonalMessage("m1", "Dry spell", monday, "officer", texts=texts)
        with village.unit_of_work() as work:
            work.seasonals.add(replace(message, **{"state": "approved", **changes}))
            work.commit()

    return approved


def kept(village: Any) -> SeasonalMessage:
    with village.unit_of_work() as work:
        found = work.seasonals.get("m1")
        assert found is not None
        return found


def becomes(village: Any, **changes: Any) -> None:
    with village.unit_of_work() as work:
        work.seasonals.save(replace(work.seasonals.get("m1"), **changes))
        work.commit()


def run(seasonal: Seasonal, now: datetime, cursor: str = "") -> list[str | Wait | None]:
    """Go on until there is nothing to do at this moment."""
    found: list[str | Wait | None] = []
    while True:
        done = seasonal.continue_batch("m1", cursor, now)
        found.append(done)
        if not isinstance(done, str):
            return found
        cursor = done


def send_all(village: Any, now: datetime) -> int:
    """Take everything out of the outbox."""
    with village.unit_of_work() as work:
        claimed = work.outbox.claim("test", now, now, 1000)
        for one in claimed:
            accepted = Settlement("accepted", False, now, 1, settled_at=now)
            assert work.outbox.settle(one.message.id, "test", accepted)
        work.commit()
        return len(claimed)


def why(village: Any) -> dict[str, str]:
    """What became of each plot: "queued", or why it was left out."""
    with village.unit_of_work() as work:
        rows = work.seasonals.recipients("m1", "", 1000)
    return {row.plot_id.removeprefix("p-"): row.left_out or "queued" for row, _ in rows}


# --- words ---------------------------------------------------------------------------------------


def test_the_farmers_own_numbers_are_those_of_the_weekly_text(
    village: Any, seasonal: Seasonal, approved: Callable[..., None], noon: datetime
) -> None:
    village.farmer("a")
    approved()
    run(seasonal, noon)
    (message,) = village.texts("a")
    with village.unit_of_work() as work:
        answers = work.plots.get("p-a").answers
    week = plot_week(answers, seasonal._contexts.context_for(noon))
    assert week is not None
    litres, minutes, fills = need_of(week.needs())
    assert minutes is not None
    assert fills is not None
    assert message.text == (
        "farmer, 23 Nov: Tomato (growing) in Kotsindo: "
        f"{rounding.minutes(minutes).value:.0f} min, {rounding.fills(fills).value:.1f} x, "
        f"{rounding.litres(litres).value:.0f} L."
    )
    assert (message.kind, message.batch) == ("seasonal", "m1")
    assert message.dedupe_key == "seasonal:m1:p-a"


def test_name_and_language(
    village: Any, seasonal: Seasonal, approved: Callable[..., None], noon: datetime
) -> None:
    village.farmer("a", language="sw")
    with village.unit_of_work() as work:
        work.people.add(Person("person", "f-a", "Amina", noon))
        plot = work.plots.get("p-a")
        work.plots.save(replace(plot, person_id="person"))
        work.commit()
    approved()
    run(seasonal, noon)
    (message,) = village.texts("a")
    assert message.text.startswith("Amina: dakika ")
    assert message.language == "sw"


def test_who_is_left_out_and_why(
    village: Any,
    seasonal: Seasonal,
    approved: Callable[..., None],
    noon: datetime,
    laid: dict[str, object],
) -> None:
    village.farmer("a")
    village.farmer("never asked", consent=None)
    village.farmer("stopped", consent=False)
    village.farmer("page", number="handset:abc")
    village.farmer("no plot", answers={"crop": "tomato"})
    village.farmer("over", answers={**laid, "weeks_since_planting": 30})
    village.farmer("young", answers={**laid, "weeks_since_planting": 1})
    approved(audience=Audience(stages=("development", "none")))
    run(seasonal, noon)
    assert why(village) == {
        "a": "queued",
        "never asked": "no_consent",
        "stopped": "no_consent",
        "page": "no_number",
        "no plot": "no_plan",
        "over": "season_over",
        "young": "other_stage",
    }
    assert (kept(village).planned, kept(village).skipped) == (1, 6)
    assert set(why(village).values()) <= {*LEFT_OUT, "queued"}


def test_a_text_without_places_needs_no_plot(
    village: Any, seasonal: Seasonal, approved: Callable[..., None], noon: datetime
) -> None:
    village.farmer("a", answers={"crop": "tomato"})
    approved(PLAIN)
    run(seasonal, noon)
    assert village.texts("a")[0].text == PLAIN["en"]


def test_minutes_that_cannot_be_told_leave_somebody_out(
    village: Any,
    seasonal: Seasonal,
    approved: Callable[..., None],
    noon: datetime,
    laid: dict[str, object],
) -> None:
    # Nearly all of the plot lies above the tank: a day is too short for a day's water.
    uphill = {"stand_height_m": 0.2, "rise_along_length_m": 2, "rise_along_width_m": 1}
    village.farmer("a", answers={**laid, **uphill})
    approved()
    run(seasonal, noon)
    assert why(village) == {"a": "no_minutes"}


def test_senseless_answers_stop_nobody_elses_message(
    village: Any,
    seasonal: Seasonal,
    approved: Callable[..., None],
    noon: datetime,
    laid: dict[str, object],
) -> None:
    village.farmer("a", answers={**laid, "weeks_since_planting": "some"})
    village.farmer("b", language="xx")
    approved()
    run(seasonal, noon)
    assert why(village) == {"a": "broken_answers", "b": "queued"}
    assert village.texts("b")[0].language == "en"


# --- batches -------------------------------------------------------------------------------------


def test_batches_go_on_where_the_last_one_ended(
    village: Any,
    make_seasonal: Callable[..., Seasonal],
    approved: Callable[..., None],
    noon: datetime,
) -> None:
    for number in range(5):
        village.farmer(f"n{number}")
    approved()
    seasonal = make_seasonal(batch=2)
    done = run(seasonal, noon)
    assert done == ["p-n1", "p-n3", "p-n4", Wait(noon + QUEUE_WAIT, "sending")]
    assert kept(village).state == "running"
    assert send_all(village, noon) == 5
    assert run(seasonal, noon, "p-n4") == [None]
    assert kept(village).state == "done"
    assert seasonal.continue_batch("m1", "p-n4", noon) is None
    assert all(len(village.texts(f"n{number}")) == 1 for number in range(5))


def test_a_batch_that_was_kept_is_not_queued_again(
    village: Any,
    make_seasonal: Callable[..., Seasonal],
    approved: Callable[..., None],
    noon: datetime,
) -> None:
    """Whoever ran it died after the transaction, and begins again with the cursor it knows."""
    for number in range(4):
        village.farmer(f"n{number}")
    approved()
    seasonal = make_seasonal(batch=2)
    assert seasonal.continue_batch("m1", "", noon) == "p-n1"
    assert seasonal.continue_batch("m1", "", noon) == "p-n1"
    assert (kept(village).planned, kept(village).cursor) == (2, "p-n1")


def test_two_at_the_same_batch(
    village: Any,
    make_seasonal: Callable[..., Seasonal],
    approved: Callable[..., None],
    noon: datetime,
) -> None:
    for number in range(4):
        village.farmer(f"n{number}")
    approved()
    second = make_seasonal(batch=2)

    def in_between(moment: datetime) -> Any:
        if kept(village).cursor == "":
            assert second.continue_batch("m1", "", noon) == "p-n1"
        return second._contexts.context_for(moment)

    first = make_seasonal(batch=2, context_for=in_between)
    with pytest.raises(ConcurrentChange):
        first.continue_batch("m1", "", noon)
    run(make_seasonal(batch=2), noon)
    assert [len(village.texts(f"n{number}")) for number in range(4)] == [1, 1, 1, 1]
    assert kept(village).planned == 4


def test_planning_never_runs_far_ahead_of_sending(
    village: Any,
    make_seasonal: Callable[..., Seasonal],
    approved: Callable[..., None],
    noon: datetime,
) -> None:
    for number in range(9):
        village.farmer(f"n{number}")
    approved(PLAIN)
    seasonal = make_seasonal(batch=2, most_waiting=3)
    assert run(seasonal, noon) == ["p-n1", "p-n2", Wait(noon + QUEUE_WAIT, "queue_full")]
    assert send_all(village, noon) == 3
    assert run(seasonal, noon, "p-n2")[:-1] == ["p-n4", "p-n5"]


def test_states_in_which_nothing_is_queued(
    village: Any, seasonal: Seasonal, approved: Callable[..., None], noon: datetime
) -> None:
    village.farmer("a")
    approved(state="draft")
    for state in ("draft", "waiting", "cancelled", "done"):
        becomes(village, state=state)
        assert seasonal.continue_batch("m1", "", noon) is None
    becomes(village, state="paused")
    assert seasonal.continue_batch("m1", "", noon) == Wait(noon + PAUSE_WAIT, "paused")
    assert seasonal.continue_batch("nobody", "", noon) is None
    assert village.texts("a") == []


def test_it_does_not_start_before_its_moment(
    village: Any, seasonal: Seasonal, approved: Callable[..., None], noon: datetime
) -> None:
    village.farmer("a")
    start = noon + timedelta(days=1)
    approved(starts_at=start)
    assert seasonal.continue_batch("m1", "", noon) == Wait(start, "not_yet")
    assert seasonal.continue_batch("m1", "", start) == "p-a"


def test_at_night_the_text_waits_for_the_morning(
    village: Any, make_seasonal: Callable[..., Seasonal], approved: Callable[..., None]
) -> None:
    village.farmer("a")
    approved()
    nairobi = ZoneInfo("Africa/Nairobi")
    # Saturday night, and Sunday is quiet.
    run(make_seasonal(), datetime(2026, 11, 28, 22, tzinfo=nairobi))
    (message,) = village.texts("a")
    assert message.not_before == datetime(2026, 11, 30, 8, tzinfo=nairobi)
    assert ", 30 Nov:" in message.text


def test_a_pause_and_going_on(
    village: Any,
    make_seasonal: Callable[..., Seasonal],
    approved: Callable[..., None],
    noon: datetime,
) -> None:
    for number in range(4):
        village.farmer(f"n{number}")
    approved()
    seasonal = make_seasonal(batch=2)
    assert seasonal.continue_batch("m1", "", noon) == "p-n1"
    becomes(village, state="paused")
    assert seasonal.continue_batch("m1", "p-n1", noon) == Wait(noon + PAUSE_WAIT, "paused")
    assert send_all(village, noon) == 0
    becomes(village, state="running")
    assert send_all(village, noon) == 2
    assert run(seasonal, noon, "p-n1")[0] == "p-n3"


def test_cancelled_half_way(
    village: Any,
    make_seasonal: Callable[..., Seasonal],
    approved: Callable[..., None],
    noon: datetime,
) -> None:
    for number in range(4):
        village.farmer(f"n{number}")
    approved()
    seasonal = make_seasonal(batch=2)
    seasonal.continue_batch("m1", "", noon)
    becomes(village, state="cancelled")
    with village.unit_of_work() as work:
        assert work.seasonals.cancel_queued("m1", noon, "cancelled by an officer") == 2
        work.commit()
    assert seasonal.continue_batch("m1", "p-n1", noon) is None
    assert send_all(village, noon) == 0


def test_how_far_it_has_come(
    village: Any,
    make_seasonal: Callable[..., Seasonal],
    approved: Callable[..., None],
    noon: datetime,
) -> None:
    for number in range(4):
        village.farmer(f"n{number}", consent=number != 1)
    approved()
    seasonal = make_seasonal(batch=3)
    assert seasonal.progress("nobody") is None
    seasonal.continue_batch("m1", "", noon)
    progress = seasonal.progress("m1")
    assert progress is not None
    assert (progress.state, progress.plots) == ("running", 4)
    assert (progress.planned, progress.skipped, progress.waiting) == (2, 1, 2)
    assert progress.counts == {"queued": 2, "left_out": 1}


# --- estimate and preview -------------------------------------------------------------------------


def test_a_small_audience_is_counted_to_the_last(
    village: Any, seasonal: Seasonal, noon: datetime
) -> None:
    for number in range(6):
        village.farmer(f"n{number}", consent=number != 1, language="sw" if number == 2 else "en")
    texts = {"en": "long " * 40, "sw": "fupi"}
    found = seasonal.estimate(
        ALL, texts, noon, rate_per_second=0.5, allowed_hours=11, price_per_part=0.02
    )
    assert (found.plots, found.recipients, found.parts) == (6, 5, 9)
    assert found.left_out == {"no_consent": 1}
    assert found.hours == pytest.approx(9 / 0.5 / 3600)
    assert found.cost == pytest.approx(0.18)
    assert (found.fits, found.exact, found.looked_at) == (True, True, 6)


def test_too_many_for_the_hours_of_the_day(
    village: Any, seasonal: Seasonal, noon: datetime
) -> None:
    for number in range(5):
        village.farmer(f"n{number}")
    # Five parts at one in a thousand seconds: 1.39 h.
    slow = seasonal.estimate(ALL, PLAIN, noon, rate_per_second=0.001, allowed_hours=1.38)
    assert not slow.fits
    assert slow.cost is None
    assert seasonal.estimate(ALL, PLAIN, noon, rate_per_second=0.001, allowed_hours=1.39).fits


def test_what_was_estimated_is_what_is_queued(
    village: Any,
    seasonal: Seasonal,
    approved: Callable[..., None],
    noon: datetime,
    laid: dict[str, object],
) -> None:
    for number in range(8):
        told = {**laid, "weeks_since_planting": 3 * number, "laid_lines": 5 + number}
        village.farmer(f"n{number}", answers=told, consent=number != 5)
    found = seasonal.estimate(ALL, TEXTS, noon, rate_per_second=1, allowed_hours=1)
    approved()
    run(seasonal, noon)
    queued = [message for number in range(8) for message in village.texts(f"n{number}")]
    assert found.recipients == len(queued) == kept(village).planned
    assert found.parts == sum(message.parts for message in queued)
    left_out = Counter(reason for reason in why(village).values() if reason != "queued")
    assert found.left_out == left_out


def test_a_large_audience_is_sampled_and_says_so(
    village: Any, seasonal: Seasonal, noon: datetime
) -> None:
    for number in range(40):
        village.farmer(f"{number * 6:02x}", consent=number % 2 == 0)

    def found(seed: int) -> Any:
        return seasonal.estimate(
            ALL, PLAIN, noon, rate_per_second=1, allowed_hours=1, exact_up_to=20, seed=seed
        )

    assert found(1) == found(1)
    assert (found(1).exact, found(1).looked_at, found(1).plots) == (False, 20, 40)
    assert found(1).recipients + sum(found(1).left_out.values()) == 40
    for seed in range(20):
        assert 16 <= found(seed).recipients <= 24


def test_nobody_to_write_to(village: Any, seasonal: Seasonal, noon: datetime) -> None:
    found = seasonal.estimate(ALL, PLAIN, noon, rate_per_second=1, allowed_hours=1)
    assert (found.plots, found.recipients, found.hours, found.fits) == (0, 0, 0.0, True)
    with pytest.raises(ValueError, match="sends nothing"):
        seasonal.estimate(ALL, PLAIN, noon, rate_per_second=0, allowed_hours=1)


def test_a_preview_shows_real_recipients_with_masked_numbers(
    village: Any, seasonal: Seasonal, noon: datetime
) -> None:
    for number in range(6):
        village.farmer(f"n{number}", consent=number < 3)
    found = seasonal.preview(ALL, TEXTS, 2, noon, seed=3)
    assert len(found) == 2
    assert len({each.number for each in found}) == 2
    for each in found:
        assert each.text.startswith("farmer, 23 Nov: Tomato")
        assert "***" in each.number
        assert "555" not in each.number.replace("***", "")[:-3]
    assert len(seasonal.preview(ALL, TEXTS, 10, noon)) == 3


def test_texts_are_checked_against_the_usual_language(seasonal: Seasonal) -> None:
    assert [each.language for each in seasonal.check({"sw": "habari"})] == ["en", "sw"]


def test_another_zone_another_day(
    village: Any,
    make_seasonal: Callable[..., Seasonal],
    approved: Callable[..., None],
    laid: dict[str, object],
) -> None:
    auckland = ZoneInfo("Pacific/Auckland")
    places = Places(Place(ZoneInfo("Africa/Nairobi")), {"velmora": Place(auckland)})
    village.farmer("near")
    village.farmer("far", answers={**laid, "district": "velmora"})
    approved()
    run(make_seasonal(places=places), datetime(2026, 11, 25, 23, tzinfo=auckland))
    # Eleven at night there is one in the afternoon here.
    assert ", 25 Nov:" in village.texts("near")[0].text
    assert ", 26 Nov:" in village.texts("far")[0].text
