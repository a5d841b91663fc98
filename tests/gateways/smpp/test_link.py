"""One bind kept up: waits, refusals, and how it ends."""

from __future__ import annotations

import asyncio
from itertools import pairwise
from typing import Any

import pytest

from service.gateways.smpp.codec import BindBody, MessageBody
from service.gateways.smpp.codes import Command, Status
from service.gateways.smpp.options import SmppOptions, with_plus
from service.gateways.smpp.ports import Accepted, NotSent


@pytest.mark.parametrize(
    ("mode", "command"),
    [("transceiver", 0x09), ("transmitter", 0x02), ("receiver", 0x01)],
)
def test_binds_as_it_is_told(kit: Any, mode: str, command: int) -> None:
    async def scene(bench: Any) -> None:
        [bind] = bench.centre.line.requests
        assert bind.command == command
        assert bind.body == BindBody("litreline", "secret", "farm")
        assert bind.body.interface_version == 0x34
        assert bench.engine.state.standing == "bound"

    kit.on_bench(scene, mode=mode, system_type="farm")


def test_waits_double_from_one_second_to_a_minute(kit: Any) -> None:
    async def scene(bench: Any) -> None:
        bench.centre.refuse_connections = 9
        bench.centre.line.wire.cut()
        await asyncio.sleep(400)
        tries = bench.centre.tries[1:]
        waits = [round(later - sooner) for sooner, later in pairwise(tries)]
        assert waits == [2, 4, 8, 16, 32, 60, 60, 60, 60]
        assert bench.engine.state.standing == "bound"

    kit.on_bench(scene)


def test_a_bind_that_lasted_makes_the_next_wait_short_again(kit: Any) -> None:
    async def scene(bench: Any) -> None:
        for lasted in (1.0, 1.0, 100.0, 1.0):
            await asyncio.sleep(lasted)
            bench.centre.line.wire.cut()
            cut_at, known = kit.now(), len(bench.centre.connections)
            while len(bench.centre.connections) == known:
                await asyncio.sleep(0.01)
            waits.append(round(kit.now() - cut_at))

    waits: list[int] = []
    kit.on_bench(scene)
    assert waits == [1, 2, 1, 2]


@pytest.mark.parametrize(
    "refusal", [Status.ESME_RINVPASWD, Status.ESME_RINVSYSID, Status.ESME_RINVSYSTYP]
)
def test_a_wrong_password_is_not_tried_again(kit: Any, refusal: Status) -> None:
    async def scene(bench: Any) -> None:
        bench.centre.bind_status = [refusal]
        bench.centre.line.wire.cut()
        waiting = bench.submit(within=5_000.0)
        await asyncio.sleep(4_000)
        assert len(bench.centre.connections) == 2
        assert bench.engine.state.standing == "stopped"
        assert refusal.name in bench.engine.state.reason
        assert waiting.done(), "nobody waits for a bind that will not come"
        assert isinstance(await waiting, NotSent)
        assert isinstance(await bench.submit(), NotSent)

    kit.on_bench(scene)


@pytest.mark.parametrize("refusal", [Status.ESME_RBINDFAIL, Status.ESME_RALYBND, 0x4FF])
def test_other_refusals_are_tried_again(kit: Any, refusal: int) -> None:
    async def scene(bench: Any) -> None:
        bench.centre.bind_status = [refusal, refusal]
        bench.centre.line.wire.cut()
        await asyncio.sleep(30)
        assert len(bench.centre.connections) == 4
        assert bench.engine.state.standing == "bound"

    kit.on_bench(scene)


def test_a_centre_that_takes_the_connection_and_says_nothing(kit: Any) -> None:
    async def scene(bench: Any) -> None:
        bench.centre.serve = lambda line, pdu: None
        bench.centre.line.wire.cut()
        await asyncio.sleep(1 + 10 + 2 + 10 + 4 + 1)
        assert len(bench.centre.connections) == 4
        assert bench.engine.state.standing != "bound"

    kit.on_bench(scene)


def test_a_silent_centre_is_left_and_bound_anew(kit: Any) -> None:
    async def scene(bench: Any) -> None:
        bench.centre.answers_enquiries = False
        await asyncio.sleep(42)
        assert len(bench.centre.connections) == 2
        assert bench.centre.connections[0].wire.is_shut

    kit.on_bench(scene)


