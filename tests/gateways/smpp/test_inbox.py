"""What the centre delivers: kept first, acknowledged after, never twice."""

from __future__ import annotations

import asyncio
from datetime import timedelta
from typing import Any

import pytest

from service.gateways.smpp.assembly import MemoryShelf
from service.gateways.smpp.codec import Address, MessageBody
from service.gateways.smpp.codes import Tag
from service.gateways.smpp.concatenation import Place, marks
from service.gateways.smpp.ports import Accepted, InboundSms, Receipt
from service.gateways.smpp.recent import fingerprint

pytestmark = pytest.mark.usefixtures("no_numbers_in_logs")


def receipt_for(message_id: str, state: int = 2) -> MessageBody:
    return MessageBody(
        source=Address(1, 1, "10005550101"),
        destination=Address(0, 0, "123"),
        esm_class=4,
        tlvs=(
            (Tag.RECEIPTED_MESSAGE_ID, message_id.encode() + b"\0"),
            (Tag.MESSAGE_STATE, bytes([state])),
        ),
    )


def part(kit: Any, number: int, total: int = 2, reference: int = 7, **more: Any) -> MessageBody:
    put = marks(Place(reference, total, number), "udh")
    octets = put.header + f"part {number} ".encode()
    return kit.mo(esm_class=put.esm_class, short_message=octets, **more)  # type: ignore[no-any-return]


def test_a_text_is_kept_and_then_acknowledged(kit: Any) -> None:
    async def scene(bench: Any) -> None:
        began = kit.wall()
        assert kit.status(await bench.centre.line.deliver(kit.mo("STOP"))) == "ESME_ROK"
        [sms] = bench.told.texts
        assert (sms.source, sms.destination, sms.text) == (kit.PHONE, "123", "STOP")
        assert sms.received_at == began

    kit.on_bench(scene)


def test_what_could_not_be_kept_is_not_acknowledged_and_comes_again(kit: Any) -> None:
    async def scene(bench: Any) -> None:
        bench.told.failures = [OSError("disk full"), ValueError(f"row of {kit.PHONE}")]
        for expected in ("ESME_RX_T_APPN", "ESME_RX_T_APPN", "ESME_ROK"):
            assert kit.status(await bench.centre.line.deliver(kit.mo("STOP"))) == expected
        assert [sms.text for sms in bench.told.texts] == ["STOP"]

    kit.on_bench(scene)


def test_it_is_acknowledged_after_it_is_kept(kit: Any) -> None:
    async def scene(bench: Any) -> None:
        line, order = bench.centre.line, []
        kept = bench.told.received
        bench.told.received = lambda sms: (order.append(dict(line.responses)), kept(sms))
        await line.deliver(kit.mo("STOP"))
        assert order == [{}]
        assert len(line.responses) == 1

    kit.on_bench(scene)


def test_two_equal_answers_are_two_messages(kit: Any) -> None:
    async def scene(bench: Any) -> None:
        await bench.centre.line.deliver(kit.mo("2"))
        await asyncio.sleep(10)
        await bench.centre.line.deliver(kit.mo("2"))
        first, second = bench.told.texts
        assert first.id_key != second.id_key

    kit.on_bench(scene)


def test_a_delivery_whose_acknowledgement_was_lost_has_the_same_key(kit: Any) -> None:
    async def scene(bench: Any) -> None:
        await bench.centre.line.deliver(kit.mo("2"))
        bench.centre.line.wire.cut()
        await asyncio.sleep(3)
        await bench.centre.line.deliver(kit.mo("2"))
        first, second = bench.told.texts
        assert first.id_key == second.id_key

    kit.on_bench(scene)


def test_an_acknowledgement_that_must_have_arrived_makes_the_next_a_new_one(kit: Any) -> None:
    """The centre answered something that we sent later, and only then the link broke."""

    async def scene(bench: Any) -> None:
        await bench.centre.line.deliver(kit.mo("2"))
        await asyncio.sleep(31)
        bench.centre.line.wire.cut()
        await asyncio.sleep(3)
        await bench.centre.line.deliver(kit.mo("2"))
        first, second = bench.told.texts
        assert first.id_key != second.id_key

    kit.on_bench(scene)


