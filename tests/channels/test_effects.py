"""What answers mean beside the plot is written in the transaction of the turn."""

from __future__ import annotations

from typing import Any

import pytest

from service.records import ConcurrentChange, Review


class Recorder:
    """Puts a line before a person for each change, and remembers what it was given."""

    def __init__(self) -> None:
        self.seen: list[Any] = []
        self.failures = 0

    def __call__(self, work: Any, phone: Any, before: Any, after: Any, now: Any) -> None:
        changed = sorted(set(after.answers.items()) ^ set(before.answers.items()))
        self.seen.append((phone.number, [name for name, _ in changed], after.plot_id, now))
        line = Review(f"e{len(self.seen)}", phone.id, now, repr(changed), "ussd")
        work.consents.add_review(line)
        if self.failures:
            self.failures -= 1
            raise ConcurrentChange("somebody was quicker")


@pytest.fixture
def effects() -> Recorder:
    return Recorder()


def written(unit_of_work: Any) -> int:
    with unit_of_work() as work:
        return len(work.consents.reviews())


def plot_id(unit_of_work: Any) -> str:
    with unit_of_work() as work:
        return str(work.caller("+10005550100", "ussd", "").plot.id)


def test_a_call_calls_it_only_when_answers_changed(
    effects: Recorder, make_turns: Any, make_caller: Any, unit_of_work: Any
) -> None:
    caller = make_caller(make_turns(effects=effects))
    caller.dial()
    caller.say("1")
    caller.say("1")
    assert [changed for _, changed, _, _ in effects.seen] == [["language"]]
    caller.say("20")
    assert effects.seen[1:] == [(caller.number, ["length_m"], plot_id(unit_of_work), caller.now)]
    caller.say("nonsense")
    caller.say("*")
    caller.say("**")
    caller.send("**")
    assert len(effects.seen) == written(unit_of_work) == 2


def test_a_text_with_several_answers_calls_it_once(
    effects: Recorder, make_texts: Any, make_texter: Any, unit_of_work: Any
) -> None:
    texter = make_texter(make_texts(effects=effects), unit_of_work)
    texter.say("20 onion")
    assert effects.seen == [
        (texter.number, ["crop", "length_m"], plot_id(unit_of_work), texter.now)
    ]
    texter.say("help")
    texter.say("stop")
    assert len(effects.seen) == 1


def test_a_turn_that_is_judged_anew_writes_it_once(
    effects: Recorder, make_turns: Any, make_caller: Any, unit_of_work: Any
) -> None:
    caller = make_caller(make_turns(effects=effects))
    caller.dial()
    effects.failures = 1
    caller.say("1")
    assert len(effects.seen) == 2
    assert written(unit_of_work) == 1
