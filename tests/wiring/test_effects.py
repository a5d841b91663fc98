"""What a caller says beside the plot: tickets, consent and the hour of reminders, in its turn."""

from datetime import UTC, datetime, timedelta

import pytest

from service.channels import Incoming, IncomingText, MissedCall
from service.settings import read_settings
from service.wiring.build import build

NOW = datetime(2026, 11, 25, 22, 30, tzinfo=UTC)
NUMBER = "+254700000001"


@pytest.fixture
def service(tmp_path):
    values = {"LITRELINE_DATA_DIR": str(tmp_path), "LITRELINE_TIME_ZONE": "Africa/Nairobi"}
    made = build(read_settings(values), lambda: NOW)
    made.database.migrate()
    yield made
    made.database.close()


@pytest.fixture
def dial(service):
    """Hold a call: the first screen, then an answer a step."""

    def dial(*answers, session="g1", now=NOW):
        reply = None
        for step, text in enumerate(("", *answers)):
            phase = "begin" if step == 0 else "continue"
            reply = service.turns.take(
                Incoming("ussd", NUMBER, session, step, text, phase), now + timedelta(seconds=step)
            )
        return reply

    return dial


@pytest.fixture
def kept(service):
    def kept(table, *arguments):
        with service.database.unit_of_work() as work:
            phone = work.phones.find(NUMBER)
            return getattr(getattr(work, table), arguments[0])(phone.id, *arguments[1:])

    return kept


TO_MENU = ("1", "kot", "1")


def test_a_danger_is_a_ticket_before_anybody_asks_to_be_rung(dial, kept):
    dial(*TO_MENU, "12", "1")
    (ticket,) = kept("tickets", "of_phone")
    assert (ticket.danger, ticket.kind, ticket.state) == ("splashed", "call_back", "open")
    assert ticket.so_far["flow"] == "helpline"


def test_whoever_wants_to_be_rung_has_one_ticket_with_the_words(dial, kept):
    dial(*TO_MENU, "12", "6", "the last line is dry", "1")
    (ticket,) = kept("tickets", "of_phone")
    assert (ticket.matter, ticket.danger) == ("the last line is dry", "")


def test_a_missed_call_is_a_ticket(service, kept):
    call = MissedCall("http", "c1", NUMBER, "+254700000099", NOW)
    service.calls.take(call, NOW)
    service.calls.take(call, NOW)
    assert [one.kind for one in kept("tickets", "of_phone")] == ["missed_call"]


def test_yes_to_reminders_stands_in_the_ledger_with_day_and_hour(dial, kept):
    dial(*TO_MENU, "15", "1", "3", "5")
    consent = kept("consents", "latest")
    assert (consent.given, consent.channel, consent.by) == (True, "ussd", "caller")
    choice = kept("choices", "get")
    assert (choice.weekday, choice.hour) == (2, 18)


def test_yes_again_after_stop_is_yes(dial, service, kept):
    dial(*TO_MENU, "15", "1", "3", "5")
    later = NOW + timedelta(minutes=1)
    service.texts.take(IncomingText("http", "m1", NUMBER, "100", "STOP"), later)
    assert kept("consents", "latest").given is False
    dial("2", "15", "1", "3", "5", session="g2", now=NOW + timedelta(hours=1))
    assert kept("consents", "latest").given is True


def test_no_to_reminders_stands_there_too(dial, kept):
    dial(*TO_MENU, "15", "2")
    assert kept("consents", "latest").given is False


def test_the_day_is_that_of_the_place(dial, kept):
    """22:30 in Greenwich is half past one of the next day in Nairobi."""
    dial(*TO_MENU, "1", "20", "20", "1", "3")
    (plot,) = kept("plots", "of_phone")
    assert plot.answers["weeks_told_on"] == "2026-11-26"
