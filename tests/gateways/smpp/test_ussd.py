"""USSD dialogues over SMPP."""

from __future__ import annotations

import asyncio
from typing import Any

import pytest

from service.gateways.smpp.codec import Address, MessageBody, decode
from service.gateways.smpp.codes import Status, Tag
from service.gateways.smpp.ports import UssdOut

pytestmark = pytest.mark.usefixtures("no_numbers_in_logs")


def step(
    kit: Any, text: str, op: int, info: tuple[int, int] | None = (42, 0), **more: Any
) -> MessageBody:
    tlvs = [(Tag.USSD_SERVICE_OP, bytes([op]))]
    if info:
        tlvs.append((Tag.ITS_SESSION_INFO, bytes([info[0], info[1]])))
    return kit.mo(  # type: ignore[no-any-return]
        text, service_type="USSD", data_coding=0x0F, tlvs=(*tlvs, *more.pop("tlvs", ())), **more
    )


def marks(body: MessageBody) -> tuple[int, int, int, int]:
    """Operation, session, sequence and end bit of a screen."""
    info = body.tlv(Tag.ITS_SESSION_INFO)
    op = body.number(Tag.USSD_SERVICE_OP)
    assert info is not None
    assert op is not None
    return op, info[0], info[1] >> 1, info[1] & 1


def vector(vectors: dict[str, Any], name: str) -> MessageBody:
    body = decode(bytes.fromhex(next(v["hex"] for v in vectors["pdu"] if v["id"] == name))).body
    assert isinstance(body, MessageBody)
    return body


def test_the_dialogue_of_the_vectors(kit: Any, vectors: dict[str, Any]) -> None:
    """Dialled, asked, answered and ended: every octet of ours is that of the vectors."""

    async def scene(bench: Any) -> None:
        screens = iter([UssdOut("1 Plan\n2 Help", more=True), UssdOut("Thank you", more=False)])
        bench.told.screen = lambda _: next(screens)
        await bench.centre.line.deliver(vector(vectors, "deliver-ussd-begin"))
        await bench.centre.line.deliver(vector(vectors, "deliver-ussd-reply"))
        await asyncio.sleep(0.1)
        first, second = bench.told.steps
        assert (first.phase, first.step, first.text) == ("begin", 0, "")
        assert (second.phase, second.step, second.text) == ("continue", 1, "1")
        assert first.session_key == second.session_key == "dialogue-1"
        assert first.service_code == second.service_code == "*123#"
        assert first.source == "+254700000001"
        asked, final = bench.centre.submitted
        for sent, name in ((asked, "submit-ussd-request"), (final, "submit-ussd-final")):
            expected = vector(vectors, name)
            assert marks(sent) == marks(expected), name
            for field in ("short_message", "data_coding", "service_type", "source", "esm_class"):
                assert getattr(sent, field) == getattr(expected, field), (name, field)
            assert sent.destination.number == expected.destination.number

    kit.on_bench(scene)


def test_the_screen_leaves_after_the_acknowledgement(kit: Any) -> None:
    async def scene(bench: Any) -> None:
        line, acknowledged = bench.centre.line, []
        bench.centre.on_submit = lambda *_: acknowledged.append(len(line.responses))
        await line.deliver(step(kit, "*123#", 1))
        await asyncio.sleep(0.1)
        assert acknowledged == [1]

    kit.on_bench(scene)


def test_the_same_answer_to_two_questions_counts_twice(kit: Any) -> None:
    async def scene(bench: Any) -> None:
        line = bench.centre.line
        await line.deliver(step(kit, "*123#", 1, (42, 0)))
        await line.deliver(step(kit, "2", 18, (42, 2)))
        await line.deliver(step(kit, "2", 18, (42, 4)))
        await asyncio.sleep(0.1)
        assert [s.step for s in bench.told.steps] == [0, 1, 2]
        assert [marks(sent)[2] for sent in bench.centre.submitted] == [1, 2, 3]

    kit.on_bench(scene)


def test_the_same_answer_counts_twice_where_the_centre_counts_no_steps(kit: Any) -> None:
    async def scene(bench: Any) -> None:
        line = bench.centre.line
        for text, op in (("*123#", 1), ("2", 18), ("2", 18)):
            await line.deliver(step(kit, text, op, None))
            await asyncio.sleep(5)
        assert [s.step for s in bench.told.steps] == [0, 1, 2]
        assert bench.centre.submitted[0].tlv(Tag.ITS_SESSION_INFO) is None

    kit.on_bench(scene)


