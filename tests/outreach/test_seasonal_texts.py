"""What an officer may write, and what is said about it before it goes out."""

from __future__ import annotations

import pytest

from service.outreach import check_texts, sound
from service.outreach.seasonal_texts import LONGEST, MOST_PARTS, filled, text_for
from service.text.measure import measure

GOOD = "{name}: open the valve about {minutes} minutes a day, {fills} x the tank."


def said(text: str, language: str = "en", **others: str) -> list[str]:
    """What is found about a text: grade, then the English sentence with its values."""
    checks = {each.language: each for each in check_texts({language: text, **others}, "en")}
    return [
        f"{each.grade}: {each.words.text.format(**each.words.values)}"
        for each in checks[language].findings
    ]


def test_a_good_text_of_one_message() -> None:
    assert said(GOOD) == []
    (check,) = check_texts({"en": GOOD}, "en")
    assert (check.language, check.encoding, check.parts) == ("en", "gsm7", 1)
    # Its length is that with long values in it.
    assert check.units == measure(filled(GOOD, LONGEST)).units > len(GOOD)


REFUSED = [
    ("", "The text is empty."),
    ("  ", "The text is empty."),
    ("Plant {price} now", "Nothing is known to put for 'price'."),
    ("Open {Minutes} now", "A brace stands alone."),
    ("Open {minutes now", "A brace stands alone."),
    ("Open {minutes:d} now", "A brace stands alone."),
    ("Open {name.number} now", "A brace stands alone."),
    ("long " * 100, f"Too long: 4 messages, at most {MOST_PARTS}."),
]


@pytest.mark.parametrize(("text", "sentence"), REFUSED)
def test_what_must_be_mended(text: str, sentence: str) -> None:
    assert any(each.startswith(f"error: {sentence}") for each in said(text))
    assert not sound({"en": text}, "en")


def test_the_text_that_everybody_gets_must_be_there() -> None:
    checks = check_texts({"sw": GOOD}, "en")
    assert [each.language for each in checks] == ["en", "sw"]
    assert [each.text for each in checks[0].errors] == ["The text is empty."]
    assert not checks[1].errors


def test_a_language_that_is_not_spoken() -> None:
    assert "error: The language xx is not spoken here." in said(GOOD, "xx", en=GOOD)


NOTED = [
    ("fr", "Fête: {minutes} min", "These letters cut a message from 160 letters to 70: ê"),
    ("en", "long " * 40, "Sent as 2 messages each."),
    ("sw", "Habari {name}", "The main text tells 'minutes', this one does not."),
]


@pytest.mark.parametrize(("language", "text", "sentence"), NOTED)
def test_what_is_worth_knowing(language: str, text: str, sentence: str) -> None:
    texts = {"en": GOOD, language: text}
    assert f"note: {sentence}" in said(text, **{"language": language} | {"en": texts["en"]})
    assert sound(texts, "en")


def test_devanagari_is_no_surprise_in_hindi() -> None:
    assert not [each for each in said("{minutes} मिनट", "hi") if "letters" in each]


def test_curly_quotes_cost_nothing() -> None:
    """They are folded to plain ones before they leave."""
    assert said("Don’t skip – {minutes} minutes… today") == []


def test_only_places_are_filled() -> None:
    values = {"name": "{minutes}", "minutes": "30"}
    assert filled("{name} {minutes} {other}", values) == "{minutes} 30 {other}"


def test_whoever_has_no_text_of_their_own_gets_the_main_one() -> None:
    texts = {"en": "main", "sw": "yao", "hi": ""}
    found = [text_for(texts, language, "en") for language in ("sw", "fr", "hi", "en")]
    assert found == [("sw", "yao"), ("en", "main"), ("en", "main"), ("en", "main")]
