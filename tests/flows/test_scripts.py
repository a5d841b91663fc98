"""Each path of each conversation, held from end to end in every language.

The same answers must lead through the same states, and each screen must tell the same numbers in
every language: litres, minutes, doses and marks are what harms when a translation slips.
"""

import re
from collections import Counter
from dataclasses import replace

import pytest

from service.dialogue import Place
from service.text.languages import LANGUAGES
from service.text.measure import measure
from service.text.render import TWO_PARTS, one_text, render

NUMBER = re.compile(r"\d+(?:[.,]\d+)?")
OTHERS = [code for code in LANGUAGES if code != "en"]


@pytest.fixture(scope="module")
def scripts(to_plan, starving, planted, laid_ways, kept_ways):
    """What is known of a caller, and all that is sent; most end at a result or an instruction."""
    plan = [({}, to_plan), ({}, starving)]
    water = [(planted, ("1", "Water today", feel, *rest)) for feel, *rest in WATER]
    months = [(planted, ("1", "Water today", "5", "0", "1", "1"))]
    feed = [(planted, ("1", "Feed the crop", "1")), (planted, ("1", "Feed the crop", "2"))]
    enough = [(planted, ("1", "Is the water enough?", "1", "20"))]
    reminders = [(planted, ("1", "Weekly reminders", "1", "3", "2"))]
    return [*plan, *water, *months, *feed, *enough, *reminders, *laid_ways, *kept_ways]


WATER = (("1", "0"), ("2", "0.5"), ("3", "0"), ("4", "0"), ("5", "1"), ("6", "12", "0"))


@pytest.fixture(scope="module")
def held(dialogue, context, vocabularies):
    """Hold a script in a language: every outcome on the way."""

    def held(known, texts, language):
        told = {**known, "language": language} if "language" in known else known
        outcomes = [dialogue.begin(language, context=context, answers=told)]
        for text in texts:
            last = outcomes[-1].conversation
            if last.state == "language":
                # The one answer that differs: the language itself.
                outcome = dialogue.answer(last, "1", vocabularies["en"], context)
                spoken = replace(outcome.conversation, language=language)
                answers = {**spoken.answers, "language": language}
                outcome = dialogue.resume(replace(spoken, answers=answers), context)
            else:
                outcome = dialogue.answer(last, text, vocabularies[language], context)
            outcomes.append(outcome)
        return outcomes

    return held


def places(outcomes):
    return [Place(one.conversation.flow, one.conversation.state) for one in outcomes]


def numbers(text):
    return Counter(found.replace(",", ".") for found in NUMBER.findall(text))


@pytest.fixture(scope="module")
def in_english(scripts, held):
    return [held(known, texts, "en") for known, texts in scripts]


def test_the_scripts_reach_every_conversation(in_english, dialogue):
    flows = {place.flow for outcomes in in_english for place in places(outcomes)}
    assert flows == set(dialogue.book.flows)


@pytest.mark.parametrize("language", OTHERS)
def test_each_path_leads_through_the_same_states(scripts, held, in_english, language):
    for (known, texts), english in zip(scripts, in_english, strict=True):
        assert places(held(known, texts, language)) == places(english), texts


@pytest.mark.parametrize("language", OTHERS)
def test_each_screen_tells_the_same_numbers(scripts, held, in_english, catalogues, language):
    seen = set()
    for (known, texts), english in zip(scripts, in_english, strict=True):
        for there, here in zip(english, held(known, texts, language), strict=True):
            place = places([here])[0]
            told = one_text(there.screen, "en", catalogues)
            if (place, told) in seen:
                continue
            seen.add((place, told))
            said = one_text(here.screen, language, catalogues)
            # "No water today" is one sentence with "for 1 day" where a language has no singular.
            more, less = numbers(said) - numbers(told), numbers(told) - numbers(said)
            assert (set(more) | set(less)) <= {"1"}, (place, told, said)
            assert not less, (place, told, said)
    assert len(seen) > 150


@pytest.mark.parametrize("language", LANGUAGES)
def test_each_screen_leaves_as_texts_of_at_most_two_parts(
    scripts, held, in_english, catalogues, language
):
    for (known, texts), _ in zip(scripts, in_english, strict=True):
        last = held(known, texts, language)[-1]
        pages = render(last.screen, language, catalogues, budget=TWO_PARTS)
        assert all(measure(page).parts <= 2 for page in pages)
