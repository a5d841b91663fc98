"""Look-alikes become plain; letters are never touched."""

import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.text.fold import fold, plain_spaces
from service.text.measure import measure
from service.text.septets import GSM7


@pytest.mark.parametrize(
    ("typed", "sent"),
    [
        ("aujourd’hui", "aujourd'hui"),
        ("“6–8” buckets…", '"6-8" buckets...'),
        ("1\u202f250\u00a0L\u2009a day", "1 250 L a day"),
        ("«oui»", '"oui"'),
        ("−3", "-3"),
        ("a`b", "a'b"),
        ("cafe\u0301", "café"),
        ("\u2126", "Ω"),
    ],
)
def test_look_alikes_become_characters_of_the_alphabet(typed, sent):
    assert fold(typed) == sent
    assert measure(sent).encoding == "gsm7"


@pytest.mark.parametrize("text", ["arrêt", "pêche", "ça", "maçã", "25°C", "½ L", "3×4", "नमस्ते"])
def test_letters_and_signs_stay_as_written(text):
    assert fold(text) == unicodedata.normalize("NFC", text)


@given(st.text())
def test_folding_twice_changes_nothing_more(text):
    assert fold(fold(text)) == fold(text)


@given(st.text(st.characters(categories=["L", "M", "N", "S"]).filter(lambda c: c not in "`´−")))
def test_text_without_punctuation_or_spaces_is_only_composed(text):
    assert fold(text) == unicodedata.normalize("NFC", text)


@given(st.text(st.sampled_from(sorted(GSM7))))
def test_text_inside_the_alphabet_is_left_alone(text):
    assert fold(text) == text


def test_plain_spaces_touches_spaces_only():
    assert plain_spaces("1\u202f250\u00a0\u2009’") == "1 250  ’"
