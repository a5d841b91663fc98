"""No sequence of inputs in install, upkeep, season or helpline traps, loses an answer or raises."""

import re
from dataclasses import replace
from datetime import timedelta

import pytest
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    initialize,
    invariant,
    rule,
    run_state_machine_as_test,
)

from service.dialogue import Conversation
from service.text.render import render

AMOUNT = re.compile(r"\b[\d.,]+ (?:mL|g) of (?!water)")
FLOWS = ("install", "upkeep", "season", "helpline")
TYPED = ["32", "3.5", "99", "0", "acid in eye", "last line dry", "maize", "yes", "no", "?!", "20 m"]


@pytest.mark.parametrize("who", ["laid", "planned", "nobody"])
def test_callers_are_never_trapped(
    dialogue, context, vocabularies, catalogues, tended, planted, who
):
    known = {"laid": tended, "planned": {**planted, "language": "en"}, "nobody": {"language": "en"}}

    class Caller(RuleBasedStateMachine):
        """A caller on a phone that may go silent for days."""

        @initialize(flow=st.sampled_from(FLOWS))
        def dials(self, flow):
            self.context = context
            self.outcome = dialogue.begin("en", flow=flow, context=context, answers=known[who])

        def send(self, text):
            before = Conversation.from_json(self.outcome.conversation.to_json())
            self.outcome = dialogue.answer(before, text, vocabularies["en"], self.context)
            assert set(before.answers) <= set(self.outcome.conversation.answers)

        @rule(key=st.integers(1, 9))
        def chooses(self, key):
            self.send(str(key))

        @rule(text=st.sampled_from(TYPED))
        def types(self, text):
            self.send(text)

        @rule(command=st.sampled_from(["*", "**", "#", "##"]))
        def commands(self, command):
            self.send(command)

        @rule(days=st.integers(1, 40))
        def waits(self, days):
            self.context = replace(self.context, today=self.context.today + timedelta(days=days))
            self.outcome = dialogue.resume(self.outcome.conversation, self.context)

        @invariant()
        def something_is_said_and_there_is_a_way_out(self):
            pages = render(self.outcome.screen, "en", catalogues)
            assert all(pages)
            away = dialogue.answer(
                self.outcome.conversation, "**", vocabularies["en"], self.context
            ).conversation
            assert (away.flow, away.state) in (("start", "menu"), ("start", "place"))

        @invariant()
        def no_amount_comes_out(self):
            in_feed = self.outcome.conversation.flow == "feed"
            said = "\n".join(render(self.outcome.screen, "en", catalogues))
            assert in_feed or not AMOUNT.search(said)

    run_state_machine_as_test(
        Caller,
        settings=settings(
            max_examples=25,
            stateful_step_count=30,
            deadline=None,
            suppress_health_check=list(HealthCheck),
        ),
    )
