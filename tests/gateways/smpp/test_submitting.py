"""Texts on their way out: what leaves, and what the sender is told of it."""

from __future__ import annotations

import asyncio
from datetime import timedelta
from typing import Any

import pytest

from service.gateways.smpp.codec import Address, IdBody, MessageBody
from service.gateways.smpp.codes import Command, Status, Tag
from service.gateways.smpp.concatenation import Place, content
from service.gateways.smpp.ports import (
    Accepted,
    NotSent,
    Refused,
    Throttled,
    Uncertain,
    reference_of,
)

LONG = "Open the valve of the first block. " * 12


def refusing(bench: Any, *statuses: int) -> None:
    """Answer the next submissions with these statuses, then accept again."""
    left = list(statuses)

    def on_submit(line: Any, pdu: Any) -> None:
        if left and (status := left.pop(0)):
            line.answer(pdu, status)
        else:
            bench.centre.accept(line, pdu)

    bench.centre.on_submit = on_submit


def test_a_text_goes_out_with_all_that_the_centre_needs(kit: Any) -> None:
    async def scene(bench: Any) -> None:
        result = await bench.submit(id="m-7", valid_for=timedelta(hours=6), sender="Litreline")
        assert result == Accepted(("id-1",))
        assert bench.centre.submitted == [
            MessageBody(
                source=Address(5, 0, "Litreline"),
                destination=Address(1, 1, kit.PHONE.removeprefix("+")),
                validity="000000060000000R",
                registered_delivery=1,
                data_coding=0,
                short_message=b"Flush the lines",
                tlvs=((Tag.USER_MESSAGE_REFERENCE, reference_of("m-7").to_bytes(2, "big")),),
            )
        ]

    kit.on_bench(scene)


@pytest.mark.parametrize(
    ("sender", "address"),
    [
        ("", Address(3, 9, "123")),
        ("4567", Address(3, 9, "4567")),
        ("+10005550199", Address(1, 1, "10005550199")),
        ("Field desk", Address(5, 0, "Field desk")),
    ],
)
def test_senders_of_each_kind(kit: Any, sender: str, address: Address) -> None:
    async def scene(bench: Any) -> None:
        assert isinstance(await bench.submit(sender=sender), Accepted)
        assert bench.centre.submitted[0].source == address

    kit.on_bench(scene, short_code_ton=3, short_code_npi=9)


def test_the_words_of_the_vectors_become_their_octets(kit: Any, vectors: dict[str, Any]) -> None:
    """The 7-bit alphabet one septet an octet, UCS-2 where a letter needs it."""
    said = {v["id"]: v["meaning"] for v in vectors["pdu"]}

    async def scene(bench: Any) -> None:
        for number, name in enumerate(("submit-gsm7", "submit-ucs2")):
            await bench.submit(said[name]["text"])
            sent = bench.centre.submitted[number]
            assert sent.data_coding == said[name]["data_coding"]
            expected = next(v["hex"] for v in vectors["pdu"] if v["id"] == name)
            assert sent.short_message.hex() in expected

    kit.on_bench(scene)


def test_the_parts_of_the_vectors_become_their_octets(kit: Any, vectors: dict[str, Any]) -> None:
    """An escape pair is not cut: parts of 152, 153 and 1 septets (TS 123 040, 9.2.3.24.1)."""
    expected = [v for v in vectors["pdu"] if v["id"].startswith("submit-udh")]
    text = "".join(v["meaning"]["text"] for v in expected)

    async def scene(bench: Any) -> None:
        result = await bench.submit(text)
        assert result == Accepted(("id-1", "id-2", "id-3"))
        for sent, vector in zip(bench.centre.submitted, expected, strict=True):
            # Ours carry a reference of their own in the fourth octet.
            ours = sent.short_message[:3] + b"\x2a" + sent.short_message[4:]
            assert ours.hex() in vector["hex"], vector["id"]
            assert len(ours) == 6 + vector["meaning"]["septets"]
            assert sent.esm_class == 0x40

    kit.on_bench(scene)


@pytest.mark.parametrize("form", ["udh", "sar"])
def test_parts_share_the_reference_of_their_message(kit: Any, form: str) -> None:
    async def scene(bench: Any) -> None:
        await bench.submit(LONG, id="m-9")
        reference = reference_of("m-9") & (0xFF if form == "udh" else 0xFFFF)
        places = [content(sent)[0] for sent in bench.centre.submitted]
        assert places == [Place(reference, 3, number) for number in (1, 2, 3)]
        texts = [content(sent)[1].decode("ascii") for sent in bench.centre.submitted]
        assert "".join(texts) == LONG
        assert (bench.centre.submitted[0].esm_class == 0x40) == (form == "udh")

    kit.on_bench(scene, concatenation=form)


