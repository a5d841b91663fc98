"""The handbook for flow files is held to what the code takes."""

from __future__ import annotations

import re
from pathlib import Path

from service.dialogue import Dialogue, Registry, load_flows
from service.dialogue.answers import UNITS
from service.dialogue.ask_file import ASK_KEYS
from service.dialogue.flow_file import FLOW_KEYS, STATE_KEYS
from service.phrases import say

HANDBOOK = (Path(__file__).parents[2] / "docs" / "flow-files.md").read_text("utf-8")


def test_the_example_is_a_conversation() -> None:
    (text,) = re.findall(r"```yaml\n(.*?)```", HANDBOOK, re.DOTALL)
    lines = [say("Bake.")]
    registry = Registry(
        guards={"oven_is_too_small": lambda *_: True},
        shows={"oven_advice": lambda *_: lines, "baking_plan": lambda *_: lines},
    )
    dialogue = Dialogue(load_flows({"bakery.yaml": text}, registry), main=("bakery", "loaf"))
    assert dialogue.begin("en", "bakery").conversation.state == "loaf"


def test_every_key_and_unit_is_told() -> None:
    told = set(re.findall(r"`([a-z0-9]+)`", HANDBOOK))
    units = {unit for units in UNITS.values() for unit in units}
    ask_line = re.search(r"`\{(type.*?)\}`", HANDBOOK)
    assert ask_line is not None
    assert set(FLOW_KEYS) | set(STATE_KEYS) | set(UNITS) | units <= told
    assert tuple(ask_line[1].split(", ")) == ASK_KEYS
