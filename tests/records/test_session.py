"""What a step is to a session: new, repeated, changed or late."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from service.records import Phone, Session, Step, require_aware

NOW = datetime(2026, 7, 1, 9, 30, tzinfo=UTC)


def a_session(**changes: object) -> Session:
    values: dict[str, object] = {
        "id": "s1",
        "phone_id": "p1",
        "channel": "ussd",
        "gateway_session": "g1",
        "flow": "plan",
        "flow_version": "abc",
        "state": "length",
        "language": "en",
        "updated_at": NOW,
        "last_step": 3,
        "last_body_hash": "h3",
    }
    return Session(**{**values, **changes})  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("step", "standing"),
    [
        (Step(4, "h4"), "new"),
        (Step(9, "h9"), "new"),
        (Step(3, "h3"), "repeated"),
        (Step(3, "other"), "changed"),
        (Step(2, "h2"), "late"),
        (Step(0, "h3"), "late"),
    ],
)
def test_a_step_is_judged_by_its_number_and_its_words(step: Step, standing: str) -> None:
    assert a_session().standing(step) == standing


def test_a_number_and_what_was_answered_stay_out_of_the_repr() -> None:
    phone = Phone("p1", "+254700000001", "en", NOW)
    session = a_session(answers={"plot_length": 25}, last_reply="Your plot of 25 m")
    assert "700000001" not in repr(phone)
    assert "25" not in repr(session)


def test_a_moment_without_a_zone_is_refused() -> None:
    assert require_aware(NOW) is NOW
    with pytest.raises(ValueError, match="without a time zone: 2026-07-01"):
        require_aware(NOW.replace(tzinfo=None))