def test_a_step_delivered_again_is_the_same_step_and_its_screen_is_shown_again(kit: Any) -> None:
    async def scene(bench: Any) -> None:
        await bench.centre.line.deliver(step(kit, "*123#", 1, (42, 0)))
        # Without any answer to what we sent later, our acknowledgement may have been lost too.
        bench.centre.on_submit = lambda line, pdu: None
        await bench.centre.line.deliver(step(kit, "2", 18, (42, 2)))
        bench.centre.line.wire.cut()
        await asyncio.sleep(3)
        await bench.centre.line.deliver(step(kit, "2", 18, (42, 2)))
        await asyncio.sleep(0.1)
        assert [s.step for s in bench.told.steps] == [0, 1, 1]
        assert bench.centre.submitted[-1] == bench.centre.submitted[-2]

    kit.on_bench(scene)


def test_the_last_step_delivered_again_is_still_the_last(kit: Any) -> None:
    async def scene(bench: Any) -> None:
        await bench.centre.line.deliver(step(kit, "*123#", 1, (42, 0)))
        bench.told.screen = lambda _: UssdOut("Bye", more=False)
        bench.centre.on_submit = lambda line, pdu: None
        for _ in range(2):
            await bench.centre.line.deliver(step(kit, "2", 18, (42, 2)))
            bench.centre.line.wire.cut()
            await asyncio.sleep(3)
        assert [(s.session_key, s.step) for s in bench.told.steps] == [
            ("dialogue-1", 0),
            ("dialogue-1", 1),
            ("dialogue-1", 1),
        ]
        await bench.centre.line.deliver(step(kit, "3", 18, (42, 4)))
        assert bench.told.steps[-1].session_key == "dialogue-2", "that one was over"

    kit.on_bench(scene)


def test_the_count_of_steps_begins_again_behind_127(kit: Any) -> None:
    async def scene(bench: Any) -> None:
        await bench.centre.line.deliver(step(kit, "*123#", 1, (200, 127 << 1)))
        await asyncio.sleep(0.1)
        assert marks(bench.centre.submitted[0]) == (2, 200, 0, 0)

    kit.on_bench(scene)


def test_a_beginning_delivered_again_begins_nothing_else(kit: Any) -> None:
    async def scene(bench: Any) -> None:
        bench.told.failures = [OSError("disk full")]
        line = bench.centre.line
        assert kit.status(await line.deliver(step(kit, "*123#", 1))) == "ESME_RX_T_APPN"
        assert kit.status(await line.deliver(step(kit, "*123#", 1))) == "ESME_ROK"
        [only] = bench.told.steps
        assert (only.step, only.phase, only.session_key) == (0, "begin", "dialogue-1")

    kit.on_bench(scene)


def test_a_step_that_could_not_be_kept_keeps_its_number(kit: Any) -> None:
    async def scene(bench: Any) -> None:
        line = bench.centre.line
        await line.deliver(step(kit, "*123#", 1))
        bench.told.failures = [OSError("disk full")]
        await line.deliver(step(kit, "2", 18, (42, 2)))
        await line.deliver(step(kit, "2", 18, (42, 2)))
        assert [s.step for s in bench.told.steps] == [0, 1]

    kit.on_bench(scene)


def test_dialling_again_begins_another_dialogue(kit: Any) -> None:
    async def scene(bench: Any) -> None:
        for _ in range(2):
            await bench.centre.line.deliver(step(kit, "*123#", 1))
            await asyncio.sleep(10)
        assert [s.session_key for s in bench.told.steps] == ["dialogue-1", "dialogue-2"]
        assert [s.phase for s in bench.told.steps] == ["begin", "begin"]

    kit.on_bench(scene)


def test_dialogues_of_two_phones_with_one_number_of_session(kit: Any) -> None:
    async def scene(bench: Any) -> None:
        for phone in (kit.PHONE, kit.OTHER_PHONE):
            await bench.centre.line.deliver(step(kit, "*123#", 1, phone=phone))
        for phone in (kit.PHONE, kit.OTHER_PHONE):
            await bench.centre.line.deliver(step(kit, "2", 18, (42, 2), phone=phone))
        keys = {(s.source, s.session_key) for s in bench.told.steps}
        assert len(keys) == 2

    kit.on_bench(scene)


@pytest.mark.parametrize(
    "told",
    [
        {"op": 18, "info": (42, 3)},
        {"op": 33, "info": (42, 2)},
        {"op": 18, "info": (42, 2), "esm_class": 0x18},
    ],
)
def test_an_abort_is_told_and_nothing_is_shown(kit: Any, told: dict[str, Any]) -> None:
    """How an abort is told is the operator's own: an end bit, a code, or a type of delivery."""

    async def scene(bench: Any) -> None:
        line = bench.centre.line
        await line.deliver(step(kit, "*123#", 1))
        await asyncio.sleep(0.1)
        assert kit.status(await line.deliver(step(kit, "", **told))) == "ESME_ROK"
        await asyncio.sleep(0.1)
        assert [s.phase for s in bench.told.steps] == ["begin", "abort"]
        assert len(bench.centre.submitted) == 1

    from service.gateways.smpp.options import Ussd

    kit.on_bench(scene, ussd=Ussd(abort_ops=frozenset({33})))


