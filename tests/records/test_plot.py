"""Two conversations about one plot each bring their own changes only."""

from __future__ import annotations

from service.records import with_changes


def test_only_what_changed_is_carried_over() -> None:
    kept = {"tank": 1000, "crop": "onion", "soil": "clay"}
    before = {"tank": 500, "crop": "tomato"}
    after = {"tank": 500, "crop": "maize", "stand": 2}
    expected = {"tank": 1000, "crop": "maize", "soil": "clay", "stand": 2}
    assert with_changes(kept, before, after) == expected


def test_what_was_taken_back_goes() -> None:
    assert with_changes({"a": 1, "b": 2}, {"a": 1}, {}) == {"b": 2}


def test_none_and_absent_differ() -> None:
    assert with_changes({}, {}, {"a": None}) == {"a": None}
    assert with_changes({}, {"a": None}, {"a": None}) == {}
