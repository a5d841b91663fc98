"""What the install conversation shows and asks for by name."""

from __future__ import annotations

from service.advice import install_words
from service.advice.install_steps import Steps
from service.advice.upkeep_plot import Words, from_pipes
from service.dialogue import Registry

STEPS = Steps("install", install_words.STEPS)
WORDS: dict[str, Words] = {
    "install_care": install_words.care,
    "install_stand": install_words.stand,
    "install_main": install_words.main_pipe,
    "install_marks": install_words.mark_summary,
    "install_all_marks": install_words.all_marks,
    "install_seals": install_words.seals,
    "install_lines": install_words.lines,
    "install_slack": install_words.slack,
    "install_flush": install_words.flush_lines,
    "install_test": install_words.two_cups,
}

REGISTRY = Registry(
    guards=STEPS.guards(),
    shows={
        "install_where": STEPS.where,
        **{name: from_pipes(words, install_words.no_plot) for name, words in WORDS.items()},
    },
    options={},
)
