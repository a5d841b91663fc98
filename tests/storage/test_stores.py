"""The promises of a store, asked of the fake and of both databases alike."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta, timezone
from typing import Any

import pytest

from service.records import ConcurrentChange, Phone, Session


def keep(store: Any, *records: Phone | Session) -> None:
    with store.unit_of_work() as work:
        for record in records:
            (work.phones if isinstance(record, Phone) else work.sessions).add(record)
        work.commit()


def save(store: Any, session: Session) -> None:
    with store.unit_of_work() as work:
        work.sessions.save(session)
        work.commit()


def keep_half(store: Any, phone: Phone, session: Session) -> None:
    with store.unit_of_work() as work:
        work.phones.add(phone)
        work.sessions.add(session)
        raise InterruptedError


def read(store: Any, phone: Phone, session: Session) -> Any:
    with store.unit_of_work() as work:
        return work.caller(phone.number, session.channel, session.gateway_session)


def test_what_was_committed_is_read_back_exactly(store: Any, a_phone: Any, a_session: Any) -> None:
    keep(store, a_phone, a_session)
    assert read(store, a_phone, a_session)[:3] == (a_phone, a_session, a_session)


def test_an_unknown_phone_is_nobody(store: Any) -> None:
    with store.unit_of_work() as work:
        assert work.caller("+254700000009", "ussd", "g1") == (None, None, None, None)


def test_a_known_phone_without_a_session_is_found(store: Any, a_phone: Any, a_session: Any) -> None:
    keep(store, a_phone)
    assert read(store, a_phone, a_session)[:3] == (a_phone, None, None)


def test_without_commit_nothing_is_kept(store: Any, a_phone: Any, a_session: Any) -> None:
    with store.unit_of_work() as work:
        work.phones.add(a_phone)
        work.sessions.add(a_session)
    assert read(store, a_phone, a_session)[:3] == (None, None, None)


def test_an_error_inside_undoes_everything(store: Any, a_phone: Any, a_session: Any) -> None:
    with pytest.raises(InterruptedError):
        keep_half(store, a_phone, a_session)
    assert read(store, a_phone, a_session)[:3] == (None, None, None)


def test_rolled_back_and_written_again(store: Any, a_phone: Any, a_session: Any) -> None:
    with store.unit_of_work() as work:
        work.phones.add(a_phone)
        work.rollback()
        work.phones.add(replace(a_phone, language="hi"))
        work.sessions.add(a_session)
        work.commit()
    assert read(store, a_phone, a_session).phone.language == "hi"


def test_saving_replaces_the_row_and_counts_the_revision(
    store: Any, a_phone: Any, a_session: Any
) -> None:
    keep(store, a_phone, a_session)
    changed = replace(a_session, state="result", answers={"crop": "tomato"}, page=0)
    save(store, changed)
    assert read(store, a_phone, a_session).asked == replace(changed, revision=1)


def test_of_two_savers_of_one_revision_the_second_is_refused(
    store: Any, a_phone: Any, a_session: Any
) -> None:
    keep(store, a_phone, a_session)
    save(store, replace(a_session, state="first"))
    with pytest.raises(ConcurrentChange):
        save(store, replace(a_session, state="second"))
    assert read(store, a_phone, a_session).asked.state == "first"


def test_a_reader_does_not_see_what_is_not_committed(
    store: Any, a_phone: Any, a_session: Any
) -> None:
    keep(store, a_phone, a_session)
    with store.unit_of_work() as writer:
        writer.sessions.save(replace(a_session, state="half done"))
        assert read(store, a_phone, a_session).asked.state == "crop"


def test_a_number_is_kept_once(store: Any, a_phone: Any) -> None:
    keep(store, a_phone)
    with pytest.raises(ConcurrentChange):
        keep(store, replace(a_phone, id="p2"))


def test_a_gateway_session_is_kept_once_even_when_closed(
    store: Any, a_phone: Any, a_session: Any
) -> None:
    keep(store, a_phone, replace(a_session, open=False))
    with pytest.raises(ConcurrentChange):
        keep(store, replace(a_session, id="s2"))


def test_a_phone_has_one_open_session_per_channel(store: Any, a_phone: Any, a_session: Any) -> None:
    keep(store, a_phone, a_session)
    with pytest.raises(ConcurrentChange):
        keep(store, replace(a_session, id="s2", gateway_session="g2"))


def test_a_phone_has_open_sessions_on_several_channels(
    store: Any, a_phone: Any, a_session: Any
) -> None:
    other = replace(a_session, id="s2", channel="terminal")
    keep(store, a_phone, a_session, other)
    assert read(store, a_phone, other)[:3] == (a_phone, other, other)


def test_the_session_asked_for_and_the_open_one_are_both_found(
    store: Any, a_phone: Any, a_session: Any
) -> None:
    closed = replace(a_session, open=False)
    newer = replace(a_session, id="s2", gateway_session="g2", offering=True)
    keep(store, a_phone, closed, newer)
    assert read(store, a_phone, closed)[:3] == (a_phone, closed, newer)
    assert read(store, a_phone, replace(newer, gateway_session="g9"))[:3] == (a_phone, None, newer)


def test_a_session_needs_its_phone(store: Any, a_session: Any) -> None:
    with pytest.raises(ConcurrentChange):
        keep(store, a_session)


def test_the_language_of_a_phone_is_remembered(store: Any, a_phone: Any, a_session: Any) -> None:
    keep(store, a_phone)
    with store.unit_of_work() as work:
        work.phones.set_language("p1", "fr")
        work.commit()
    assert read(store, a_phone, a_session).phone == replace(a_phone, language="fr")


def test_moments_are_instants_whatever_their_zone(
    store: Any, a_phone: Any, a_session: Any, now: datetime
) -> None:
    nairobi = now.astimezone(timezone(timedelta(hours=3)))
    keep(store, a_phone, replace(a_session, updated_at=nairobi))
    found = read(store, a_phone, a_session).asked.updated_at
    assert found == now
    assert found.utcoffset() == timedelta(0) or store.name == "memory"


def test_a_moment_without_a_zone_is_not_kept(store: Any, a_phone: Any, a_session: Any) -> None:
    naive = replace(a_session, updated_at=a_session.updated_at.replace(tzinfo=None))
    with pytest.raises(ValueError, match="without a time zone"):
        keep(store, a_phone, naive)
