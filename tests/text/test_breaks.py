"""Where a text may be cut."""

import pytest

from service.text.breaks import (
    gentlest_cut,
    letter_ends,
    longest_fitting,
    sentence_ends,
    word_ends,
)


def pieces(text, places):
    starts = [0, *places]
    return [text[start:end] for start, end in zip(starts, [*places, len(text)], strict=True)]


@pytest.mark.parametrize(
    ("text", "sentences"),
    [
        ("One. Two? Three!", ["One. ", "Two? ", "Three!"]),
        ('He said "go." Then left.', ['He said "go." ', "Then left."]),
        ("0.5 m and 1.6 L/h", ["0.5 m and 1.6 L/h"]),
        ("एक। दो।", ["एक। ", "दो।"]),
        ("እሺ። ዛሬ", ["እሺ። ", "ዛሬ"]),
    ],
)
def test_sentences_end_at_their_marks(text, sentences):
    assert pieces(text, sentence_ends(text)) == sentences


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("cost 1 250 000 in all", ["cost ", "1 250 000 ", "in ", "all"]),
        ("20 lines 30 m", ["20 ", "lines ", "30 ", "m"]),
        ("1 2504", ["1 ", "2504"]),
        ("ዛሬ፡ነው", ["ዛሬ፡", "ነው"]),
    ],
)
def test_words_end_at_spaces_but_numbers_in_groups_stay_whole(text, words):
    assert pieces(text, word_ends(text)) == words


def test_letters_keep_their_marks():
    assert pieces("किताब", letter_ends("किताब")) == ["कि", "ता", "ब"]
    assert pieces("क्षमा", letter_ends("क्षमा")) == ["क्ष", "मा"]
    assert pieces("e\u0301a", letter_ends("e\u0301a")) == ["e\u0301", "a"]


def test_the_longest_beginning_that_fits_is_found_beyond_a_start():
    text = "aa bb cc dd"
    places = word_ends(text)
    assert longest_fitting(text, places, lambda head: len(head) <= 8) == 9
    assert longest_fitting(text, places, lambda head: len(head) <= 8, start=9) == 0
    assert longest_fitting(text, places, lambda head: False) == 0


def test_a_sentence_end_is_taken_unless_it_wastes_most_of_the_page():
    text = "A long first sentence here. Then more words follow"
    assert text[: gentlest_cut(text, lambda head: len(head) <= 40)].strip().endswith("here.")
    text = "Yes. Then a long second sentence with many words follows"
    assert text[: gentlest_cut(text, lambda head: len(head) <= 40)] == (
        "Yes. Then a long second sentence with "
    )