def test_the_end_is_said_in_good_order(kit: Any) -> None:
    async def scene(bench: Any) -> Any:
        return bench.centre.line

    line = kit.on_bench(scene)
    assert line.requests[-1].command == Command.UNBIND
    assert line.wire.is_shut


def test_the_end_does_not_wait_for_a_dead_centre(kit: Any) -> None:
    async def scene(bench: Any) -> float:
        bench.centre.serve = lambda line, pdu: None
        return float(kit.now())

    async def whole() -> float:
        bench = kit.Bench()
        async with bench:
            began = await scene(bench)
        return float(kit.now()) - began

    assert kit.run(whole()) < 10.0


def test_what_is_under_way_at_the_end_is_waited_for(kit: Any) -> None:
    async def scene(bench: Any) -> Any:
        bench.centre.on_submit = lambda line, pdu: bench.centre.accept(line, pdu, after=3.0)
        task = bench.submit()
        await asyncio.sleep(0.1)
        return task

    async def whole() -> Any:
        async with kit.Bench() as bench:
            task = await scene(bench)
        return await task

    assert kit.run(whole()) == Accepted(("id-1",))


def test_while_it_ends_nothing_new_leaves(kit: Any) -> None:
    async def whole() -> None:
        async with kit.Bench() as bench:
            bench.centre.on_submit = lambda line, pdu: bench.centre.accept(line, pdu, after=3.0)
            first = bench.submit()
            await asyncio.sleep(1)
            bench.engine.end(5.0)
            await asyncio.sleep(1)
            assert isinstance(await bench.submit(), NotSent)
            assert isinstance(await first, Accepted)
            assert len(bench.centre.submitted) == 1

    kit.run(whole())


@pytest.mark.parametrize("held_by", ["pace", "bind"])
def test_whoever_waits_at_the_end_is_sent_away(kit: Any, held_by: str) -> None:
    async def whole() -> None:
        bench = kit.Bench(per_second=0.001)
        async with bench:
            assert isinstance(await bench.submit(), Accepted)
            if held_by == "bind":
                bench.centre.refuse_connections = 1_000
                bench.centre.line.wire.cut()
            waiting = bench.submit(within=100_000.0)
            await asyncio.sleep(1)
            began = kit.now()
        assert isinstance(await waiting, NotSent)
        assert kit.now() - began < 1.0
        assert len(bench.centre.submitted) == 1

    kit.run(whole())


def test_after_the_end_nothing_leaves(kit: Any) -> None:
    async def whole() -> Any:
        async with kit.Bench() as bench:
            pass
        return await bench.submit(), bench.centre.submitted

    result, submitted = kit.run(whole())
    assert isinstance(result, NotSent)
    assert submitted == []


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        ({"window": 11}, "allowed are 1 to 10"),
        ({"window": 0}, "allowed are 1 to 10"),
        ({"per_second": 0}, "more than 0"),
        ({"password": "ninechars"}, "password takes at most 8"),
        ({"system_id": "sixteen-letters-"}, "system_id takes at most 15"),
    ],
)
def test_options_that_cannot_be(kit: Any, wrong: dict[str, Any], words: str) -> None:
    with pytest.raises(ValueError, match=words):
        kit.options(**wrong)


def test_options_show_no_password(kit: Any) -> None:
    assert isinstance(kit.options(), SmppOptions)
    assert "secret" not in repr(kit.options())


@pytest.mark.parametrize(
    ("number", "expected"),
    [
        ("10005550101", "+10005550101"),
        ("+10005550101", "+10005550101"),
        ("0712345678", "0712345678"),
        ("123", "123"),
        ("1234567890123456", "1234567890123456"),
        ("BANK", "BANK"),
        ("", ""),
    ],
)
def test_numbers_that_can_only_be_international_get_their_plus(number: str, expected: str) -> None:
    assert with_plus(number) == expected


def test_a_transmitter_still_acknowledges_what_should_not_come(kit: Any) -> None:
    async def scene(bench: Any) -> None:
        response = await bench.centre.line.deliver(kit.mo("2"))
        assert kit.status(response) == "ESME_ROK"
        assert isinstance(kit.mo("2"), MessageBody)

    kit.on_bench(scene, mode="transmitter")
