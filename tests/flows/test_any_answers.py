"""Whatever somebody sends about a laid plot, a fault or a check, nothing raises or stays blank."""

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from service.dialogue import Conversation
from service.text.render import render

SENT = st.sampled_from(
    ["0", "1", "2", "3", "4", "5", "6", "20", "50 48 51 49", "50 50 50", "0 120 118", "200", "900",
     "20 m", "5 L", "2 drums", "1.5", "999", "tomato", "yes", "no", "*", "#", "12 20 tomato 3 500"]
)  # fmt: skip


@pytest.mark.parametrize("flow", ["myplot", "fault", "check"])
@settings(
    max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(
    sent=st.lists(SENT, min_size=8, max_size=30), who=st.sampled_from(["laid", "planned", "nobody"])
)
def test_no_sequence_of_answers_raises_or_shows_nothing(
    dialogue, context, vocabularies, catalogues, laid, planted, flow, sent, who
):
    known = {"laid": laid, "planned": planted, "nobody": {}}[who]
    outcome = dialogue.begin("en", flow=flow, context=context, answers={"language": "en", **known})
    for text in sent:
        before = Conversation.from_json(outcome.conversation.to_json())
        outcome = dialogue.answer(before, text, vocabularies["en"], context)
        assert outcome.screen.lines
        assert render(outcome.screen, "en", catalogues)[0]
        assert set(before.answers) <= set(outcome.conversation.answers)
