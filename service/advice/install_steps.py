"""Work in steps that may be stopped and taken up again days later: the step is an answer kept."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from service.advice.answers import Answers
from service.advice.context import Context
from service.phrases import Phrase, say


@dataclass(frozen=True, slots=True)
class Steps:
    """The steps of one flow.

    Attributes
    ----------
    flow : str
        Name of the flow; guards and shows begin with it.
    titles : mapping
        State of each step to its English title, in order; a sentence of the catalogue.
    """

    flow: str
    titles: Mapping[str, str]

    @property
    def answer(self) -> str:
        """Name under which the step is kept."""
        return f"{self.flow}_step"

    def guards(self) -> dict[str, Callable[[Answers, Context], bool]]:
        """Return the guards: whether work is under way, and at which step."""
        at = {f"{self.flow}_at_{step}": self._at(step) for step in self.titles}
        return {f"{self.flow}_under_way": self._under_way, **at}

    def where(self, answers: Answers, context: Context) -> Sequence[Phrase]:
        """Say where the work was stopped."""
        step = str(answers.get(self.answer, ""))
        if step not in self.titles:
            return ()
        # Translators: {step} is a few words on a step of the work, such as "mark the main pipe".
        return (say("You stopped here: {step}.", step=say(self.titles[step])),)

    def _under_way(self, answers: Answers, context: Context) -> bool:
        return answers.get(self.answer) in self.titles

    def _at(self, step: str) -> Callable[[Answers, Context], bool]:
        return lambda answers, context: answers.get(self.answer) == step
