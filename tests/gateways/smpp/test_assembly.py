"""Long inbound texts, put together from their parts."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from itertools import permutations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.gateways.smpp.assembly import MemoryShelf, ShelfFull, is_whole, put_together
from service.gateways.smpp.ports import InboundPart

NOW = datetime(2026, 11, 25, 9, 0, tzinfo=UTC)


def part(number: int, total: int = 3, seconds: float = 0.0, **more: object) -> InboundPart:
    given = {"source": "+10005550101", "destination": "123", "reference": 7}
    at = NOW + timedelta(seconds=seconds)
    return InboundPart(  # type: ignore[arg-type]
        **(given | more), total=total, number=number, text=f"<{number}>", received_at=at
    )


def test_any_order_gives_one_text_and_one_key() -> None:
    whole = [part(number, seconds=number) for number in (1, 2, 3)]
    found = {put_together(order) for order in permutations(whole)}
    assert len(found) == 1
    [sms] = found
    assert (sms.text, sms.received_at) == ("<1><2><3>", NOW + timedelta(seconds=1))


@pytest.mark.parametrize(
    ("numbers", "text"),
    [((1, 3), "<1> <3>"), ((2,), " <2>"), ((1,), "<1>"), ((2, 3), " <2><3>"), ((1, 2), "<1><2>")],
)
def test_a_gap_reads_as_a_space(numbers: tuple[int, ...], text: str) -> None:
    parts = [part(number) for number in numbers]
    assert not is_whole(parts)
    assert put_together(parts).text == text


def test_a_part_again_is_kept_once_and_changes_no_key() -> None:
    shelf = MemoryShelf()
    shelf.put(part(1))
    before = put_together(shelf.put(part(2, seconds=2)))
    again = shelf.put(part(1, seconds=60))
    assert len(again) == 2
    assert put_together(again) == before


def test_overdue_is_counted_from_the_first_part() -> None:
    shelf = MemoryShelf()
    shelf.put(part(1))
    shelf.put(part(2, seconds=500))
    shelf.put(part(1, reference=8, seconds=300))
    [overdue] = shelf.overdue(NOW + timedelta(seconds=200))
    assert {one.reference for one in overdue} == {7}
    shelf.clear(overdue[0].message)
    shelf.clear(overdue[0].message)
    assert shelf.overdue(NOW + timedelta(seconds=200)) == ()


def test_a_full_shelf_still_takes_parts_of_texts_that_it_holds(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr("service.gateways.smpp.assembly.MOST_TEXTS", 1)
    shelf = MemoryShelf()
    shelf.put(part(1))
    assert len(shelf.put(part(2))) == 2
    with pytest.raises(ShelfFull):
        shelf.put(part(1, reference=8))


@given(st.permutations(range(1, 6)), st.lists(st.integers(1, 5), max_size=5))
def test_whole_exactly_when_every_part_is_there(order: list[int], again: list[int]) -> None:
    shelf = MemoryShelf()
    for place, number in enumerate(order, start=1):
        parts = shelf.put(part(number, total=5))
        for repeated in again:
            if repeated in order[:place]:
                parts = shelf.put(part(repeated, total=5))
        assert is_whole(parts) == (place == 5)
    assert put_together(parts).text == "<1><2><3><4><5>"
