"""The gateway against npm `smpp` 0.5.1 on loopback: another program, in another language."""

from __future__ import annotations

import threading
import time
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest

from service.gateways.smpp import (
    Accepted,
    NotSent,
    Outgoing,
    Receipt,
    Refused,
    Throttled,
    Uncertain,
    UssdOut,
    reference_of,
)

LONG = "Open the valve of the first block until the drum is empty, then the second. " * 3
TEXTS = (
    "Flush the lines today",
    "Price 5€ {a} [b] ~ ^ | \\",
    "è é ù ì ò Ç Ø Å Δ Ω ß ¿ Ä ñ à",
    "आज पानी दें",
    "drip 🌱",
)

pytestmark = pytest.mark.usefixtures("no_numbers_in_logs")


def outgoing(kit: Any, id_: str = "m-1", text: str = "Flush", **more: Any) -> Outgoing:
    return Outgoing(id_, kit.PHONE, text, **more)


@pytest.mark.parametrize("mode", ["transceiver", "transmitter", "receiver"])
def test_binds_and_takes_its_leave(node: Any, bound: Any, mode: str) -> None:
    gateway, _ = bound(node.port, mode=mode)
    seen = node.wait("bind")
    assert (seen["command"], seen["system_id"], seen["version"]) == (
        f"bind_{mode}",
        "litreline",
        52,
    )
    gateway.stop()
    node.wait("unbind")
    node.wait("close")
    assert gateway.state.standing == "down"


def test_a_wrong_password_stops_it(node: Any, bound: Any, kit: Any, peers: Any) -> None:
    gateway, _ = bound(node.port, wait=False, password="wrong")
    peers.until(lambda: gateway.state.standing == "stopped")
    assert gateway.state.reason == "the centre refused the bind: ESME_RINVPASWD"
    time.sleep(0.3)
    assert len(node.all("bind")) == 1
    assert isinstance(gateway.send(outgoing(kit), 5.0), NotSent)


def test_texts_arrive_letter_by_letter(node: Any, bound: Any, kit: Any) -> None:
    gateway, _ = bound(node.port)
    for number, text in enumerate(TEXTS):
        valid_for = timedelta(hours=6)
        result = gateway.send(outgoing(kit, f"m-{number}", text, valid_for=valid_for), 5.0)
        assert isinstance(result, Accepted)
        seen = node.wait("submit", number + 1)
        assert (seen["id"],) == result.message_ids
        assert seen["text"] == text
        assert seen["destination_addr"] == kit.PHONE.removeprefix("+")
        assert (seen["dest_addr_ton"], seen["dest_addr_npi"]) == (1, 1)
        assert seen["registered_delivery"] == 1
        assert seen["user_message_reference"] == reference_of(f"m-{number}")
        until = datetime.fromisoformat(seen["validity_period"]) - datetime.now(UTC)
        assert until.total_seconds() == pytest.approx(6 * 3600, abs=60)


@pytest.mark.parametrize("form", ["udh", "sar"])
@pytest.mark.parametrize("text", [LONG, "पानी दें और रुकें " * 9])
def test_long_texts_arrive_in_parts(node: Any, bound: Any, kit: Any, form: str, text: str) -> None:
    gateway, _ = bound(node.port, concatenation=form)
    result = gateway.send(outgoing(kit, text=text), 5.0)
    assert isinstance(result, Accepted)
    node.wait("submit", len(result.message_ids))
    seen = node.all("submit")
    assert "".join(one["text"] for one in seen) == text
    assert len(seen) == len(result.message_ids) == 2 + (text != LONG)
    for number, one in enumerate(seen, start=1):
        reference = reference_of("m-1")
        if form == "udh":
            assert one["udh"] == f"0003{reference & 0xFF:02x}{len(seen):02x}{number:02x}"
        else:
            place = (one["sar_msg_ref_num"], one["sar_total_segments"], one["sar_segment_seqnum"])
            assert place == (reference, len(seen), number)


