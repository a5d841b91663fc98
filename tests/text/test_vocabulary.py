"""Commands, yes and no, and choices by name."""

from dataclasses import dataclass

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.phrases import Phrase, say
from service.text.languages import LANGUAGES
from service.text.lexicon import LEXICONS, words_of
from service.text.vocabulary import JOINERS, WordVocabulary


@dataclass(frozen=True)
class Named:
    label: Phrase
    names: tuple[str, ...] = ()


CROPS = (
    Named(say("Tomato"), ("tomatoes", "nyanya", "tomate", "टमाटर")),
    Named(say("Potato"), ("potatoes", "irish potato", "viazi", "आलू")),
    Named(say("Sweet potato"), ("viazi vitamu", "patate douce", "शकरकंद")),
    Named(say("Onion"), ("onions", "kitunguu", "vitunguu", "oignon", "प्याज")),
    Named(say("Cabbage"), ("kabichi", "chou", "पत्ता गोभी")),
    Named(say("Maize"), ("corn", "mahindi", "mais", "मक्का")),
    Named(say("Beans"), ("bean", "maharagwe", "haricot")),
    Named(say("Beet"), ("beetroot",)),
    Named(say("Rice"), ("mchele", "riz")),
)
PIPES = tuple(Named(say("{size} mm pipe", size=size)) for size in (20, 25, 32))


def chosen(text, language="en", options=CROPS):
    place = WordVocabulary(language).choose(text, options)
    return None if place is None else options[place].label.text


@pytest.mark.parametrize(
    ("text", "crop"),
    [
        ("tomato", "Tomato"),
        ("TOMATOES!", "Tomato"),
        ("tomatos", "Tomato"),
        ("tamato", "Tomato"),
        ("I grow tomatoes here", "Tomato"),
        ("nyanya", "Tomato"),
        ("tomaten", "Tomato"),
        ("टमाटर", "Tomato"),
        ("टमाटार", "Tomato"),
        ("potatoe", "Potato"),
        ("sweet potato", "Sweet potato"),
        ("sweetpotato", "Sweet potato"),
        ("sweat potatos", "Sweet potato"),
        ("viazi", "Potato"),
        ("viazi vitamu", "Sweet potato"),
        ("onyon", "Onion"),
        ("cabage", "Cabbage"),
        ("cabb", "Cabbage"),
        ("maiz", "Maize"),
        ("bean", "Beans"),
        ("प्याज़", "Onion"),
        ("rice", "Rice"),
        ("bea", "Beans"),
    ],
)
def test_names_and_common_misspellings_are_understood(text, crop):
    assert chosen(text) == crop


@pytest.mark.parametrize(
    "text",
    [
        "",
        "nice",
        "beat",
        "be",
        "tomato and maize",
        "wheat",
        "to",
        "9",
        "x" * 5_000,
        "tomato " * 40,
    ],
)
def test_what_names_nothing_or_several_things_is_not_guessed(text):
    assert chosen(text) is None


@pytest.mark.parametrize(
    ("text", "pipe"), [("25 mm", 1), ("25mm pipe", 1), ("32", None), ("26 mm pipe", None)]
)
def test_a_number_in_a_name_must_be_right(text, pipe):
    assert WordVocabulary("en").choose(text, PIPES) == pipe


def test_labels_are_known_in_the_callers_language_and_in_english(catalogues):
    options = (Named(say("{key} More", key="x")), Named(say("Onion")))
    vocabulary = WordVocabulary("sw", catalogues)
    assert vocabulary.choose("x zaidi", options) == 0
    assert vocabulary.choose("x more", options) == 0
    assert WordVocabulary("fr", catalogues).choose("x zaidi", options) is None


