"""Phrases become sentences of a language."""

import pytest

from service.errors import TextFileError
from service.phrases import Month, Number, Phrase, say, say_n
from service.text.catalogues import Catalogues
from service.text.measure import measure

HEADER = 'msgid ""\nmsgstr "Content-Type: text/plain; charset=utf-8\\n"\n\n'


def test_a_sentence_is_said_in_the_language_with_its_values(catalogues):
    phrase = say("The plot is {length} m long.", length=Number(12.5, 1))
    assert catalogues.translate(phrase, "sw") == "Shamba lina urefu wa mita 12.5."
    assert catalogues.translate(phrase, "en") == "The plot is 12.5 m long."


@pytest.mark.parametrize("text", ["Not sure", "Not said", "Nowhere", ""])
def test_a_missing_or_doubtful_translation_falls_back_to_english(catalogues, text):
    assert catalogues.translate(say(text), "sw") == text


@pytest.mark.parametrize(
    ("language", "zero", "one", "two"),
    [
        ("en", "0 lines", "1 line", "2 lines"),
        ("fr", "0 ligne", "1 ligne", "2 lignes"),
        ("hi", "0 नली", "1 नली", "2 नलियाँ"),
        ("sw", "laini 0", "laini 1", "laini 2"),
    ],
)
def test_the_plural_follows_the_count_by_the_rule_of_the_language(
    catalogues, language, zero, one, two
):
    said = [
        catalogues.translate(say_n("{n} line", "{n} lines", count="n", n=n), language)
        for n in (0, 1, Number(2))
    ]
    assert said == [zero, one, two]


def test_context_tells_equal_sentences_apart(catalogues):
    assert catalogues.translate(Phrase("Plant", context="crop"), "fr") == "Plante"
    assert catalogues.translate(Phrase("Plant", context="do"), "fr") == "Plantez"
    assert catalogues.translate(Phrase("Plant"), "fr") == "Plant"


def test_values_may_be_words_numbers_months_phrases_and_lists(catalogues):
    parts = (say_n("{n} tap", "{n} taps", count="n", n=20), say("tank"))
    phrase = say("{who}, {month}: {parts}; {more}", who="Asha", month=Month(8), parts=parts, more=7)
    assert catalogues.translate(phrase, "en") == "Asha, Aug: 20 taps, tank; 7"
    assert catalogues.translate(phrase, "fr") == "Asha, aout: 20 taps, tank; 7"


def test_what_a_person_typed_is_never_read_as_a_placeholder(catalogues):
    assert catalogues.translate(say("Hello {name}", name="{length}"), "en") == "Hello {length}"


def test_outgoing_text_is_folded(catalogues):
    assert catalogues.translate(say("today"), "fr") == "aujourd'hui"
    assert measure(catalogues.translate(say("{who}", who="Asha’s"), "en")).encoding == "gsm7"


def test_a_placeholder_without_a_value_is_our_own_mistake(catalogues):
    with pytest.raises(ValueError, match=r"no value for \{length\} in 'The plot"):
        catalogues.translate(say("The plot is {length} m long."), "sw")


@pytest.mark.parametrize("count", [1.5, "1", None])
def test_a_count_must_be_whole(catalogues, count):
    value = Number(count) if isinstance(count, float) else count
    phrase = Phrase("{n} line", {"n": value}, plural="{n} lines", count="n")
    with pytest.raises(ValueError, match="count 'n'"):
        catalogues.translate(phrase, "en")


def test_a_catalogue_with_an_unknown_placeholder_is_refused_at_start_with_its_line():
    text = HEADER + 'msgid "{low} m"\nmsgstr "{lo} m"\n'
    with pytest.raises(TextFileError, match=r"locales/sw/.*litreline\.po:4: unknown placeholder"):
        Catalogues({"sw": text})


def test_a_text_that_is_no_catalogue_is_refused_with_its_line():
    with pytest.raises(TextFileError, match=r"litreline\.po:4: "):
        Catalogues({"sw": HEADER + "msgid without quotes\n"})


def test_an_unknown_language_is_our_own_mistake(catalogues):
    with pytest.raises(ValueError, match="'xx' is not one of"):
        catalogues.translate(say("Yes"), "xx")