def test_what_an_earlier_process_kept_has_the_same_key_though_a_stretch_has_turned(
    kit: Any,
) -> None:
    """It was killed before it could acknowledge; the centre delivers to the next one."""
    print_ = fingerprint("smpp", kit.mo("2"))

    async def scene(bench: Any) -> None:
        now = kit.wall()
        stretch = int(now.timestamp() // 90) - 1
        for age, count in ((100, 1), (20, 0)):
            key = f"{print_}:{stretch}:{count}"
            came = now - timedelta(seconds=age)
            bench.told.before.append(InboundSms(key, kit.PHONE, "123", "2", came))
        line = bench.centre.line
        assert kit.status(await line.deliver(kit.mo("2"))) == "ESME_ROK"
        assert kit.status(await line.deliver(kit.mo("3"))) == "ESME_ROK"
        await asyncio.sleep(10)
        await line.deliver(kit.mo("2"))
        again, other, new = (sms.id_key for sms in bench.told.texts)
        assert again == f"{print_}:{stretch}:0"
        assert other.partition(":")[0] != print_
        assert new == f"{print_}:{stretch + 1}:0"

    kit.on_bench(scene)


def test_a_store_that_cannot_tell_what_was_kept_costs_no_text(kit: Any) -> None:
    def broken(*_: object) -> None:
        raise OSError("database locked")

    async def scene(bench: Any) -> None:
        bench.told.kept, working = broken, bench.told.kept
        assert kit.status(await bench.centre.line.deliver(kit.mo("2"))) == "ESME_RX_T_APPN"
        bench.told.kept = working
        assert kit.status(await bench.centre.line.deliver(kit.mo("2"))) == "ESME_ROK"
        assert len(bench.told.texts) == 1

    kit.on_bench(scene)


def test_a_delivery_that_came_again_before_we_were_ready_has_the_same_key(kit: Any) -> None:
    async def scene(bench: Any) -> None:
        line = bench.centre.line
        line.ask(5, kit.mo("2"))
        line.ask(5, kit.mo("2"))
        await asyncio.sleep(1)
        first, second = bench.told.texts
        assert first.id_key == second.id_key

    kit.on_bench(scene)


def test_an_id_of_the_centre_s_own_is_the_key(kit: Any) -> None:
    async def scene(bench: Any) -> None:
        await bench.centre.line.deliver(kit.mo(tlvs=((Tag.RECEIPTED_MESSAGE_ID, b"mo-17\0"),)))
        assert bench.told.texts[0].id_key == "north:mo-17"

    kit.on_bench(scene, name="north")


def test_texts_of_one_phone_keep_their_order(kit: Any) -> None:
    async def scene(bench: Any) -> None:
        for number in range(40):
            phone = kit.PHONE if number % 2 else kit.OTHER_PHONE
            bench.centre.line.ask(5, kit.mo(str(number), phone))
        await asyncio.sleep(1)
        for phone in (kit.PHONE, kit.OTHER_PHONE):
            numbers = [int(sms.text) for sms in bench.told.texts if sms.source == phone]
            assert numbers == sorted(numbers)
        assert len(bench.told.texts) == 40

    kit.on_bench(scene)


def test_a_full_lane_sends_the_centre_away_for_later(kit: Any) -> None:
    async def scene(bench: Any) -> None:
        line = bench.centre.line
        for number in range(10):
            line.ask(5, kit.mo(str(number)))
        await asyncio.sleep(1)
        statuses = [kit.status(line.responses[n]) for n in sorted(line.responses)]
        assert statuses.count("ESME_RX_T_APPN") >= 5
        assert len(bench.told.texts) == statuses.count("ESME_ROK")

    kit.on_bench(scene, lanes=1, lane_room=3)


def test_while_the_store_hangs_the_link_lives(kit: Any) -> None:
    async def whole() -> None:
        bench = kit.Bench()
        released = asyncio.Event()

        async def hanging(work: Any) -> Any:
            await released.wait()
            return work()

        bench.engine._inbox._offload = hanging
        async with bench:
            bench.centre.line.ask(5, kit.mo("2"))
            sequence = bench.centre.line.ask(0x15)
            await asyncio.sleep(1)
            assert set(bench.centre.line.responses) == {sequence}
            released.set()
            await asyncio.sleep(1)
            assert len(bench.centre.line.responses) == 2

    kit.run(whole())


def test_what_came_over_a_dead_link_waits_for_the_next(kit: Any) -> None:
    async def scene(bench: Any) -> None:
        bench.centre.line.ask(5, kit.mo("2"))
        bench.centre.line.wire.cut()
        await asyncio.sleep(2)
        assert bench.told.texts == []
        await bench.centre.line.deliver(kit.mo("2"))
        assert len(bench.told.texts) == 1

    kit.on_bench(scene)


@pytest.mark.parametrize("order", [(1, 2), (2, 1)])
def test_parts_are_put_together_in_any_order(kit: Any, order: tuple[int, int]) -> None:
    async def scene(bench: Any) -> None:
        for number in order:
            response = await bench.centre.line.deliver(part(kit, number))
            assert kit.status(response) == "ESME_ROK"
        assert [sms.text for sms in bench.told.texts] == ["part 1 part 2 "]

    kit.on_bench(scene)


def test_parts_of_the_vectors_are_put_together(kit: Any, vectors: dict[str, Any]) -> None:
    from service.gateways.smpp.codec import decode

    octets = next(v["hex"] for v in vectors["pdu"] if v["id"] == "deliver-udh-1of2")
    first = decode(bytes.fromhex(octets)).body
    assert isinstance(first, MessageBody)
    second = MessageBody(
        source=first.source,
        destination=first.destination,
        esm_class=0x40,
        short_message=bytes.fromhex("050003070202") + b"of beans",
    )

    async def scene(bench: Any) -> None:
        await bench.centre.line.deliver(second)
        await bench.centre.line.deliver(first)
        assert bench.told.texts[0].text == "I have 12 rows of beans"

    kit.on_bench(scene)


def test_parts_of_two_phones_and_two_texts_do_not_mix(kit: Any) -> None:
    async def scene(bench: Any) -> None:
        for number in (1, 2):
            for phone in (kit.PHONE, kit.OTHER_PHONE):
                for reference in (7, 8):
                    await bench.centre.line.deliver(
                        part(kit, number, reference=reference, phone=phone)
                    )
        assert len(bench.told.texts) == 4
        assert {sms.text for sms in bench.told.texts} == {"part 1 part 2 "}
        assert len({sms.id_key for sms in bench.told.texts}) == 4

    kit.on_bench(scene)


def test_a_text_with_a_missing_part_is_taken_after_ten_minutes(kit: Any) -> None:
    async def scene(bench: Any) -> None:
        await bench.centre.line.deliver(part(kit, 1, total=3))
        await bench.centre.line.deliver(part(kit, 3, total=3))
        await asyncio.sleep(9.9 * 60)
        assert bench.told.texts == []
        await asyncio.sleep(60)
        assert [sms.text for sms in bench.told.texts] == ["part 1  part 3 "]
        await asyncio.sleep(1_000)
        assert len(bench.told.texts) == 1

    kit.on_bench(scene)


def test_an_unfinished_text_that_cannot_be_kept_is_tried_again(kit: Any) -> None:
    async def scene(bench: Any) -> None:
        await bench.centre.line.deliver(part(kit, 1))
        bench.told.failures = [OSError("disk full")] * 3
        await asyncio.sleep(13 * 60)
        assert len(bench.told.texts) == 1

    kit.on_bench(scene)


def test_a_part_delivered_again_changes_nothing(kit: Any) -> None:
    """Neither before its text is whole nor after, when it would begin another."""

    async def scene(bench: Any) -> None:
        await bench.centre.line.deliver(part(kit, 1))
        await bench.centre.line.deliver(part(kit, 1))
        await bench.centre.line.deliver(part(kit, 2))
        bench.centre.line.wire.cut()
        await asyncio.sleep(3)
        assert kit.status(await bench.centre.line.deliver(part(kit, 2))) == "ESME_ROK"
        await asyncio.sleep(15 * 60)
        assert [sms.text for sms in bench.told.texts] == ["part 1 part 2 "]

    kit.on_bench(scene)


def test_the_last_part_is_acknowledged_when_the_whole_is_kept(kit: Any) -> None:
    async def scene(bench: Any) -> None:
        await bench.centre.line.deliver(part(kit, 1))
        bench.told.failures = [OSError("disk full")]
        response = await bench.centre.line.deliver(part(kit, 2))
        assert kit.status(response) == "ESME_RX_T_APPN"
        assert kit.status(await bench.centre.line.deliver(part(kit, 2))) == "ESME_ROK"
        assert [sms.text for sms in bench.told.texts] == ["part 1 part 2 "]

    kit.on_bench(scene)


def test_a_shelf_that_outlives_the_process_finishes_its_texts(kit: Any) -> None:
    shelf = MemoryShelf()

    async def first(bench: Any) -> None:
        await bench.centre.line.deliver(part(kit, 1))

    async def second(bench: Any) -> None:
        await bench.centre.line.deliver(part(kit, 2))
        assert [sms.text for sms in bench.told.texts] == ["part 1 part 2 "]

    kit.on_bench(first, shelf=shelf)
    kit.on_bench(second, shelf=shelf)


def test_a_shelf_may_hand_the_parts_on(kit: Any) -> None:
    """Somebody else puts them together; a part delivered again has the same key."""

    class HandsOn:
        def __init__(self) -> None:
            self.parts: list[Any] = []

        def put(self, part: Any) -> tuple[Any, ...]:
            self.parts.append(part)
            if len(self.parts) == 1:
                raise OSError("disk full")
            return (part,)

        def clear(self, message: object) -> None:
            raise AssertionError(message)

        def overdue(self, before: object) -> tuple[()]:
            return ()

    shelf = HandsOn()

    async def scene(bench: Any) -> None:
        for number in (1, 1, 2):
            await bench.centre.line.deliver(part(kit, number))
        await asyncio.sleep(15 * 60)
        assert bench.told.texts == []
        assert [one.number for one in shelf.parts] == [1, 1, 2]
        failed, kept, other = (one.id_key for one in shelf.parts)
        assert failed == kept != other

    kit.on_bench(scene, shelf=shelf)


def test_a_shelf_is_not_filled_without_end(kit: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("service.gateways.smpp.assembly.MOST_TEXTS", 2)

    async def scene(bench: Any) -> None:
        statuses = [
            kit.status(await bench.centre.line.deliver(part(kit, 1, reference=reference)))
            for reference in range(3)
        ]
        assert statuses == ["ESME_ROK", "ESME_ROK", "ESME_RX_T_APPN"]

    kit.on_bench(scene)


def test_receipts_are_handed_on(kit: Any) -> None:
    async def scene(bench: Any) -> None:
        at = kit.wall()
        assert kit.status(await bench.centre.line.deliver(receipt_for("0x2A"))) == "ESME_ROK"
        [found] = bench.told.receipts
        assert (found.message_id, found.state) == ("0x2A", "delivered")
        assert found.at - at < timedelta(seconds=1)
        assert bench.told.texts == []

    kit.on_bench(scene)


def test_receipts_for_nobody_do_not_pile_up_without_end(kit: Any) -> None:
    async def scene(bench: Any) -> None:
        bench.told.known = lambda _: False
        bench.engine._inbox._receipts._most = 2
        line = bench.centre.line
        statuses = [kit.status(await line.deliver(receipt_for(str(n)))) for n in range(3)]
        assert statuses == ["ESME_ROK", "ESME_ROK", "ESME_RX_T_APPN"]

    kit.on_bench(scene)


def test_a_receipt_that_could_not_be_kept_comes_again(kit: Any) -> None:
    async def scene(bench: Any) -> None:
        bench.told.failures = [OSError("disk full")]
        line = bench.centre.line
        assert kit.status(await line.deliver(receipt_for("1"))) == "ESME_RX_T_APPN"
        assert kit.status(await line.deliver(receipt_for("1"))) == "ESME_ROK"

    kit.on_bench(scene)


def test_a_receipt_that_overtakes_its_response_is_matched(kit: Any) -> None:
    """The centre tells of a delivery before it answers the submission."""

    async def scene(bench: Any) -> None:
        accepted: set[str] = set()
        matched: list[Receipt] = []

        def known(receipt: Receipt) -> bool:
            if receipt.message_id in accepted:
                matched.append(receipt)
                return True
            return False

        def on_submit(line: Any, pdu: Any) -> None:
            line.ask(5, receipt_for("id-1"))
            bench.centre.accept(line, pdu, after=4.0)

        bench.told.known, bench.centre.on_submit = known, on_submit
        result = await bench.submit()
        assert result == Accepted(("id-1",))
        assert matched == []
        accepted.update(result.message_ids)
        await asyncio.sleep(10)
        assert [receipt.message_id for receipt in matched] == ["id-1"]

    kit.on_bench(scene)


def test_a_receipt_for_nobody_is_offered_for_an_hour_and_dropped(
    kit: Any, caplog: pytest.LogCaptureFixture
) -> None:
    async def scene(bench: Any) -> None:
        bench.told.known = lambda _: False
        assert kit.status(await bench.centre.line.deliver(receipt_for("stray"))) == "ESME_ROK"
        await asyncio.sleep(59 * 60)
        assert "no message of ours" not in caplog.text
        await asyncio.sleep(120)
        offered = len(bench.told.receipts)
        assert offered == 8
        assert "no message of ours: stray" in caplog.text
        await asyncio.sleep(7_200)
        assert len(bench.told.receipts) == offered

    kit.on_bench(scene)


def test_a_store_that_fails_while_a_receipt_waits_costs_nothing(kit: Any) -> None:
    async def scene(bench: Any) -> None:
        bench.told.known = lambda _: False
        await bench.centre.line.deliver(receipt_for("1"))
        bench.told.failures = [OSError("disk full")]
        await asyncio.sleep(0.5)
        bench.told.known = lambda _: True
        await asyncio.sleep(2)
        assert len(bench.told.receipts) == 2

    kit.on_bench(scene)


@pytest.mark.parametrize(
    "useless",
    [
        {"data_coding": 4},
        {"esm_class": 0x08},
        {"esm_class": 0x10},
        {"source": Address(5, 0, "")},
        {"esm_class": 0x04},
    ],
)
def test_what_is_of_no_use_is_acknowledged_and_left(kit: Any, useless: dict[str, Any]) -> None:
    async def scene(bench: Any) -> None:
        response = await bench.centre.line.deliver(kit.mo("thanks", **useless))
        assert kit.status(response) == "ESME_ROK"
        assert bench.told.texts == bench.told.receipts == bench.told.steps == []

    kit.on_bench(scene)


def test_numbers_are_read_as_the_service_asks(kit: Any) -> None:
    async def scene(bench: Any) -> None:
        await bench.centre.line.deliver(kit.mo(source=Address(2, 1, "0712345678")))
        await bench.centre.line.deliver(kit.mo(source=Address(1, 1, "+10005550101")))
        assert [sms.source for sms in bench.told.texts] == ["+99712345678", "+10005550101"]

        await bench.centre.line.deliver(kit.mo(source=Address(1, 1, "10005550102")))
        assert bench.told.texts[2].source == "+10005550102", "its type says it is international"

    kit.on_bench(scene, read_number=lambda n: "+99" + n[1:] if n.startswith("0") else n)


def test_a_long_text_in_a_payload(kit: Any) -> None:
    async def scene(bench: Any) -> None:
        tlvs = ((Tag.MESSAGE_PAYLOAD, b"a" * 400),)
        await bench.centre.line.deliver(kit.mo(short_message=b"", tlvs=tlvs))
        assert bench.told.texts[0].text == "a" * 400

    kit.on_bench(scene)


def test_what_comes_while_we_end_is_for_the_next_time(kit: Any) -> None:
    async def whole() -> None:
        bench = kit.Bench()
        released = asyncio.Event()

        async def hanging(work: Any) -> Any:
            await released.wait()
            return work()

        bench.engine._inbox._offload = hanging
        async with bench:
            line = bench.centre.line
            line.ask(5, kit.mo("1"))
            await asyncio.sleep(1)
            bench.engine.end(5.0)
            await asyncio.sleep(1)
            late = line.ask(5, kit.mo("2"))
            await asyncio.sleep(1)
            assert kit.status(line.responses[late]) == "ESME_RX_T_APPN"
            released.set()
            await asyncio.sleep(1)
            assert kit.status(line.responses[1]) == "ESME_ROK"
        assert [sms.text for sms in bench.told.texts] == ["1"]

    kit.run(whole())


def test_deliveries_in_hand_are_finished_at_the_end(kit: Any) -> None:
    async def whole() -> Any:
        async with kit.Bench() as bench:
            for number in range(20):
                bench.centre.line.ask(5, kit.mo(str(number)))
            await asyncio.sleep(0)
            await asyncio.sleep(0)
        return bench

    bench = kit.run(whole())
    answered = [r for r in bench.centre.line.responses.values() if r.status == 0]
    assert len(answered) == len(bench.told.texts)
