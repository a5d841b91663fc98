"""What the reminders conversation keeps and says: whether, on which day, at what hour."""

from __future__ import annotations

from collections.abc import Sequence

from service.advice.answers import Answers
from service.advice.context import Context
from service.advice.said_again import counted
from service.dialogue import Registry
from service.phrases import Phrase, Weekday, say

WANTED, SAID = "reminders_wanted", "reminders_said"
WEEKDAY, HOUR = "reminders_weekday", "reminders_hour"


def _agreed(answers: Answers, context: Context) -> Sequence[Phrase]:
    day = Weekday(int(str(answers.get(WEEKDAY) or 0)))
    return (
        # Translators: {day} is a day of the week, {hour} the hour of the day from 0 to 24.
        say("Noted: one text a week, {day} about {hour}:00.", day=day, hour=_hour(answers)),
        say("Send STOP to end it."),
    )


def _hour(answers: Answers) -> int:
    return int(str(answers.get(HOUR) or 0))


REGISTRY = Registry(
    guards={},
    shows={"reminders_agreed": _agreed},
    options={},
    also={"reminders_said": counted(SAID)},
)