def test_pdus_cut_in_two_anywhere(node: Any, bound: Any, kit: Any, peers: Any) -> None:
    """Every PDU of the centre comes in two pieces with a pause, cut one octet later each time."""
    node.mode(cut=4)
    gateway, told = bound(node.port)
    futures = [gateway.submit(outgoing(kit, f"m-{n}", f"text {n}"), 10.0) for n in range(30)]
    numbers = [node.begin_delivery(short_message=f"reply {n}") for n in range(45)]
    for _ in range(20):
        node.order("enquire")
    assert all(isinstance(one.result(20), Accepted) for one in futures)
    peers.until(lambda: len(node.all("answered")) == len(numbers))
    assert {one["status"] for one in node.all("answered")} == {0}
    assert [sms.text for sms in told.texts] == [f"reply {n}" for n in range(45)]
    node.wait("alive", 20)
    node.wait("submit", 30)
    assert len(node.all("bind")) == 1


def test_a_withheld_response_leaves_a_text_uncertain(node: Any, bound: Any, kit: Any) -> None:
    gateway, _ = bound(node.port, timers={"response": 2.0})
    node.mode(withhold=1)
    assert gateway.send(outgoing(kit), 5.0) == Uncertain("no response within 2 s")
    assert isinstance(gateway.send(outgoing(kit, "m-2"), 5.0), Accepted)
    node.wait("submit", 2)
    assert len(node.all("submit")) == 2


def test_a_late_response_settles_it(node: Any, bound: Any, kit: Any, peers: Any) -> None:
    gateway, told = bound(node.port, timers={"response": 0.2})
    node.mode(late=600)
    assert isinstance(gateway.send(outgoing(kit), 5.0), Uncertain)
    [settled] = peers.until(lambda: told.settlements)
    assert settled == ("m-1", Accepted((node.wait("submit")["id"],)))


def test_responses_stay_out_and_the_bind_is_made_anew(node: Any, bound: Any, kit: Any) -> None:
    gateway, _ = bound(node.port, timers={"response": 1.5})
    node.mode(withhold=3)
    futures = [gateway.submit(outgoing(kit, f"m-{n}"), 5.0) for n in range(3)]
    assert all(isinstance(one.result(10), Uncertain) for one in futures)
    assert isinstance(gateway.send(outgoing(kit, "m-9"), 5.0), Accepted)
    node.wait("bind", 2)


def test_a_receipt_ahead_of_its_response_finds_its_message(
    node: Any, bound: Any, kit: Any, peers: Any
) -> None:
    gateway, told = bound(node.port)
    ids: set[str] = set()
    matched: list[Receipt] = []

    def known(receipt: Receipt) -> bool:
        if receipt.message_id in ids:
            matched.append(receipt)
        return receipt.message_id in ids

    told.known = known
    node.mode(receiptFirst=True, late=500)
    result = gateway.send(outgoing(kit), 5.0)
    assert isinstance(result, Accepted)
    assert told.receipts, "it came first"
    assert matched == []
    ids.update(result.message_ids)
    [receipt] = peers.until(lambda: matched)
    assert (receipt.state, receipt.user_reference) == ("delivered", reference_of("m-1"))
    assert receipt.at == datetime(2026, 11, 25, 9, 1, tzinfo=UTC)
    assert node.wait("receipt answered")["status"] == 0


def test_texts_come_in_and_are_acknowledged_after_they_are_kept(node: Any, bound: Any) -> None:
    _, told = bound(node.port)
    keep, may_go_on = told.received, threading.Event()

    def slowly(sms: Any) -> None:
        may_go_on.wait(10)
        keep(sms)

    told.received = slowly
    node.begin_delivery(short_message="STOP")
    time.sleep(0.2)
    assert node.all("answered") == []
    node.order("enquire")
    node.wait("alive")
    may_go_on.set()
    assert node.wait("answered")["status"] == 0
    assert [sms.text for sms in told.texts] == ["STOP"]


def test_what_could_not_be_kept_comes_again_and_counts_once(node: Any, bound: Any) -> None:
    _, told = bound(node.port)
    told.failures = [OSError("disk full")]
    assert [node.deliver(short_message="2") for _ in range(2)] == [0x64, 0]
    [sms] = told.texts
    assert sms.text == "2"


def test_a_delivery_acknowledged_in_vain_has_the_same_key(
    node: Any, bound: Any, peers: Any
) -> None:
    """The link breaks while the text is kept; the centre delivers it again."""
    gateway, told = bound(node.port)
    keep = told.received

    def breaking(sms: Any) -> None:
        keep(sms)
        node.order("drop")
        peers.until(lambda: gateway.state.standing != "bound")

    told.received = breaking
    node.begin_delivery(short_message="2")
    node.wait("bind", 2)
    told.received = keep
    peers.until(lambda: gateway.state.standing == "bound")
    assert node.deliver(short_message="2") == 0
    first, second = told.texts
    assert first.id_key == second.id_key
    assert node.deliver(short_message="2") == 0
    assert told.texts[2].id_key != second.id_key, "asked anew, the same answer is another"


