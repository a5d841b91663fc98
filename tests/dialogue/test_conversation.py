"""A conversation survives being stored as JSON."""

from __future__ import annotations

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.dialogue import Conversation, Place, with_page

VALUES = st.one_of(
    st.none(), st.booleans(), st.integers(), st.floats(allow_nan=False), st.text(max_size=20)
)
CONVERSATIONS = st.builds(
    Conversation,
    flow=st.text(max_size=9),
    flow_version=st.text(max_size=12),
    state=st.text(max_size=9),
    history=st.lists(st.builds(Place, st.text(max_size=5), st.text(max_size=5))).map(tuple),
    answers=st.dictionaries(
        st.text(max_size=9), VALUES.filter(lambda value: value not in (float("inf"), -float("inf")))
    ),
    language=st.text(max_size=3),
    page=st.integers(0, 99),
    misreads=st.integers(0, 99),
    notice=st.lists(st.text(max_size=9), max_size=3).map(tuple),
)


@given(CONVERSATIONS)
def test_a_conversation_comes_back_from_json_as_it_was(conversation: Conversation) -> None:
    assert Conversation.from_json(conversation.to_json()) == conversation
    assert Conversation.from_dict(json.loads(json.dumps(conversation.to_dict()))) == conversation


def test_a_row_written_before_notices_were_kept_is_read() -> None:
    raw = Conversation("bakery", "v", "length").to_dict()
    del raw["notice"]
    assert Conversation.from_dict(raw) == Conversation("bakery", "v", "length")


@pytest.mark.parametrize(
    "text", ["[]", "{}", "1", "{", '{"flow": "a", "flow_version": "b", "state": "c"}']
)
def test_what_is_no_conversation_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match=r"not a stored conversation|Expecting"):
        Conversation.from_json(text)


@pytest.mark.parametrize(
    ("field", "value"), [("page", "x"), ("history", [["a"]]), ("history", 3), ("answers", 3)]
)
def test_a_field_that_is_wrong_is_refused(field: str, value: object) -> None:
    raw = Conversation("bakery", "v", "length").to_dict() | {field: value}
    with pytest.raises(ValueError, match="not a stored conversation"):
        Conversation.from_dict(raw)


def test_an_answer_that_json_cannot_carry_is_refused() -> None:
    with pytest.raises(ValueError, match="JSON"):
        Conversation("a", "b", "c", answers={"x": float("nan")}).to_json()


def test_the_page_is_never_below_the_first() -> None:
    conversation = Conversation("bakery", "v", "length")
    assert with_page(conversation, 3).page == 3
    assert with_page(conversation, -1).page == 0
