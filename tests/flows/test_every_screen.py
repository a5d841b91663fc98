"""Every state and exit of every conversation, walked as a caller, in every language."""

from collections import deque
from dataclasses import replace

import pytest

from service.dialogue import Place, walk
from service.text.languages import LANGUAGES
from service.text.measure import measure
from service.text.render import render

ROOMY = {"gsm7": 160, "ucs2": 70}
SENT_BESIDES = {
    Place("start", "place"): ["zzz"],
    Place("feed", "what"): ["npk", "another"],
}
"""A place that nobody listed, and the fertilisers that lead elsewhere than the first."""

WITHOUT_A_PLOT = (["Water today"], ["Is the water enough?", "3"], ["Feed the crop", "1", "urea"])
"""Callers without a plot who ask for today's water, for enough water, and for feeding."""


def exits(book):
    """What a caller can send from each place."""
    found = {}
    for step in walk(book):
        sends = [one.send for one in step.exits if one.send is not None]
        found[step.place] = [*sends, *SENT_BESIDES.get(step.place, [])]
    return found


@pytest.fixture
def walked(dialogue, context, vocabularies, hold, starving, planted, to_plan, laid_ways, kept_ways):
    """Conversations that stand at each place, reached by real answers, a few to a place."""
    sends, seen, kept = exits(dialogue.book), {}, []
    over = {**planted, "weeks_since_planting": 90}
    queue = deque([hold("1", known=planted), hold(), hold(*starving)])
    queue.append(hold("1", "Feed the crop", "1", "urea", known=over))
    queue.extend(hold(*to_plan[:-1], *rest) for rest in WITHOUT_A_PLOT)
    queue.extend(hold(*way, known=known) for known, way in [*kept_ways, *laid_ways])
    while queue:
        outcome = queue.popleft()
        conversation = outcome.conversation
        place = Place(conversation.flow, conversation.state)
        if seen.get(place, 0) >= 3:
            continue
        seen[place] = seen.get(place, 0) + 1
        kept.append(outcome)
        if outcome.screen.ends:
            continue
        for send in sends[place]:
            english = replace(conversation, language="en")
            queue.append(dialogue.answer(english, send, vocabularies["en"], context))
    return kept


def visible(book):
    return {Place(step.flow, step.state.name) for step in walk(book) if step.state.kind != "branch"}


def test_every_state_is_reached_by_answers_alone(walked, dialogue):
    reached = {Place(o.conversation.flow, o.conversation.state) for o in walked}
    assert visible(dialogue.book) - reached == set()


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_screen_fits_in_every_language(walked, catalogues, dialogue, context, language):
    for outcome in walked:
        spoken = replace(outcome.conversation, language=language)
        for page in render(dialogue.show(spoken, context), language, catalogues):
            size = measure(page)
            assert size.units <= ROOMY[size.encoding], page
            assert size.parts == 1, page


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_screen_misread_three_times_still_fits_and_offers_help(
    walked, catalogues, dialogue, context, vocabularies, language
):
    for outcome in walked:
        if outcome.screen.ends:
            continue
        conversation = replace(outcome.conversation, language=language)
        if dialogue.book.flows[conversation.flow].states[conversation.state].ask is not None:
            nonsense = "?!"
        else:
            nonsense = "997"
        for _ in range(3):
            answered = dialogue.answer(conversation, nonsense, vocabularies[language], context)
            conversation = answered.conversation
        if (conversation.flow, conversation.state) != (
            outcome.conversation.flow,
            outcome.conversation.state,
        ):
            continue  # A free text takes any words.
        said = "\n".join(render(answered.screen, language, catalogues))
        assert "0800 555" in said
        for page in render(answered.screen, language, catalogues):
            assert measure(page).units <= ROOMY[measure(page).encoding], page


def test_french_and_swahili_never_fall_out_of_the_cheap_alphabet(
    walked, catalogues, dialogue, context
):
    for outcome in walked:
        for language in ("en", "fr", "sw"):
            spoken = replace(outcome.conversation, language=language)
            for page in render(dialogue.show(spoken, context), language, catalogues):
                assert measure(page).encoding == "gsm7", page