def test_a_message_sent_again_carries_the_same_references(kit: Any) -> None:
    async def scene(bench: Any) -> None:
        await bench.submit(LONG, id="m-9")
        await bench.submit(LONG, id="m-9")
        assert bench.centre.submitted[:3] == bench.centre.submitted[3:]

    kit.on_bench(scene)


def test_one_letter_outside_the_alphabet_puts_every_part_in_ucs2(kit: Any) -> None:
    async def scene(bench: Any) -> None:
        await bench.submit("a" * 100 + "ê", wants_receipt=False)
        assert [sent.data_coding for sent in bench.centre.submitted] == [8, 8]
        assert [len(content(sent)[1]) for sent in bench.centre.submitted] == [134, 68]
        assert bench.centre.submitted[0].registered_delivery == 0

    kit.on_bench(scene)


@pytest.mark.parametrize(
    ("status", "expected"),
    [
        (Status.ESME_RINVDSTADR, Refused("permanent", 0x0B, "ESME_RINVDSTADR")),
        (Status.ESME_RX_P_APPN, Refused("permanent", 0x65, "ESME_RX_P_APPN")),
        (Status.ESME_RINVDCS, Refused("permanent", 0x104, "ESME_RINVDCS", alert=True)),
        (Status.ESME_RSYSERR, Refused("temporary", 0x08, "ESME_RSYSERR")),
        (Status.ESME_RSUBMITFAIL, Refused("temporary", 0x45, "ESME_RSUBMITFAIL")),
        (Status.ESME_RINVSRCADR, Refused("temporary", 0x0A, "ESME_RINVSRCADR", alert=True)),
        (0x4AB, Refused("temporary", 0x4AB, "0x4AB")),
    ],
)
def test_refusals_say_whether_they_may_pass(kit: Any, status: int, expected: Refused) -> None:
    async def scene(bench: Any) -> None:
        refusing(bench, status)
        assert await bench.submit() == expected

    kit.on_bench(scene)


def test_a_nack_is_a_refusal(kit: Any) -> None:
    async def scene(bench: Any) -> None:
        from service.gateways.smpp.codec import Pdu

        bench.centre.on_submit = lambda line, pdu: line.send(
            Pdu(Command.GENERIC_NACK, pdu.sequence, Status.ESME_RINVCMDID)
        )
        result = await bench.submit()
        assert result == Refused("permanent", 3, "ESME_RINVCMDID", alert=True)

    kit.on_bench(scene)


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"to": "0712345678"}, "not a phone number"),
        ({"to": "+12"}, "not a phone number"),
        ({"to": "+१०००५५५०१०१"}, "not a phone number"),
        ({"sender": "पानी"}, "encode"),
        ({"sender": "A name too long"}, "at most 11"),
        ({"text": "x" * 39_016}, "at most 255"),
    ],
)
def test_what_cannot_be_sent_is_refused_at_once(
    kit: Any, changes: dict[str, Any], words: str
) -> None:
    async def scene(bench: Any) -> None:
        result = await bench.submit(**changes)
        assert isinstance(result, Refused)
        assert result.kind == "permanent"
        assert words in result.reason
        assert bench.centre.submitted == []

    kit.on_bench(scene)


def test_a_wrong_state_of_the_bind_binds_anew(kit: Any) -> None:
    async def scene(bench: Any) -> None:
        refusing(bench, Status.ESME_RINVBNDSTS)
        result = await bench.submit()
        assert isinstance(result, Refused)
        assert result.kind == "temporary"
        assert isinstance(await bench.submit(), Accepted)
        assert len(bench.centre.connections) == 2

    kit.on_bench(scene)


def test_no_more_than_the_window_without_a_response(kit: Any) -> None:
    async def scene(bench: Any) -> None:
        open_now = most = 0

        def on_submit(line: Any, pdu: Any) -> None:
            nonlocal open_now, most
            open_now += 1
            most = max(most, open_now)
            asyncio.get_running_loop().call_later(2.0, answer, line, pdu)

        def answer(line: Any, pdu: Any) -> None:
            nonlocal open_now
            open_now -= 1
            bench.centre.accept(line, pdu)

        bench.centre.on_submit = on_submit
        results = await asyncio.gather(*(bench.submit(f"text {n}") for n in range(35)))
        assert all(isinstance(result, Accepted) for result in results)
        assert most == 10

    kit.on_bench(scene)


def test_the_pace_is_that_of_the_contract(kit: Any) -> None:
    async def scene(bench: Any) -> None:
        began = kit.now()
        await asyncio.gather(*(bench.submit(f"text {n}") for n in range(105)))
        assert kit.now() - began == pytest.approx(20.0, abs=0.3)

    kit.on_bench(scene, per_second=5.0)