def test_letters_of_every_kind_come_in(node: Any, bound: Any) -> None:
    _, told = bound(node.port)
    for text, coding in (("5€ è", 0), ("पानी", 8), ("café", 3)):
        assert node.deliver(short_message=text, data_coding=coding) == 0
    assert [sms.text for sms in told.texts] == ["5€ è", "पानी", "café"]


def test_a_long_text_comes_in_as_one(node: Any, bound: Any) -> None:
    _, told = bound(node.port)
    for number, text in ((2, "of beans"), (1, "I have 12 rows ")):
        assert node.deliver(udh=f"05000307020{number}", short_message=text, data_coding=0) == 0
    assert [sms.text for sms in told.texts] == ["I have 12 rows of beans"]
    for number, text in ((1, "and a drum "), (2, "on a stand")):
        tags = {"sar_msg_ref_num": 9, "sar_total_segments": 2, "sar_segment_seqnum": number}
        assert node.deliver(short_message=text, data_coding=0, **tags) == 0
    assert told.texts[1].text == "and a drum on a stand"


def test_ussd_both_ways(node: Any, bound: Any, kit: Any) -> None:
    _, told = bound(node.port)
    screens = iter([UssdOut("1 Plan\n2 Help", more=True), UssdOut("Bye", more=False)])
    told.screen = lambda _: next(screens)

    def say(text: str, op: int, info: str) -> int:
        return int(
            node.deliver(
                short_message=text,
                service_type="USSD",
                data_coding=15,
                ussd_service_op=op,
                its_session_info=info,
            )
        )

    assert say("*123#", 1, "2a00") == 0
    asked = node.wait("submit")
    assert say("2", 18, "2a02") == 0
    final = node.wait("submit", 2)
    for seen, expected in (
        (asked, ("1 Plan\n2 Help", 2, "2a02")),
        (final, ("Bye", 17, "2a05")),
    ):
        assert (seen["text"], seen["ussd_service_op"], seen["its_session_info"]) == expected
        assert seen["service_type"] == "USSD"
        assert seen["destination_addr"] == kit.PHONE.removeprefix("+")
    said = [(step.phase, step.step, step.text) for step in told.steps]
    assert said == [("begin", 0, ""), ("continue", 1, "2")]


def test_a_burst_of_throttling_pauses_the_bind_once(node: Any, bound: Any, kit: Any) -> None:
    gateway, _ = bound(node.port)
    node.mode(statuses=[0x58] * 5 + [0x14] * 5, late=100)
    futures = [gateway.submit(outgoing(kit, f"m-{n}"), 10.0) for n in range(10)]
    results = [one.result(10) for one in futures]
    assert all(isinstance(one, Throttled) and 0 < one.retry_after <= 1 for one in results)
    began = time.monotonic()
    assert isinstance(gateway.send(outgoing(kit, "m-0"), 10.0), Accepted)
    assert time.monotonic() - began > 0.5
    node.wait("submit", 11)


@pytest.mark.parametrize(("status", "kind"), [(0x0B, "permanent"), (0x08, "temporary")])
def test_refusals_without_a_body(node: Any, bound: Any, kit: Any, status: int, kind: str) -> None:
    gateway, _ = bound(node.port)
    node.mode(statuses=[status])
    result = gateway.send(outgoing(kit), 5.0)
    assert isinstance(result, Refused)
    assert (result.kind, result.code) == (kind, status)


def test_a_link_cut_in_the_middle_of_submitting(
    node: Any, bound: Any, kit: Any, peers: Any
) -> None:
    gateway, _ = bound(node.port)
    node.mode(dropAfter=4)
    futures = [gateway.submit(outgoing(kit, f"m-{n}"), 10.0) for n in range(40)]
    results = [one.result(15) for one in futures]
    uncertain = sum(isinstance(one, Uncertain) for one in results)
    assert 1 <= uncertain <= 10, "at most a window full"
    assert uncertain + sum(isinstance(one, Accepted) for one in results) == 40
    peers.until(lambda: gateway.state.standing == "bound")
    node.wait("submit", sum(isinstance(one, Accepted) for one in results))
    # What the centre took is at most one of each.
    taken = [one["user_message_reference"] for one in node.all("submit") if one["id"]]
    assert len(taken) == len(set(taken))


