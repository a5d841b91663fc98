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
    recent, line = Recent(), Line()
    assert taken(recent, line, 0.0, 0.1) != key(recent, line, 8.0)


def test_without_our_answer_it_is_the_same_again() -> None:
    recent, line = Recent(), Line()
    first = recent.look("a", line, 0.0, WALL)
    again = recent.look("a", Line(), 3.0, WALL)
    assert again.key == first.key
    assert (first.again, again.again, again.kept) == (False, True, False)


def test_what_came_before_our_answer_left_is_the_same_again() -> None:
    recent, line = Recent(), Line()
    assert taken(recent, line, 0.0, 2.0) == key(recent, line, 1.5)


def test_an_answer_that_took_long_may_have_been_too_late() -> None:
    recent, line = Recent(), Line()
    first = taken(recent, line, 0.0, 20.0)
    assert recent.look("a", line, 21.0, WALL) == (first, True, True)


def test_over_a_new_line_it_is_the_same_again_unless_the_answer_must_have_arrived() -> None:
    recent, lost, proven = Recent(), Line(heard_up_to=0.05), Line(heard_up_to=4.0)
    first = taken(recent, lost, 0.0, 0.1)
    assert key(recent, Line(), 6.0) == first
    recent.acknowledged("a", proven, 6.1)
    assert key(recent, Line(), 8.0) == first
    recent.acknowledged("a", proven, 8.1)
    proven.heard_up_to = 9.0
    assert key(recent, Line(), 12.0) != first


def test_after_the_window_it_is_a_new_message() -> None:
    recent, line = Recent(), Line()
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
    assert key(Recent(), Line(), 1.0) == key(Recent(), Line(), 80.0)
    assert key(Recent(), Line(), 1.0) != key(Recent(), Line(), 91.0)


def test_keys_of_one_stretch_never_repeat() -> None:
    recent, line = Recent(), Line()
    keys = [taken(recent, line, at, at + 0.1) for at in range(0, 80, 5)]
    assert len(set(keys)) == len(keys)


def test_old_ones_are_forgotten() -> None:
    recent = Recent()
    for at in range(1_000):
        key(recent, Line(), float(at), f"print {at}")
    assert len(recent._seen) <= 91
