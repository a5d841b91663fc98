"""Any mix of faults, in virtual time: no message is taken more often than it was sent again.

The sender here is the simplest that keeps the rules: it sends again what surely did not go out,
and once, on record, what may have. Then the centre's count is held against the record.
"""

from __future__ import annotations

import asyncio
import random
from collections import Counter
from dataclasses import dataclass, field
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from service.gateways.smpp.codec import IdBody, MessageBody, Pdu
from service.gateways.smpp.codes import Status, Tag
from service.gateways.smpp.ports import (
    Accepted,
    NotSent,
    Outgoing,
    Refused,
    SubmitResult,
    Throttled,
    Uncertain,
    reference_of,
)

FAULTS = (
    "none", "none", "none", "late", "withheld", "throttled", "full", "refused", "failed",
    "cut before", "cut after", "nack", "twice", "receipt first",
)  # fmt: skip

CALM = ("none", "late", "late", "withheld", "throttled", "receipt first")


@dataclass
class Record:
    """What the sender knows of one message: how often it was sent again without certainty."""

    resends: int = 0
    results: list[SubmitResult] = field(default_factory=list)


class WildCentre:
    """Does something else with each submission, and counts what it took."""

    def __init__(self, bench: Any, chance: random.Random, share: float, faults: Any) -> None:
        self.bench, self.chance, self.share, self.faults = bench, chance, share, faults
        self.taken: Counter[tuple[int, int]] = Counter()
        bench.centre.on_submit = self.serve

    def serve(self, line: Any, pdu: Pdu) -> None:
        fault = self.chance.choice(self.faults) if self.chance.random() < self.share else "none"
        match fault:
            case "throttled":
                line.answer(pdu, Status.ESME_RTHROTTLED, after=0.2)
            case "full":
                line.answer(pdu, Status.ESME_RMSGQFUL)
            case "refused":
                line.answer(pdu, Status.ESME_RINVDSTADR)
            case "failed":
                line.answer(pdu, Status.ESME_RSYSERR, after=1.0)
            case "nack":
                line.send(Pdu(0x80000000, pdu.sequence, Status.ESME_RINVCMDID))
            case "cut before":
                line.wire.cut()
            case _:
                self.take(line, pdu, fault)

    def take(self, line: Any, pdu: Pdu, fault: str) -> None:
        body = pdu.body
        assert isinstance(body, MessageBody)
        part = body.short_message[5] if body.esm_class & 0x40 else 1
        self.taken[(body.number(Tag.USER_MESSAGE_REFERENCE) or 0, part)] += 1
        id_ = IdBody(f"id-{self.taken.total()}")
        if fault == "cut after":
            line.wire.cut()
        elif fault == "late":
            line.answer(pdu, 0, id_, after=self.chance.uniform(10, 60))
        elif fault != "withheld":
            line.answer(pdu, 0, id_, after=self.chance.uniform(0, 2))
        if fault == "twice":
            line.answer(pdu, 0, id_, after=3.0)
        if fault == "receipt first":
            tags = ((Tag.RECEIPTED_MESSAGE_ID, id_.id.encode() + b"\0"), (Tag.MESSAGE_STATE, b"\2"))
            line.ask(5, MessageBody(source=body.destination, esm_class=4, tlvs=tags))


async def send_by_the_rules(bench: Any, outgoing: Outgoing, record: Record) -> None:
    for _ in range(60):
        result = await bench.engine.submit(outgoing, 20.0)
        record.results.append(result)
        match result:
            case Accepted():
                return
            case Refused(kind="permanent"):
                return
            case Uncertain():
                if record.resends == 1:
                    return
                await asyncio.sleep(90)
                if any(id_ == outgoing.id for id_, _ in bench.told.settlements):
                    return
                record.resends += 1
            case Throttled(retry_after):
                await asyncio.sleep(retry_after)
            case NotSent() | Refused():
                await asyncio.sleep(5)


def play(
    kit: Any, seed: int, share: float, messages: int, faults: tuple[str, ...] = FAULTS
) -> tuple[WildCentre, list[Record], Any]:
    chance = random.Random(seed)

    async def scene(bench: Any) -> tuple[WildCentre, list[Record], Any]:
        centre = WildCentre(bench, chance, share, faults)
        texts = ["Flush" if n % 4 else "Open the valve. " * 14 for n in range(messages)]
        records = [Record() for _ in range(messages)]
        await asyncio.gather(
            *(
                send_by_the_rules(bench, Outgoing(f"m-{n}", kit.PHONE, text), records[n])
                for n, text in enumerate(texts)
            )
        )
        centre.share = 0.0
        await asyncio.sleep(120)
        return centre, records, bench

    return kit.on_bench(scene, per_second=50.0)  # type: ignore[no-any-return]


@settings(max_examples=60, deadline=None)
@given(seed=st.integers(0, 2**32), share=st.floats(0.0, 1.0))
def test_no_message_is_taken_more_often_than_it_was_sent_again(
    kit: Any, seed: int, share: float
) -> None:
    centre, records, bench = play(kit, seed, share, messages=24)
    settled = {id_ for id_, result in bench.told.settlements if isinstance(result, Accepted)}
    for number, record in enumerate(records):
        reference, last = reference_of(f"m-{number}"), record.results[-1]
        parts = range(1, 3) if number % 4 == 0 else range(1, 2)
        taken = [centre.taken[(reference, part)] for part in parts]
        assert max(taken) <= 1 + record.resends, (record, taken)
        if isinstance(last, Accepted) or f"m-{number}" in settled:
            assert min(taken) >= 1, "whatever is told as accepted was taken, every part of it"
        if all(isinstance(result, Refused | Throttled | NotSent) for result in record.results):
            assert max(taken) == 0, "whatever is told as not taken was not"


def test_without_faults_every_message_is_taken_once(kit: Any) -> None:
    centre, records, _ = play(kit, seed=1, share=0.0, messages=40)
    assert set(centre.taken.values()) == {1}
    assert sum(isinstance(record.results[-1], Accepted) for record in records) == 40
    assert [record.resends for record in records] == [0] * 40


def test_the_faults_do_happen(kit: Any) -> None:
    """The invariant is not held by nothing ever going wrong."""
    results: set[str] = set()
    binds = resends = doubles = settlements = 0
    for seed in range(16):
        centre, records, bench = play(kit, seed, 0.4, 24, CALM if seed % 2 else FAULTS)
        results |= {type(result).__name__ for record in records for result in record.results}
        binds += len(bench.centre.connections)
        resends += sum(record.resends for record in records)
        doubles += sum(count == 2 for count in centre.taken.values())
        settlements += len(bench.told.settlements)
    assert results >= {"Accepted", "Refused", "Throttled", "Uncertain"}
    assert min(binds - 16, resends, doubles, settlements) >= 3, (
        binds,
        resends,
        doubles,
        settlements,
    )
