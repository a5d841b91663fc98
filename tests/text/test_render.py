"""Pages never exceed their budget, lose nothing, and are cut at the gentlest place."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.phrases import Choice, Number, Screen, say
from service.text.languages import LANGUAGES
from service.text.measure import measure
from service.text.render import TWO_PARTS, Budget, joined, one_text, render
from service.text.septets import GSM7

MORE = {"en": "# More", "sw": "# Zaidi", "fr": "# Suite", "hi": "# आगे"}
LETTERS = st.one_of(
    st.sampled_from("aé€[ \n.अि्क💧\u200d"), st.sampled_from(sorted(GSM7)), st.characters()
)
SENTENCES = st.builds(
    lambda words, times: " ".join(words) * times,
    st.lists(st.text(LETTERS, max_size=30), max_size=40),
    st.integers(1, 3),
)
SCREENS = st.builds(
    Screen,
    st.lists(st.builds(lambda text: say("{it}", it=text), SENTENCES), max_size=6).map(tuple),
    st.lists(
        st.builds(
            lambda number, text: Choice(str(number), say("{it}", it=text)),
            st.integers(0, 99),
            SENTENCES,
        ),
        max_size=9,
    ).map(tuple),
)


def squeezed(text):
    return "".join(text.split())


@settings(max_examples=300)
@given(SCREENS, st.sampled_from(sorted(LANGUAGES)), st.sampled_from([Budget(), Budget(40, 24)]))
def test_every_page_is_within_the_budget_and_nothing_is_lost(catalogues, screen, language, budget):
    pages = render(screen, language, catalogues, budget=budget)
    for page in pages:
        encoding, units, parts = measure(page)
        assert units <= (budget.septets if encoding == "gsm7" else budget.units)
        assert parts == 1
    tail = "\n" + MORE.get(language, MORE["en"])
    assert all(page.endswith(tail) and len(page) > len(tail) for page in pages[:-1])
    shown = "".join(page.removesuffix(tail) for page in pages[:-1]) + pages[-1]
    assert squeezed(shown) == squeezed(one_text(screen, language, catalogues))


@given(SCREENS)
def test_pages_of_two_parts_are_sent_in_two_parts(catalogues, screen):
    for page in render(screen, "en", catalogues, budget=TWO_PARTS):
        assert measure(page).parts <= 2


def test_what_fits_one_page_is_one_page(catalogues):
    screen = Screen((say("Which crop?"),), (Choice("1", say("Tomato")), Choice("2", say("Maize"))))
    assert render(screen, "en", catalogues) == ("Which crop?\n1 Tomato\n2 Maize",)
    assert render(Screen((say("a" * 160),)), "en", catalogues) == ("a" * 160,)
    assert render(Screen((say("अ" * 70),)), "hi", catalogues) == ("अ" * 70,)
    assert render(Screen(()), "en", catalogues) == ("",)


def test_pages_are_cut_at_line_ends_first(catalogues):
    screen = Screen((say("First. " + "a" * 90), say("Second. " + "b" * 90)))
    assert render(screen, "en", catalogues) == (
        "First. " + "a" * 90 + "\n# More",
        "Second. " + "b" * 90,
    )


def test_a_line_longer_than_a_page_is_cut_after_a_sentence(catalogues):
    first, second = "word " * 20 + "end.", "other " * 20 + "end."
    pages = render(Screen((say(f"{first} {second}"),)), "sw", catalogues)
    assert pages == (f"{first}\n# Zaidi", second)


def test_a_sentence_longer_than_a_page_is_cut_at_a_words_end(catalogues):
    pages = render(Screen((say("metres " * 40),)), "fr", catalogues)
    assert all(set(page.removesuffix("\n# Suite").split()) == {"metres"} for page in pages)
    assert [page.count("metres") for page in pages] == [21, 19]


def test_a_word_longer_than_a_page_is_never_cut_before_its_vowel_sign(catalogues):
    pages = render(Screen((say("कि" * 70),)), "hi", catalogues)
    assert len(pages) > 1
    assert not any(page.startswith("ि") for page in pages)


def test_a_number_in_groups_is_not_cut_by_a_page(catalogues):
    text = "a " * 70 + "cost {price} in all"
    for padding in range(20):
        screen = Screen((say("b" * padding + text, price=Number(1250000)),))
        pages = render(screen, "fr", catalogues)
        assert any("1 250 000" in page for page in pages)


def test_a_choice_stays_whole_when_a_page_can_hold_it(catalogues):
    labels = [f"crop {place} " + "x" * 20 * (place % 4) for place in range(1, 13)]
    choices = tuple(Choice(str(n), say(label.strip())) for n, label in enumerate(labels, 1))
    pages = render(Screen((say("Which crop?"),), choices), "en", catalogues)
    lines = [line for page in pages for line in page.split("\n")]
    for number, label in enumerate(labels, 1):
        assert f"{number} {label.strip()}" in lines


def test_a_choice_too_long_for_a_page_keeps_its_number_by_its_first_word(catalogues):
    label = say("y" * 300)
    pages = render(Screen((say("Which?"),), (Choice("1", label),)), "en", catalogues)
    assert pages[1].startswith("1 yy")


def test_the_key_for_more_is_the_deployments(catalogues):
    pages = render(Screen((say("word " * 60),)), "sw", catalogues, more_key="77")
    assert pages[0].endswith("\n77 Zaidi")


def test_a_budget_without_room_is_our_own_mistake(catalogues):
    with pytest.raises(ValueError, match="cannot hold one letter"):
        render(Screen((say("word " * 60),)), "sw", catalogues, budget=Budget(7, 7))


def test_sentences_are_joined_for_a_text_message(catalogues):
    assert joined([say("One."), say(""), say("Two.")], "en", catalogues) == "One. Two."


def test_a_long_text_is_paged_fast(catalogues):
    screen = Screen((say("अ" * 10_000), say("word " * 2_000)))
    assert sum(map(len, render(screen, "hi", catalogues))) > 18_000
