"""Which deliveries are earlier ones again."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

import pytest

from service.gateways.smpp.codec import Address, MessageBody
from service.gateways.smpp.recent import Recent, fingerprint

WALL = datetime(2026, 11, 25, 9, 0, tzinfo=UTC)


@dataclass
class Line:
    heard_up_to: float = 0.0


def key(recent: Recent, line: Line, at: float, print_: str = "a") -> str:
    return recent.look(print_, line, at, WALL + timedelta(seconds=at)).key


def taken(recent: Recent, line: Line, at: float, acknowledged_at: float) -> str:
    found = key(recent, line, at)
    recent.kept("a")
    recent.acknowledged("a", line, acknowledged_at)
    return found


def test_the_same_words_after_a_prompt_answer_on_one_line_are_a_new_message() -> None:
    """Somebody answers "2" to two questions in a row."""
    recent, line = Recent(0.0), Line()
    assert taken(recent, line, 0.0, 0.1) != key(recent, line, 8.0)


def test_without_our_answer_it_is_the_same_again() -> None:
    recent, line = Recent(0.0), Line()
    first = recent.look("a", line, 0.0, WALL)
    again = recent.look("a", Line(), 3.0, WALL)
    assert again.key == first.key
    assert (first.again, again.again, again.kept) == (False, True, False)


def test_what_came_before_our_answer_left_is_the_same_again() -> None:
    recent, line = Recent(0.0), Line()
    assert taken(recent, line, 0.0, 2.0) == key(recent, line, 1.5)


def test_an_answer_that_took_long_may_have_been_too_late() -> None:
    recent, line = Recent(0.0), Line()
    first = taken(recent, line, 0.0, 20.0)
    assert recent.look("a", line, 21.0, WALL) == (first, True, True)


def test_over_a_new_line_it_is_the_same_again_unless_the_answer_must_have_arrived() -> None:
    recent, lost, proven = Recent(0.0), Line(heard_up_to=0.05), Line(heard_up_to=4.0)
    first = taken(recent, lost, 0.0, 0.1)
    assert key(recent, Line(), 6.0) == first
    recent.acknowledged("a", proven, 6.1)
    assert key(recent, Line(), 8.0) == first
    recent.acknowledged("a", proven, 8.1)
    proven.heard_up_to = 9.0
    assert key(recent, Line(), 12.0) != first


def test_after_the_window_it_is_a_new_message() -> None:
    recent, line = Recent(0.0), Line()
    assert key(recent, line, 0.0) != key(recent, Line(), 91.0)


def test_other_words_and_other_phones_are_other_messages() -> None:
    def print_(**changes: object) -> str:
        given = {"source": Address(1, 1, "10005550101"), "short_message": b"2"}
        return fingerprint("smpp", MessageBody(**(given | changes)))  # type: ignore[arg-type]

    prints = {
        print_(),
        print_(short_message=b"3"),
        print_(source=Address(1, 1, "10005550102")),
        print_(tlvs=((0x020C, b"\x00\x01"),)),
        print_(tlvs=((0x1383, b"\x2a\x02"),)),
        fingerprint("other", MessageBody(short_message=b"2")),
    }
    assert len(prints) == 6
    # What a centre may count up from one try to the next makes no difference.
    assert print_(tlvs=((0x1403, b"2nd try"),)) == print_()


def test_a_new_process_gives_the_same_key_within_a_stretch_of_time() -> None:
    """WALL begins a stretch of 90 s: 1 795 597 200 is a multiple of 90."""
    assert WALL.timestamp() % 90 == pytest.approx(0)
    assert key(Recent(0.0), Line(), 1.0) == key(Recent(0.0), Line(), 80.0)
    assert key(Recent(0.0), Line(), 1.0) != key(Recent(0.0), Line(), 91.0)


def test_keys_of_one_stretch_never_repeat() -> None:
    recent, line = Recent(0.0), Line()
    keys = [taken(recent, line, at, at + 0.1) for at in range(0, 80, 5)]
    assert len(set(keys)) == len(keys)


def test_an_earlier_process_is_asked_for_what_may_have_come_before() -> None:
    """The text came in the stretch before: its key is found, and it is that one again."""
    before = key(Recent(0.0), Line(), 85.0)
    recent, wall = Recent(95.0), WALL + timedelta(seconds=96)
    keys = recent.earlier_keys("a", 96.0, wall)
    assert before in keys
    assert keys.index(before) > keys.index(key(Recent(0.0), Line(), 96.0))
    recent.remember("a", before, 96.0)
    assert recent.look("a", Line(), 96.0, wall) == (before, True, True)
    assert recent.earlier_keys("a", 97.0, wall) == ()


def test_the_third_of_one_stretch_is_counted_on_after_a_restart() -> None:
    recent, line = Recent(10.0), Line()
    recent.remember("a", "a:19951080:2", 11.0)
    stretch = WALL + timedelta(seconds=11)
    first = recent.look("a", line, 11.0, stretch).key
    recent.acknowledged("a", line, 11.1)
    assert (first, recent.look("a", line, 20.0, stretch).key) == ("a:19951080:2", "a:19951080:3")


def test_a_process_that_has_run_for_a_stretch_knows_by_itself() -> None:
    assert Recent(0.0).earlier_keys("a", 90.0, WALL)
    assert Recent(0.0).earlier_keys("a", 90.1, WALL) == ()


def test_old_ones_are_forgotten() -> None:
    recent = Recent(0.0)
    for at in range(1_000):
        key(recent, Line(), float(at), f"print {at}")
    assert len(recent._seen) <= 91
