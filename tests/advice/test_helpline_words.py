"""Words of danger in a free text, in the languages that callers write."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.advice.helpline_words import RED_FLAGS, RED_WORDS, red_flag


@pytest.mark.parametrize(
    ("text", "flag"),
    [
        ("acid in eye", "splashed"),
        ("it splashed on my skin", "splashed"),
        ("kemikali kwenye macho", "splashed"),
        ("de l'acide dans les yeux", "splashed"),
        ("brûlé la main", "splashed"),
        ("BLEACH BURNED HER", "splashed"),
        ("मेरी आंखों में तेज़ाब", "splashed"),
        ("he swallowed it", "swallowed"),
        ("mtoto amekunywa dawa", "swallowed"),
        ("il a avalé du chlore", "swallowed"),
        ("बच्चे ने ज़हर निगल लिया", "swallowed"),
        ("bad fumes", "gas"),
        ("hawezi kupumua", "gas"),
        ("il ne respire plus", "gas"),
        ("the stand is tilting", "stand_leans"),
        ("le support penche", "stand_leans"),
        ("टंकी झुक गई", "stand_leans"),
        ("my wife is hurt", "injury"),
        ("ameumia mguu", "injury"),
        ("il saigne", "injury"),
        ("करंट लगा", "injury"),
    ],
)
def test_danger_is_found(text, flag):
    assert red_flag(text) == flag


@pytest.mark.parametrize(
    "text",
    [
        "the last line is dry",
        "where do I buy a filter",
        "how much water for my tomatoes",
        "gasket of the filter",
        "le dernier goutteur est sec",
        "mstari wa mwisho mkavu",
        "पानी कम आ रहा है",
        "the pump gives less",
        "a burst pipe",
        "eyelet missing",
        "leaves burnt by the feed",
        "my plants are dead",
        "tomatoes lean over",
        "pump with choke lever",
        "water sinks in slowly",
        "",
    ],
)
def test_an_everyday_matter_is_none(text):
    assert red_flag(text) == ""


def test_of_several_dangers_the_most_urgent_is_told():
    assert red_flag("he drank it and it is in his eyes") == "splashed"


@given(st.text(max_size=200))
def test_any_text_can_be_read(text):
    assert red_flag(text) in {"", *RED_FLAGS}


def test_every_danger_has_words_written_as_texts_are_compared():
    assert set(RED_WORDS) == set(RED_FLAGS)
    for flag, entries in RED_WORDS.items():
        for entry in entries:
            assert red_flag(entry.replace("*", "").replace("&", " ")) == flag, entry
