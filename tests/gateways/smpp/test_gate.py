"""Who may send next."""

from __future__ import annotations

import asyncio
from typing import Any

import pytest

from service.gateways.smpp.gate import ORDINARY, URGENT, Gate, GateShut
from service.gateways.smpp.pace import Pace


def gate_of(kit: Any, per_second: float = 1_000.0, window: int = 1) -> Gate:
    return Gate(Pace(per_second, kit.now()), window)


def test_urgent_ones_go_first_and_equals_in_their_order(kit: Any) -> None:
    async def scene() -> list[str]:
        gate, order = gate_of(kit), []

        async def pass_through(name: str, priority: int) -> None:
            await gate.enter(kit.now() + 100, priority)
            order.append(name)
            await asyncio.sleep(1)
            gate.leave()

        waiting = [("a", ORDINARY), ("b", ORDINARY), ("c", ORDINARY), ("screen", URGENT)]
        await asyncio.gather(*(pass_through(*one) for one in waiting))
        return order

    assert kit.run(scene()) == ["a", "screen", "b", "c"]


def test_a_turn_that_nobody_takes_is_handed_on(kit: Any) -> None:
    """Whoever is called off in the very moment of its turn does not keep the place."""

    async def scene() -> None:
        gate = gate_of(kit)
        await gate.enter(kit.now() + 1)
        second = asyncio.create_task(gate.enter(kit.now() + 100))
        third = asyncio.create_task(gate.enter(kit.now() + 100))
        await asyncio.sleep(1)
        gate.leave()
        second.cancel()
        await asyncio.sleep(1)
        assert second.cancelled()
        assert third.done()

    kit.run(scene())


def test_whoever_is_called_off_while_waiting_is_passed_over(kit: Any) -> None:
    async def scene() -> None:
        gate = gate_of(kit)
        await gate.enter(kit.now() + 1)
        second = asyncio.create_task(gate.enter(kit.now() + 100))
        third = asyncio.create_task(gate.enter(kit.now() + 100))
        await asyncio.sleep(1)
        second.cancel()
        await asyncio.sleep(1)
        gate.leave()
        await asyncio.sleep(1)
        assert third.done()

    kit.run(scene())


def test_nobody_waits_beyond_the_deadline(kit: Any) -> None:
    async def scene() -> float:
        gate, began = gate_of(kit), kit.now()
        await gate.enter(kit.now() + 1)
        with pytest.raises(GateShut) as shut:
            await gate.enter(kit.now() + 7)
        assert shut.value.paused == 0.0
        return float(kit.now() - began)

    assert kit.run(scene()) == pytest.approx(7.0)


def test_a_pause_longer_than_the_time_given_is_told_at_once(kit: Any) -> None:
    async def scene() -> None:
        gate, began = gate_of(kit), kit.now()
        gate.pace.throttled(kit.now(), sent_at=kit.now())
        with pytest.raises(GateShut) as shut:
            await gate.enter(kit.now() + 0.5)
        assert shut.value.paused == 1.0
        assert kit.now() == began
        await gate.enter(kit.now() + 2)
        assert kit.now() - began == pytest.approx(1.0, abs=0.01)

    kit.run(scene())


def test_a_shut_gate_sends_all_away(kit: Any) -> None:
    async def scene() -> None:
        gate = gate_of(kit)
        await gate.enter(kit.now() + 1)
        waiting = asyncio.create_task(gate.enter(kit.now() + 1_000))
        await asyncio.sleep(1)
        gate.shut()
        with pytest.raises(GateShut):
            await waiting

    kit.run(scene())
