"""One connection: matching, liveness, and whatever a peer may send."""

from __future__ import annotations

import asyncio
import logging
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.gateways.smpp.codec import IdBody, MessageBody, Pdu, RawBody, decode, encode
from service.gateways.smpp.codes import Command, Status
from service.gateways.smpp.framing import Framer
from service.gateways.smpp.options import Timers
from service.gateways.smpp.session import (
    LAST_SEQUENCE,
    LinkDown,
    LinkLost,
    NoResponse,
    Session,
)


class Line:
    """A session on a wire in memory, and what it wrote."""

    def __init__(self, kit: Any, **timers: float) -> None:
        self.written: list[Pdu] = []
        self.delivered: list[Pdu] = []
        self._framer = Framer()
        self.wire = kit.MemoryWire(self._keep)
        self.session = Session(self.wire, Timers(**timers), lambda _, pdu: self._deliver(pdu))
        self.running = asyncio.create_task(self.session.run())

    def _keep(self, octets: bytes) -> None:
        self.written += map(decode, self._framer.feed(octets))

    def _deliver(self, pdu: Pdu) -> None:
        self.delivered.append(pdu)

    def arrive(self, command: int, sequence: int, status: int = 0, body: Any = None) -> None:
        self.wire.arrive(encode(Pdu(command, sequence, status, body or RawBody())))

    async def settle(self) -> None:
        await asyncio.sleep(0.01)


@pytest.fixture(scope="session")
def on_line(kit: Any) -> Any:
    def play(scene: Any, **timers: float) -> Any:
        async def whole() -> Any:
            line = Line(kit, **timers)
            try:
                return await scene(line)
            finally:
                line.session.close("the test is over")
                await line.running

        return kit.run(whole())

    return play


def test_responses_come_in_any_order(on_line: Any) -> None:
    async def scene(line: Line) -> None:
        pending = [line.session.send(Command.SUBMIT_SM, MessageBody()) for _ in range(3)]
        for sequence in (3, 1, 2):
            line.arrive(0x80000004, sequence, body=IdBody(f"for {sequence}"))
        answers = [await line.session.answer(one, 5.0) for one in pending]
        assert [answer.body for answer in answers] == [IdBody(f"for {n}") for n in (1, 2, 3)]
        assert line.session.outstanding == 0

    on_line(scene)


def test_a_response_twice_or_to_nothing_is_passed_over(on_line: Any) -> None:
    async def scene(line: Line) -> None:
        line.arrive(0x80000004, 99, body=IdBody("x"))
        pending = line.session.send(Command.SUBMIT_SM, MessageBody())
        line.arrive(0x80000004, 1, body=IdBody("first"))
        line.arrive(0x80000004, 1, body=IdBody("second"))
        assert (await line.session.answer(pending, 5.0)).body == IdBody("first")
        await line.settle()
        assert not line.session.closed

    on_line(scene)


def test_a_response_of_another_kind_answers_nothing(on_line: Any) -> None:
    async def scene(line: Line) -> None:
        pending = line.session.send(Command.SUBMIT_SM, MessageBody())
        line.arrive(0x80000015, 1)
        line.arrive(0x80000004, 1, body=IdBody("right"))
        assert (await line.session.answer(pending, 5.0)).body == IdBody("right")

    on_line(scene)


def test_a_nack_answers_the_request_it_names(on_line: Any) -> None:
    async def scene(line: Line) -> None:
        pending = line.session.send(Command.SUBMIT_SM, MessageBody())
        line.arrive(Command.GENERIC_NACK, 1, Status.ESME_RINVCMDID)
        assert (await line.session.answer(pending, 5.0)).status == Status.ESME_RINVCMDID

    on_line(scene)


def test_a_nack_without_a_number_ends_the_connection(on_line: Any) -> None:
    async def scene(line: Line) -> str:
        line.arrive(Command.GENERIC_NACK, 0, Status.ESME_RINVCMDLEN)
        return await line.running

    assert on_line(scene) == "the centre lost step (ESME_RINVCMDLEN)"


def test_a_response_that_stays_out_may_still_come(kit: Any, on_line: Any) -> None:
    async def scene(line: Line) -> None:
        pending, sent_at = line.session.send(Command.SUBMIT_SM, MessageBody()), kit.now()
        with pytest.raises(NoResponse):
            await line.session.answer(pending, 30.0)
        assert kit.now() == pytest.approx(sent_at + 30.0)
        line.arrive(0x80000004, 1, body=IdBody("late"))
        assert (await pending.response).body == IdBody("late")

    on_line(scene, quiet=1_000.0)