def test_a_missing_response_leaves_the_message_uncertain(kit: Any) -> None:
    async def scene(bench: Any) -> None:
        bench.centre.on_submit = lambda line, pdu: None
        began = kit.now()
        assert await bench.submit() == Uncertain("no response within 30 s")
        assert kit.now() - began == pytest.approx(30.0)
        assert len(bench.centre.submitted) == 1

    kit.on_bench(scene)


def test_a_late_response_settles_it(kit: Any) -> None:
    async def scene(bench: Any) -> None:
        bench.centre.on_submit = lambda line, pdu: bench.centre.accept(line, pdu, after=45.0)
        assert isinstance(await bench.submit(id="m-1"), Uncertain)
        assert bench.told.settlements == []
        await asyncio.sleep(20)
        assert bench.told.settlements == [("m-1", Accepted(("id-1",)))]

    kit.on_bench(scene)


def test_a_late_refusal_settles_it_too(kit: Any) -> None:
    async def scene(bench: Any) -> None:
        bench.centre.on_submit = lambda line, pdu: line.answer(pdu, 0x0B, after=45.0)
        assert isinstance(await bench.submit(id="m-1"), Uncertain)
        await asyncio.sleep(20)
        refusal = Refused("permanent", 0x0B, "ESME_RINVDSTADR")
        assert bench.told.settlements == [("m-1", refusal)]

    kit.on_bench(scene)


def test_a_missing_response_holds_the_other_parts_back_from_nothing(kit: Any) -> None:
    """More often the response is lost than the message; half a text helps nobody."""

    async def scene(bench: Any) -> None:
        def on_submit(line: Any, pdu: Any) -> None:
            first = len(bench.centre.submitted) == 1
            bench.centre.accept(line, pdu, after=45.0 if first else 0.0)

        bench.centre.on_submit = on_submit
        result = await bench.submit(LONG, id="m-1")
        assert result == Uncertain("no response within 30 s", ("id-2", "id-3"))
        await asyncio.sleep(20)
        assert bench.told.settlements == [("m-1", Accepted(("id-1", "id-2", "id-3")))]

    kit.on_bench(scene)


def test_a_refusal_ends_a_long_text(kit: Any) -> None:
    async def scene(bench: Any) -> None:
        refusing(bench, Status.ESME_RINVDSTADR)
        assert isinstance(await bench.submit(LONG), Refused)
        assert len(bench.centre.submitted) == 1
        refusing(bench, 0, Status.ESME_RINVDSTADR)
        result = await bench.submit(LONG)
        assert isinstance(result, Uncertain), "one part was taken, so it is not as if none was"
        assert result.message_ids == ("id-1",)

    kit.on_bench(scene)


def test_responses_that_stay_out_end_the_bind(kit: Any) -> None:
    async def scene(bench: Any) -> None:
        bench.centre.on_submit = lambda line, pdu: None
        for _ in range(3):
            await bench.submit()
        bench.centre.on_submit = bench.centre.accept
        assert isinstance(await bench.submit(), Accepted)
        assert len(bench.centre.connections) == 2

    kit.on_bench(scene)


def test_a_link_cut_before_the_response_leaves_it_uncertain(kit: Any) -> None:
    async def scene(bench: Any) -> None:
        bench.centre.on_submit = lambda line, pdu: line.wire.cut()
        result = await bench.submit()
        assert isinstance(result, Uncertain)
        await asyncio.sleep(100)
        assert len(bench.centre.submitted) == 1, "never sent again by itself"

    kit.on_bench(scene)


def test_without_a_bind_nothing_leaves_and_that_is_said(kit: Any) -> None:
    async def scene(bench: Any) -> None:
        bench.centre.refuse_connections = 1_000
        bench.centre.line.wire.cut()
        await asyncio.sleep(1)
        began = kit.now()
        result = await bench.submit(within=8.0)
        assert isinstance(result, NotSent)
        assert "Connection refused" in result.reason
        assert kit.now() - began == pytest.approx(8.0)
        assert bench.centre.submitted == []

    kit.on_bench(scene)


def test_a_message_waits_for_the_bind_to_come_back(kit: Any) -> None:
    async def scene(bench: Any) -> None:
        bench.centre.refuse_connections = 3
        bench.centre.line.wire.cut()
        assert isinstance(await bench.submit(within=60.0), Accepted)

    kit.on_bench(scene)


