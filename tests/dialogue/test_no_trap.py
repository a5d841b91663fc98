"""No sequence of texts raises, traps the caller or loses an answer."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, rule, run_state_machine_as_test

from service.dialogue import Conversation, Dialogue, Outcome, Place, PlainVocabulary
from service.dialogue.progress import HISTORY

SENSIBLE = st.sampled_from(
    ["0", "1", "2", "3", "20", "25 m", "500", "40 paces", "3 drums", "2 weeks", "rye", "Ships",
     "20 by 30", "20 15 rye 500", "20 15 cake", "rye 500 yes", "yes", "no", "next", "good bread",
     "Voyages 2 5", "1,5", "1 500", "-3", "5%", "२", ""]
)  # fmt: skip
COMMANDS = st.sampled_from(["*", "**", "#", "##", "back", "main", "more", "help", "stop", "start"])


class Caller(RuleBasedStateMachine):
    """Somebody who sends anything at all."""

    dialogue: Dialogue

    def __init__(self) -> None:
        super().__init__()
        outcome = self.dialogue.begin("en")
        self.conversation, self.screen = outcome.conversation, outcome.screen
        self.vocabulary = PlainVocabulary()

    def _send(self, text: str) -> Outcome:
        before = self.conversation
        outcome = self.dialogue.answer(before, text, self.vocabulary)
        again = self.dialogue.answer(
            Conversation.from_json(before.to_json()), text, self.vocabulary
        )
        assert again == outcome
        assert set(before.answers) <= set(outcome.conversation.answers)
        self.conversation, self.screen = outcome.conversation, outcome.screen
        return outcome

    @rule(text=SENSIBLE)
    def answers(self, text: str) -> None:
        self._send(text)

    @rule(text=COMMANDS)
    def commands(self, text: str) -> None:
        before = self.conversation
        outcome = self._send(text)
        assert outcome.conversation.answers == before.answers

    @rule(text=st.text(max_size=30))
    def anything(self, text: str) -> None:
        self._send(text)

    @rule()
    def main(self) -> None:
        self._send("**")
        assert self.conversation.place == Place("start", "menu")

    @rule(step=st.integers(0, 9))
    def takes_the_offered_answer(self, step: int) -> None:
        """The numbers on the screen are all taken, so nobody is kept where they are."""
        if not self.screen.choices:
            return
        key = self.screen.choices[step % len(self.screen.choices)].key
        self._send(key)
        assert self.conversation.misreads == 0

    @rule()
    def back_ends_at_a_first_question(self) -> None:
        pages = self.conversation.page
        for _ in range(pages + HISTORY + 1):
            self._send("*")
        assert self.conversation.history == ()
        assert self.conversation.page == 0

    @invariant()
    def the_screen_can_be_shown_again(self) -> None:
        assert self.dialogue.show(self.conversation) == self.screen
        assert Conversation.from_json(self.conversation.to_json()) == self.conversation

    @invariant()
    def there_is_always_something_to_read(self) -> None:
        assert self.screen.lines
        state: Any = self.dialogue.book.find(self.conversation.place)
        assert state is not None
        assert state.kind != "branch"
        assert self.screen.ends == (state.kind == "end")


@pytest.fixture
def caller(dialogue: Dialogue) -> type[Caller]:
    """A caller of the three flows."""
    return type("CallerOfThree", (Caller,), {"dialogue": dialogue})


def test_no_sequence_of_texts_raises_traps_or_loses(caller: type[Caller]) -> None:
    run_state_machine_as_test(
        caller, settings=settings(max_examples=60, stateful_step_count=40, deadline=None)
    )
