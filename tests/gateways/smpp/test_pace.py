"""How fast messages may leave, and what "too fast" does to it."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.gateways.smpp.pace import Pace


def sent_within(pace: Pace, start: float, seconds: float) -> int:
    """How many leave in a stretch of time if everybody hurries."""
    count, now = 0, start
    while (now := now + pace.wait(now)) < start + seconds:
        pace.take(now)
        count += 1
    return count


def test_a_burst_is_what_the_rate_allows_in_a_second() -> None:
    pace = Pace(20.0, 0.0)
    assert sent_within(pace, 0.0, 1e-3) == 20
    assert sent_within(pace, 1e-3, 10.0) == pytest.approx(200, abs=1)


def test_a_slow_contract_still_lets_the_first_out_at_once() -> None:
    pace = Pace(0.1, 0.0)
    assert pace.wait(0.0) == 0.0
    pace.take(0.0)
    assert pace.wait(0.0) == pytest.approx(10.0)


def test_pauses_double_to_half_a_minute() -> None:
    pace, now, pauses = Pace(10.0, 0.0), 0.0, []
    for _ in range(7):
        pace.throttled(now, sent_at=now)
        pauses.append(pace.pause_left(now))
        now += pace.pause_left(now)
    assert pauses == [1, 2, 4, 8, 16, 30, 30]


def test_a_message_taken_after_the_pause_ends_the_doubling() -> None:
    pace = Pace(10.0, 0.0)
    pace.throttled(1.0, sent_at=1.0)
    pace.throttled(3.0, sent_at=2.5)
    assert pace.pause_left(3.0) == 2.0
    pace.accepted(sent_at=2.9)
    pace.throttled(6.0, sent_at=5.5)
    assert pace.pause_left(6.0) == 4.0, "one that left before the pause proves nothing"
    pace.accepted(sent_at=10.0)
    pace.throttled(11.0, sent_at=10.5)
    assert pace.pause_left(11.0) == 1.0


def test_the_rate_halves_and_comes_back_by_a_tenth_a_minute() -> None:
    pace = Pace(40.0, 0.0)
    pace.throttled(0.0, sent_at=0.0)
    rates = [pace.rate(60.0 * minute) for minute in range(7)]
    assert rates == pytest.approx([20, 24, 28, 32, 36, 40, 40])


def test_a_window_full_of_refusals_counts_once() -> None:
    pace = Pace(40.0, 0.0)
    for late in range(10):
        pace.throttled(1.0 + late / 1000, sent_at=0.9)
    assert pace.rate(1.01) == 20.0
    assert pace.pause_left(1.0) == pytest.approx(1.0)


def test_the_rate_never_dies() -> None:
    pace, now = Pace(32.0, 0.0), 0.0
    for _ in range(50):
        pace.throttled(now, sent_at=now)
        now += 1e-3
    assert pace.rate(now) == 1.0


def test_after_the_pause_no_burst_is_let_out() -> None:
    pace = Pace(100.0, 0.0)
    pace.throttled(0.0, sent_at=0.0)
    assert sent_within(pace, 0.0, 1.0) == 0
    assert sent_within(pace, 1.0, 0.1) <= 6


@given(
    st.floats(0.2, 200.0),
    st.lists(st.tuples(st.floats(0.0, 5.0), st.booleans()), max_size=60),
)
def test_never_more_than_burst_and_rate_allow(rate: float, steps: list[tuple[float, bool]]) -> None:
    pace, now, sent = Pace(rate, 0.0), 0.0, 0
    for passed, hurried in steps:
        now += passed
        while pace.wait(now) == 0.0 and sent < 10_000:
            pace.take(now)
            sent += 1
        if hurried:
            pace.throttled(now, sent_at=now)
            assert pace.wait(now) >= 1.0
        assert sent <= max(1.0, rate) + rate * now + 1e-3