def test_the_bind_comes_back_by_itself(node: Any, bound: Any, kit: Any, peers: Any) -> None:
    gateway, _ = bound(node.port)
    node.order("drop")
    node.wait("bind", 2)
    node.order("unbind")
    node.wait("bind", 3)
    assert isinstance(gateway.send(outgoing(kit), 5.0), Accepted)


def test_both_sides_ask_whether_the_other_lives(node: Any, bound: Any) -> None:
    bound(node.port, timers={"quiet": 0.1, "silence": 1.0})
    node.wait("enquire_link", 2)
    node.order("enquire")
    assert node.wait("alive")["command"] == "enquire_link_resp"
    assert len(node.all("bind")) == 1


def test_a_centre_that_answers_nothing_is_left(node: Any, bound: Any) -> None:
    bound(node.port, timers={"quiet": 0.1, "silence": 0.2})
    node.mode(deaf=True)
    node.wait("bind", 2)
    node.mode()


@pytest.mark.parametrize(
    "octets",
    [
        "00000010800000f100000000000000aa",
        "0000001000007777000000000000000a",
        "00000013000000050000000000000009010203",
        "000000140000010200000000000000080a0b0c0d",
        "0000001800000005000000000000000b0000000000000000",
    ],
)
def test_what_a_centre_should_not_send_does_no_harm(
    node: Any, bound: Any, kit: Any, octets: str
) -> None:
    gateway, told = bound(node.port)
    node.order("raw", hex=octets)
    assert isinstance(gateway.send(outgoing(kit), 5.0), Accepted)
    assert len(node.all("bind")) == 1
    assert told.texts == []


def test_a_stream_out_of_step_is_ended_and_begun_anew(node: Any, bound: Any, kit: Any) -> None:
    gateway, _ = bound(node.port)
    node.order("raw", hex="ffffffff")
    assert node.wait("nack")["status"] == 2
    node.wait("bind", 2)
    assert isinstance(gateway.send(outgoing(kit), 5.0), Accepted)


def test_a_window_full_of_texts_with_faults_never_doubles_one(
    node: Any, bound: Any, kit: Any, peers: Any
) -> None:
    """300 texts while responses stay out, links break and bursts are throttled."""
    gateway, _ = bound(node.port, timers={"response": 1.0, "first_wait": 0.02})
    resends: dict[int, int] = {}
    left = list(range(300))
    faults = iter([{"withhold": 2}, {"dropAfter": 7}, {"withhold": 1}, {"dropAfter": 20}, {}])
    accepted: set[int] = set()
    while left:
        node.mode(**next(faults, {}))
        futures = {n: gateway.submit(outgoing(kit, f"m-{n}", f"text {n}"), 10.0) for n in left}
        results = {n: future.result(30) for n, future in futures.items()}
        accepted |= {n for n, one in results.items() if isinstance(one, Accepted)}
        for n, one in results.items():
            if isinstance(one, Uncertain):
                resends[n] = resends.get(n, 0) + 1
        left = [n for n, one in results.items() if not isinstance(one, Accepted)]
    assert accepted == set(range(300))
    assert sum(resends.values()) >= 1
    peers.until(lambda: len({one["text"] for one in node.all("submit")}) == 300)
    taken: dict[str, int] = {}
    for one in node.all("submit"):
        taken[one["text"]] = taken.get(one["text"], 0) + 1
    for n in range(300):
        assert 1 <= taken[f"text {n}"] <= 1 + resends.get(n, 0)


def test_nothing_is_waited_for_without_end(node: Any, bound: Any, kit: Any) -> None:
    gateway, _ = bound(node.port)
    node.mode(withhold=100)
    future = gateway.submit(outgoing(kit), 5.0)
    node.wait("submit")
    began = time.monotonic()
    gateway.stop(0.3)
    assert time.monotonic() - began < 5.0
    assert isinstance(future.result(0), Uncertain)
    assert isinstance(gateway.send(outgoing(kit), 5.0), NotSent)