@pytest.mark.parametrize(
    ("text", "meaning"),
    [
        ("back", "back"),
        ("Rudi", "back"),
        ("retour", "back"),
        ("वापस", "back"),
        ("Main menu", "main"),
        ("menyu kuu", "main"),
        ("more", "more"),
        ("HELP", "help"),
        ("help please", "help"),
        ("msaada tafadhali", "help"),
        ("मदद", "help"),
        ("START", "start"),
        ("Anza", "start"),
        ("arrêt", "stop"),
        ("बंद करें", "stop"),
        ("next", None),
        ("yes", None),
        ("1", None),
        ("*", None),
        ("", None),
        ("help my line is dry", None),
        ("x" * 20_000, None),
    ],
)
def test_commands_are_whole_messages_in_any_language(text, meaning):
    assert {WordVocabulary(code).command(text) for code in LANGUAGES} == {meaning}


def test_opt_out_vectors(i18n):
    """The US rule of 2024 names the seven words (Federal Register 2024-04587)."""
    vocabulary = WordVocabulary("en")
    for row in i18n["opt_out"]["match"]:
        wish, command = vocabulary.wish_to_stop(row["text"]), vocabulary.command(row["text"])
        if row["means"] in ("help", "start"):
            assert (wish, command) == ("no", row["means"])
        elif row["text"] == "END":
            offered = (Named(say("The far end"), ("end",)),)
            assert command == "stop"
            assert vocabulary.command(row["text"], offered) is None
        else:
            assert wish == row["means"], row
            assert (command == "stop") == (wish == "stop"), row


def test_stop_words_of_the_vectors_stop_in_every_language(i18n):
    words = [*i18n["opt_out"]["read_keywords"]]
    for code in set(LEXICONS) & set(i18n["opt_out"]["memory_needs_speaker_review"]):
        words += i18n["opt_out"]["memory_needs_speaker_review"][code]
    assert len(words) >= 15
    for word in words:
        for code in LANGUAGES:
            assert WordVocabulary(code).command(word) == "stop", (word, code)


@pytest.mark.parametrize(
    ("text", "language", "meaning"),
    [
        ("Yes", "en", True),
        ("yes please", "hi", True),
        ("Ndiyo", "sw", True),
        ("hapana", "en", False),
        ("OUI", "fr", True),
        ("non merci", "fr", False),
        ("हाँ", "hi", True),
        ("जी हां", "hi", True),
        ("नहीं", "en", False),
        ("maybe", "en", None),
        ("yes no", "en", None),
        ("", "en", None),
    ],
)
def test_yes_and_no_in_any_language(text, language, meaning):
    assert WordVocabulary(language).yes_no(text) is meaning


def test_every_language_has_every_command_and_no_word_is_two_commands():
    found = {}
    for lexicon in LEXICONS.values():
        assert set(lexicon.commands) == {"back", "main", "more", "help", "stop", "start"}
        for command, line in lexicon.commands.items():
            for word in words_of(line):
                assert found.setdefault(word, command) == command
    assert set(LEXICONS) == set(LANGUAGES)


def test_joiners_of_every_language_are_known():
    assert {"by", "x", "×", "kwa", "sur", "गुणा"} <= set(JOINERS)


def test_an_unknown_language_is_our_own_mistake():
    with pytest.raises(ValueError, match="'xx' is not one of"):
        WordVocabulary("xx")


@given(st.text(max_size=300), st.sampled_from(sorted(LANGUAGES)))
def test_no_text_makes_the_vocabulary_fail(text, language):
    vocabulary = WordVocabulary(language)
    vocabulary.command(text)
    vocabulary.wish_to_stop(text)
    vocabulary.yes_no(text)
    assert vocabulary.choose(text, CROPS) in (None, *range(len(CROPS)))


@pytest.mark.timeout(30)  # A text that took time squared would need minutes.
@pytest.mark.parametrize("piece", ["a ", "please ", "stop ", "tomato ", "\ufdfa", "\x00"])
def test_long_messages_are_read_in_a_moment(piece):
    text = (piece * 10_000)[:10_000]
    vocabulary = WordVocabulary("hi")
    vocabulary.wish_to_stop(text)
    vocabulary.yes_no(text)
    vocabulary.choose(text, CROPS)
