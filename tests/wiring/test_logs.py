"""Lines of the log carry no phone number, whoever wrote them, and can be read by programs."""

import json
import logging

import pytest

from service.wiring.logs import set_up_logs


@pytest.fixture
def lines(capsys):
    root, ours = logging.getLogger(), logging.getLogger("litreline")
    kept = (root.handlers[:], root.level, ours.level)
    yield lambda: capsys.readouterr().err.splitlines()
    root.handlers[:], root.level, ours.level = kept


@pytest.mark.parametrize("style", ["plain", "json"])
@pytest.mark.parametrize(
    "number", ["+254712345678", "254712345678", "0712 345 678", "+1 000-555-0100"]
)
def test_a_number_never_gets_into_a_line(lines, style, number):
    set_up_logs(style)
    logging.getLogger("litreline.sender").warning("cannot send to %s now", number)
    logging.getLogger("some.library").error("refused: %s", {"to": number})
    written = lines()
    assert len(written) == 2
    assert all("***" in line and number not in line for line in written)


def test_days_times_and_ids_stay(lines):
    set_up_logs("plain")
    logging.getLogger("litreline.work").info("reminders queued: 12 of 200 plots on 2026-11-25")
    assert lines()[0].endswith("reminders queued: 12 of 200 plots on 2026-11-25")


def test_a_fault_tells_its_kind_and_place_but_not_what_was_sent(lines):
    set_up_logs("json")
    try:
        raise ValueError("+254712345678 said: my acid is strong")
    except ValueError:
        logging.getLogger("litreline").exception("a turn failed")
    (line,) = lines()
    told = json.loads(line)
    assert told["level"] == "ERROR"
    assert "ValueError at " in told["message"]
    assert "acid" not in line


def test_what_libraries_whisper_is_left_out(lines):
    set_up_logs("plain")
    logging.getLogger("some.library").info("hello")
    logging.getLogger("litreline").info("hello")
    assert len(lines()) == 1
