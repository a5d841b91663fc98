"""Each language says one word for one thing: the catalogues are held to their glossaries."""

from pathlib import Path

import pytest

from service.text import glossary as rules
from service.text.catalogues import read_catalogue
from service.text.checks import catalogue_file
from service.text.languages import LANGUAGES, SOURCE_LANGUAGE

CHECKOUT = Path(__file__).parents[2]
TRANSLATED = [code for code in LANGUAGES if code != SOURCE_LANGUAGE]
PAGE = """
| English | word used | note |
|---|---|---|
| drip line | ligne; in the shop: ligne à goutteurs | |
| bucket, drum | seau (seaux), baril | |
| tap (where a line leaves) | départ | |
| tap (for water) | robinet | |
| Feed the crop (menu) | Nourrir | |

## Where another word stands

| term | sentence | why |
|---|---|---|
| tank | Time the | menu line |
"""
HEADER = 'msgid ""\nmsgstr "Content-Type: text/plain; charset=utf-8\\n"\n\n'


def glossary_of(code):
    path = CHECKOUT / "docs" / "glossary" / f"{code}.md"
    return rules.read_glossary(path.read_text(encoding="utf-8"))


def catalogue_of(code):
    text = (CHECKOUT / catalogue_file(code)).read_text(encoding="utf-8")
    return read_catalogue(text, code, catalogue_file(code))


@pytest.mark.parametrize("code", TRANSLATED)
def test_every_core_term_has_its_word(code):
    words = glossary_of(code).words
    assert [term for term in rules.CORE_TERMS if not words.get(term)] == []


@pytest.mark.parametrize("code", TRANSLATED)
def test_wherever_the_english_term_stands_its_word_stands(code):
    file = catalogue_file(code)
    found = rules.glossary_problems(glossary_of(code), catalogue_of(code), file)
    assert "\n".join(map(str, found)) == ""


@pytest.mark.parametrize("code", TRANSLATED)
def test_nothing_is_excused_in_vain_or_without_a_reason(code):
    glossary = glossary_of(code)
    assert rules.idle_exceptions(glossary, catalogue_of(code)) == []
    assert all(each.why for each in glossary.exceptions)


def test_every_core_term_is_said_somewhere():
    catalogue = catalogue_of("sw")
    forms = [
        form
        for message in catalogue
        if message.id
        for form in ([message.id] if isinstance(message.id, str) else message.id)
    ]
    said = {term for form in forms for term in rules.terms_in(form)}
    assert said == set(rules.CORE_TERMS)


def test_a_page_is_read_by_its_tables():
    glossary = rules.read_glossary(PAGE)
    assert glossary.words == {
        "drip line": ("ligne", "ligne à goutteurs"),
        "bucket": ("seau", "seaux"),
        "drum": ("baril",),
        "tap": ("départ", "robinet"),
    }
    assert glossary.exceptions == (rules.Otherwise("tank", "Time the", "menu line"),)


@pytest.mark.parametrize(
    ("english", "terms"),
    [
        ("Two drip lines, a dripper", {"drip line", "dripper"}),
        ("Let it stand a night; how deep the water stands", set()),
        ("The stand leans", {"stand"}),
        ("They block the drippers: blocked", {"dripper"}),
        ("Block {n}: flushed", {"block", "flush"}),
        ("Tap the tank", {"tank"}),
        ("first tap", {"tap"}),
        ("a full-bore valve", {"valve"}),
        ("{tank}: {acid}", set()),
    ],
)
def test_a_term_is_the_thing_and_not_the_verb(english, terms):
    assert set(rules.terms_in(english)) == terms


@pytest.mark.parametrize(
    ("said", "used", "found"),
    [
        ("deux cuves", "cuve", True),
        ("le cube", "cuve", False),
        ("टंकियाँ भरी", "टंकी", True),
        ("matundu manne", "tundu", True),
        ("في الخزان", "خزان", True),
        ("ታንከሩን", "ታንከር", True),
        ("በእርዳታ ስልክ", "የእርዳታ ስልክ", True),
        ("des lignes à goutteur", "ligne à goutteurs", True),
        ("goutteurs", "ligne à goutteurs", False),
        ("{tank}", "tank", False),
    ],
)
def test_a_word_is_known_in_its_forms_and_no_other(said, used, found):
    assert rules.said_with(said, (used,)) is found


def test_a_sentence_that_says_it_otherwise_is_a_problem_unless_excused():
    glossary = rules.read_glossary(PAGE)
    body = 'msgid "One drum"\nmsgstr "Un tonneau"\n\nmsgid "Time the tank"\nmsgstr "Le temps"\n'
    catalogue = read_catalogue(HEADER + body, "fr", "fr.po")
    (problem,) = rules.glossary_problems(glossary, catalogue, "fr.po")
    assert str(problem).startswith("fr.po:4: not by the glossary: drum = baril: 'One drum'")
    mended = read_catalogue((HEADER + body).replace("Le temps", "cuve"), "fr", "fr.po")
    glossary = rules.read_glossary(PAGE.replace("| drip line", "| tank | cuve | |\n| drip line"))
    assert rules.idle_exceptions(glossary, catalogue) == []
    assert rules.idle_exceptions(glossary, mended) == list(glossary.exceptions)


def test_a_term_of_the_plural_alone_is_asked_of_no_form():
    glossary = rules.read_glossary(PAGE)
    body = 'msgid "open it"\nmsgid_plural "drums"\nmsgstr[0] "ouvrez"\nmsgstr[1] "fûts"\n'
    assert rules.glossary_problems(glossary, read_catalogue(HEADER + body, "fr", "f"), "f") == []