def test_the_end_of_the_connection_fails_what_is_open(on_line: Any) -> None:
    async def scene(line: Line) -> None:
        pending = line.session.send(Command.SUBMIT_SM, MessageBody())
        line.wire.cut()
        with pytest.raises(LinkLost, match="connection lost"):
            await line.session.answer(pending, 30.0)
        with pytest.raises(LinkDown):
            line.session.send(Command.ENQUIRE_LINK)
        assert line.wire.is_shut

    on_line(scene)


def test_writing_to_a_broken_connection_writes_nothing(on_line: Any) -> None:
    async def scene(line: Line) -> None:
        line.wire.is_cut = True
        with pytest.raises(LinkDown):
            line.session.send(Command.SUBMIT_SM, MessageBody())
        assert line.session.outstanding == 0

    on_line(scene)


def test_the_end_of_the_stream_is_the_end(on_line: Any) -> None:
    async def scene(line: Line) -> str:
        line.wire.arrive(b"")
        return await line.running

    assert on_line(scene) == "the centre closed the connection"


def test_a_quiet_peer_is_asked_and_a_silent_one_given_up(kit: Any, on_line: Any) -> None:
    async def scene(line: Line) -> None:
        began = kit.now()
        assert await line.running == "the centre is silent"
        assert kit.now() == pytest.approx(began + 40.0)
        assert [pdu.command for pdu in line.written] == [Command.ENQUIRE_LINK]

    on_line(scene, quiet=30.0, silence=10.0)


def test_a_peer_that_answers_stays(kit: Any, on_line: Any) -> None:
    async def scene(line: Line) -> None:
        for _ in range(5):
            await asyncio.sleep(33.0)
            line.arrive(0x80000015, line.written[-1].sequence)
        assert not line.session.closed
        assert len(line.written) == 5

    on_line(scene, quiet=30.0, silence=10.0)


def test_half_a_pdu_is_no_sign_of_life(kit: Any, on_line: Any) -> None:
    async def scene(line: Line) -> None:
        began = kit.now()
        await asyncio.sleep(25.0)
        line.wire.arrive(encode(Pdu(Command.ENQUIRE_LINK, 1))[:9])
        assert await line.running == "the centre is silent"
        assert kit.now() == pytest.approx(began + 40.0)

    on_line(scene, quiet=30.0, silence=10.0)


def test_we_answer_when_asked_and_refuse_what_we_do_not_know(on_line: Any) -> None:
    async def scene(line: Line) -> None:
        line.arrive(Command.ENQUIRE_LINK, 7)
        line.arrive(0x103, 8, body=RawBody(b"data_sm"))
        line.arrive(0x7777, 9)
        line.arrive(Command.OUTBIND, 10)
        line.arrive(Command.ALERT_NOTIFICATION, 11)
        line.arrive(0x80007777, 12)
        await line.settle()
        assert [(pdu.command, pdu.sequence, pdu.status) for pdu in line.written] == [
            (0x80000015, 7, 0),
            (Command.GENERIC_NACK, 8, Status.ESME_RINVCMDID),
            (Command.GENERIC_NACK, 9, Status.ESME_RINVCMDID),
        ]
        assert not line.session.closed

    on_line(scene)


def test_a_request_that_cannot_be_read_is_refused_by_its_own_response(on_line: Any) -> None:
    async def scene(line: Line) -> None:
        line.arrive(Command.DELIVER_SM, 5, body=RawBody(b"\0\1"))
        whole = encode(Pdu(Command.DELIVER_SM, 6, body=MessageBody(tlvs=((1, b"abc"),))))
        line.wire.arrive((len(whole) - 1).to_bytes(4, "big") + whole[4:-1])
        await line.settle()
        assert [(pdu.command, pdu.sequence, pdu.status) for pdu in line.written] == [
            (0x80000005, 5, Status.ESME_RINVCMDLEN),
            (0x80000005, 6, Status.ESME_RINVOPTPARSTREAM),
        ]
        assert not line.delivered

    on_line(scene)


