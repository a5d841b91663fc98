"""The pace at which messages leave."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.channels import Bucket


def test_a_burst_of_a_second_then_the_rate() -> None:
    bucket = Bucket(10, now=100.0)
    assert bucket.permits(100.0) == 10
    bucket.take(10, 100.0)
    assert bucket.permits(100.0) == 0
    assert bucket.wait(100.0) == pytest.approx(0.1)
    assert bucket.permits(100.5) == 5
    assert bucket.permits(500.0) == 10


def test_a_slow_rate_still_lets_one_out() -> None:
    bucket = Bucket(0.5, now=0.0)
    assert bucket.permits(0.0) == 1
    bucket.take(1, 0.0)
    assert bucket.wait(0.0) == pytest.approx(2.0)
    assert bucket.permits(2.0) == 1


def test_too_fast_pauses_twice_as_long_each_time_and_recovers() -> None:
    bucket = Bucket(10, now=0.0)
    bucket.slow_down(0.0)
    assert bucket.permits(0.9) == 0
    assert bucket.wait(0.0) == pytest.approx(1.0)
    assert bucket.permits(1.0) > 0
    bucket.slow_down(1.0)
    assert bucket.wait(1.0) == pytest.approx(2.0)
    bucket.slow_down(1.5)
    assert bucket.wait(1.5) == pytest.approx(1.5)
    bucket.went_well(3.0)
    bucket.slow_down(3.0)
    assert bucket.wait(3.0) == pytest.approx(1.0)


def test_the_network_says_how_long() -> None:
    bucket = Bucket(10, now=0.0)
    bucket.slow_down(0.0, told=7.0)
    assert bucket.wait(0.0) == pytest.approx(7.0)
    bucket.slow_down(7.0, told=3.0)
    assert bucket.wait(7.0) == pytest.approx(3.0)
    bucket.slow_down(10.0)
    assert bucket.wait(10.0) == pytest.approx(1.0), "its pauses are no pauses of ours"


@given(st.lists(st.floats(0, 5), max_size=50), st.floats(1, 100))
def test_never_more_than_the_rate_and_one_burst(gaps: list[float], rate: float) -> None:
    bucket, now, sent = Bucket(rate, 0.0), 0.0, 0
    for gap in gaps:
        now += gap
        permits = bucket.permits(now)
        bucket.take(permits, now)
        sent += permits
    assert sent <= rate * now + rate + 1e-6
