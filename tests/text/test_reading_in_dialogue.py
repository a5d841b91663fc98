"""The vocabulary does for the dialogue's questions what the dialogue expects of one."""

from decimal import Decimal

import pytest

from service.dialogue.answers import NotUnderstood, Understood, read_menu, read_typed
from service.dialogue.model import Ask, Option
from service.phrases import say
from service.text.vocabulary import WordVocabulary

LENGTH = Ask("length", Decimal(2), Decimal(200), "20", unit="m")
VOLUME = Ask("volume", Decimal(20), Decimal(20_000), "500", unit="l")
CROPS = (Option("tomato", say("Tomato"), ("nyanya",)), Option("maize", say("Maize"), ("mahindi",)))


@pytest.mark.parametrize(
    ("ask", "text", "language", "value"),
    [
        (LENGTH, "abt 25m", "en", 25),
        (LENGTH, "25,5", "fr", 25.5),
        (LENGTH, "mita 20", "sw", 20),
        (LENGTH, "२० मीटर", "hi", 20),
        (LENGTH, "20 paces", "en", 15),
        (LENGTH, "100 ft", "en", 30.48),
        (VOLUME, "2 drums", "en", 400),
        (VOLUME, "ndoo 10", "sw", 200),
        (VOLUME, "1,5 m3", "fr", 1500),
    ],
)
def test_sizes_reach_the_dialogue_in_its_own_units(ask, text, language, value):
    read = read_typed(ask, text, WordVocabulary(language))
    assert isinstance(read, Understood)
    assert read.value == value


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("1,250", "ambiguous-number"),
        ("20 by 30", "many-numbers"),
        ("25 acres", "wrong-unit"),
        ("500 litres", "wrong-unit"),
        ("long", "no-number"),
        ("-3", "too-small"),
        ("9" * 20, "too-large"),
    ],
)
def test_refusals_reach_the_dialogue_with_their_reason(text, reason):
    assert read_typed(LENGTH, text, WordVocabulary("en")) == NotUnderstood(reason)


@pytest.mark.parametrize("text", ["2", "२", "maize", "mahindi", "maiz"])
def test_menus_are_answered_by_number_or_name(text):
    read = read_menu(text, ("1", "2"), CROPS, WordVocabulary("sw"))
    assert read == Understood("maize", 1)