def test_a_dialogue_nobody_knows_is_the_service_s_to_judge(kit: Any) -> None:
    """Begun before a restart: it goes on under a key of its own."""

    async def scene(bench: Any) -> None:
        await bench.centre.line.deliver(step(kit, "2", 18, (42, 2)))
        [only] = bench.told.steps
        assert (only.phase, only.step, only.text) == ("continue", 1, "2")
        assert only.service_code == "123"

    kit.on_bench(scene)


def test_a_dialogue_is_over_after_three_minutes(kit: Any) -> None:
    async def scene(bench: Any) -> None:
        await bench.centre.line.deliver(step(kit, "*123#", 1))
        await asyncio.sleep(181)
        await bench.centre.line.deliver(step(kit, "2", 18, (42, 2)))
        assert len({s.session_key for s in bench.told.steps}) == 2

    kit.on_bench(scene)


@pytest.mark.parametrize("op", [16, 17, 19, 40])
def test_confirmations_and_codes_of_the_operator_s_own_are_left(kit: Any, op: int) -> None:
    async def scene(bench: Any) -> None:
        response = await bench.centre.line.deliver(step(kit, "", op, (42, 2)))
        assert kit.status(response) == "ESME_ROK"
        assert bench.told.steps == bench.told.texts == []

    kit.on_bench(scene)


def test_the_first_phase_s_request_gets_its_own_response(kit: Any) -> None:
    async def scene(bench: Any) -> None:
        bench.told.screen = lambda _: UssdOut("Call the helpline", more=False)
        await bench.centre.line.deliver(step(kit, "*123#", 0))
        await asyncio.sleep(0.1)
        assert marks(bench.centre.submitted[0]) == (16, 42, 1, 1)

    kit.on_bench(scene)


def test_screens_in_another_script(kit: Any) -> None:
    async def scene(bench: Any) -> None:
        bench.told.screen = lambda _: UssdOut("पानी दें", more=True)
        await bench.centre.line.deliver(step(kit, "*123#", 1))
        await asyncio.sleep(0.1)
        [sent] = bench.centre.submitted
        assert sent.data_coding == 0x48
        assert sent.short_message.decode("utf-16-be") == "पानी दें"

    kit.on_bench(scene)


def test_a_screen_that_no_phone_shows_whole_is_not_sent(
    kit: Any, caplog: pytest.LogCaptureFixture
) -> None:
    async def scene(bench: Any) -> None:
        bench.told.screen = lambda _: UssdOut("x" * 183, more=True)
        assert kit.status(await bench.centre.line.deliver(step(kit, "*123#", 1))) == "ESME_ROK"
        await asyncio.sleep(0.1)
        assert bench.centre.submitted == []
        assert "longer than a USSD string" in caplog.text

    kit.on_bench(scene)


def test_a_screen_overtakes_the_texts_that_wait(kit: Any) -> None:
    async def scene(bench: Any) -> None:
        bulk = [bench.submit(f"reminder {n}") for n in range(50)]
        await asyncio.sleep(5)
        await bench.centre.line.deliver(step(kit, "*123#", 1))
        await asyncio.sleep(1.5)
        place = [sent.service_type for sent in bench.centre.submitted].index("USSD")
        assert place <= 7
        for one in bulk:
            one.cancel()

    kit.on_bench(scene, per_second=1.0)


def test_a_screen_that_is_late_is_let_go(kit: Any) -> None:
    async def scene(bench: Any) -> None:
        bench.centre.on_submit = lambda line, pdu: line.answer(pdu, Status.ESME_RTHROTTLED)
        for _ in range(6):
            await bench.submit()
            await asyncio.sleep(31)
        before = len(bench.centre.submitted)
        await bench.submit()
        await bench.centre.line.deliver(step(kit, "*123#", 1))
        await asyncio.sleep(100)
        assert len(bench.centre.submitted) == before + 1

    kit.on_bench(scene)


def test_a_number_without_a_plus_and_one_that_is_not_known(kit: Any) -> None:
    async def scene(bench: Any) -> None:
        source = Address(0, 0, "10005550101")
        await bench.centre.line.deliver(step(kit, "*123#", 1, source=source))
        await asyncio.sleep(0.1)
        assert bench.told.steps[0].source == kit.PHONE
        assert bench.centre.submitted[0].destination == source, "answered as it was addressed"

    kit.on_bench(scene)