def test_throttling_is_told_with_the_time_to_wait(kit: Any) -> None:
    async def scene(bench: Any) -> None:
        refusing(bench, Status.ESME_RTHROTTLED, Status.ESME_RMSGQFUL)
        assert await bench.submit() == Throttled(1.0)
        assert await bench.submit(within=0.5) == Throttled(1.0), "nothing leaves in the pause"
        assert len(bench.centre.submitted) == 1
        began = kit.now()
        assert await bench.submit() == Throttled(2.0)
        assert kit.now() - began == pytest.approx(1.0)
        assert isinstance(await bench.submit(), Accepted)

    kit.on_bench(scene)


def test_a_burst_of_throttling_is_one(kit: Any) -> None:
    async def scene(bench: Any) -> None:
        refusing(bench, *[Status.ESME_RTHROTTLED] * 10)
        results = await asyncio.gather(*(bench.submit(f"text {n}") for n in range(10)))
        assert results == [Throttled(1.0)] * 10
        began = kit.now()
        await asyncio.gather(*(bench.submit(f"text {n}") for n in range(41)))
        # A second of pause, one at once, then at ten a second instead of twenty.
        assert kit.now() - began == pytest.approx(1.0 + 4.0, abs=0.2)

    kit.on_bench(scene, per_second=20.0)


def test_the_rate_recovers_by_a_tenth_a_minute(kit: Any) -> None:
    async def scene(bench: Any) -> None:
        refusing(bench, Status.ESME_RTHROTTLED)
        await bench.submit()
        await asyncio.sleep(3 * 60.0)
        # Sixteen a second after three minutes: the burst of one second, then the rest.
        began = kit.now()
        await asyncio.gather(*(bench.submit(f"text {n}") for n in range(16 + 48)))
        assert kit.now() - began == pytest.approx(3.0, abs=0.1)

    kit.on_bench(scene, per_second=20.0)


def test_a_throttled_part_is_tried_again_once_another_was_taken(kit: Any) -> None:
    async def scene(bench: Any) -> None:
        refusing(bench, 0, Status.ESME_RTHROTTLED, Status.ESME_RTHROTTLED)
        result = await bench.submit(LONG)
        assert isinstance(result, Accepted)
        assert len(bench.centre.accepted) == 3
        assert len(bench.centre.submitted) == 5

    kit.on_bench(scene)


def test_a_part_that_failed_for_now_is_tried_again_once_another_was_taken(kit: Any) -> None:
    async def scene(bench: Any) -> None:
        refusing(bench, 0, Status.ESME_RSYSERR)
        began = kit.now()
        assert isinstance(await bench.submit(LONG), Accepted)
        assert kit.now() - began == pytest.approx(5.0, abs=0.1)
        assert len(bench.centre.accepted) == 3

    kit.on_bench(scene)


def test_what_has_begun_to_leave_leaves_whole(kit: Any) -> None:
    """The first part took all the time given; the second follows nevertheless."""

    async def scene(bench: Any) -> None:
        bench.centre.on_submit = lambda line, pdu: bench.centre.accept(line, pdu, after=20.0)
        assert isinstance(await bench.submit("a" * 200, within=5.0), Accepted)

    kit.on_bench(scene)


def test_a_throttled_part_that_finds_no_time_leaves_the_message_uncertain(kit: Any) -> None:
    async def scene(bench: Any) -> None:
        refusing(bench, 0, *[Status.ESME_RTHROTTLED] * 50)
        result = await bench.submit(LONG, within=10.0)
        assert isinstance(result, Uncertain)
        assert result.message_ids == ("id-1",)

    kit.on_bench(scene)


def test_a_response_without_an_id_is_a_response(kit: Any) -> None:
    async def scene(bench: Any) -> None:
        bench.centre.on_submit = lambda line, pdu: line.answer(pdu)
        assert await bench.submit() == Accepted(("",))

    kit.on_bench(scene)


def test_ids_are_kept_as_text(kit: Any) -> None:
    async def scene(bench: Any) -> None:
        bench.centre.on_submit = lambda line, pdu: line.answer(pdu, 0, IdBody("0x2A"))
        assert await bench.submit() == Accepted(("0x2A",))

    kit.on_bench(scene)


def test_whoever_gives_up_waiting_stops_nothing(kit: Any) -> None:
    async def scene(bench: Any) -> None:
        bench.centre.on_submit = lambda line, pdu: bench.centre.accept(line, pdu, after=1.0)
        waiting = bench.submit(LONG)
        await asyncio.sleep(0.5)
        waiting.cancel()
        await asyncio.sleep(10)
        assert len(bench.centre.accepted) == 3

    kit.on_bench(scene)


def test_a_receiver_does_not_send(kit: Any) -> None:
    async def scene(bench: Any) -> None:
        assert await bench.submit() == NotSent("a bind that only receives")

    kit.on_bench(scene, mode="receiver")