def test_a_peer_that_takes_its_leave_is_answered(on_line: Any) -> None:
    async def scene(line: Line) -> str:
        line.arrive(Command.UNBIND, 3)
        reason = await line.running
        assert line.written[-1].command == 0x80000006
        return reason

    assert on_line(scene) == "the centre ended the bind"


def test_a_length_that_no_pdu_has_ends_the_connection_with_a_word(on_line: Any) -> None:
    async def scene(line: Line) -> str:
        line.wire.arrive(b"HTTP/1.1 400 Bad Request\r\n\r\n")
        reason = await line.running
        nack = line.written[-1]
        assert (nack.command, nack.status) == (Command.GENERIC_NACK, Status.ESME_RINVCMDLEN)
        return reason

    assert "out of step" in on_line(scene)


def test_numbers_begin_again_after_the_last_and_skip_those_in_use(on_line: Any) -> None:
    async def scene(line: Line) -> None:
        line.session.send(Command.ENQUIRE_LINK)
        line.session._sequence = LAST_SEQUENCE - 1
        line.session.send(Command.ENQUIRE_LINK)
        line.session.send(Command.ENQUIRE_LINK)
        await line.settle()
        assert [pdu.sequence for pdu in line.written] == [1, LAST_SEQUENCE, 2]

    on_line(scene)


def test_what_the_centre_answered_it_must_have_heard(kit: Any, on_line: Any) -> None:
    async def scene(line: Line) -> None:
        await asyncio.sleep(5)
        pending = line.session.send(Command.SUBMIT_SM, MessageBody())
        await asyncio.sleep(5)
        line.arrive(0x80000004, 1, body=IdBody("x"))
        await line.session.answer(pending, 5.0)
        assert line.session.heard_up_to == pending.sent_at

    on_line(scene)


def test_a_peer_that_does_not_take_our_answers_is_read_no_further(on_line: Any) -> None:
    async def scene(line: Line) -> None:
        taken = asyncio.Event()

        async def drain() -> None:
            await taken.wait()

        line.wire.drain = drain
        for sequence in range(5):
            line.arrive(Command.ENQUIRE_LINK, sequence)
        await line.settle()
        assert len(line.written) == 1
        taken.set()
        await line.settle()
        assert len(line.written) == 5

    on_line(scene)


def test_responses_that_never_come_do_not_pile_up(
    on_line: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("service.gateways.smpp.session._MOST_UNANSWERED", 3)

    async def scene(line: Line) -> None:
        for _ in range(10):
            line.session.send(Command.ENQUIRE_LINK)
        assert line.session.outstanding == 3

    on_line(scene)


def test_what_does_not_fit_a_pdu_leaves_nothing_behind(on_line: Any) -> None:
    async def scene(line: Line) -> None:
        with pytest.raises(ValueError, match="at most 254"):
            line.session.send(Command.SUBMIT_SM, MessageBody(short_message=bytes(255)))
        assert (line.session.outstanding, line.written) == (0, [])

    on_line(scene)


pieces = st.one_of(
    st.binary(max_size=60),
    st.builds(
        lambda command, sequence, status, body: encode(
            Pdu(command, sequence, status, RawBody(body))
        ),
        st.one_of(
            st.sampled_from([*Command, *(one.response for one in Command)]),
            st.integers(0, 0xFFFFFFFF),
        ),
        st.integers(0, 0xFFFFFFFF),
        st.integers(0, 0xFFFFFFFF),
        st.binary(max_size=80),
    ),
)


@contextmanager
def quiet_log() -> Iterator[list[str]]:
    """Collect what is logged as a fault of ours."""
    faults: list[str] = []
    log = logging.getLogger("service.gateways.smpp")

    def keep(record: logging.LogRecord) -> bool:
        faults.append(record.getMessage())
        return False

    handler = logging.Handler(logging.ERROR)
    handler.addFilter(keep)
    log.addHandler(handler)
    try:
        yield faults
    finally:
        log.removeHandler(handler)


@given(arriving=st.lists(pieces, max_size=12))
def test_whatever_arrives_ends_in_order_or_goes_on(on_line: Any, arriving: list[bytes]) -> None:
    async def scene(line: Line) -> None:
        pending = line.session.send(Command.SUBMIT_SM, MessageBody())
        for octets in arriving:
            line.wire.arrive(octets or b"\0")
        await line.settle()
        if not line.session.closed:
            line.wire.cut()
        await line.running
        assert pending.response.done()

    with quiet_log() as faults:
        on_line(scene)
    assert faults == []
