"""Every fault of a flow file is told with file, line and what to do; all of them at once."""

from __future__ import annotations

import pytest

from service.dialogue import FlowBook, Navigation, Registry, load_flows
from service.errors import TextFileError

HEAD = "flow: shop\nstart: first\nstates:\n"
LAST = "  last: {say: Thank you, ends: true}\n"
LENGTH = "{type: length, min: 2, max: 9, example: 5}"

# A name for the case; the states, beginning on line 4; the line and a part of the message.
FAULTS: list[tuple[str, str, int, str]] = [
    (
        "unknown key of a state, the near one suggested",
        "  first:\n    say: Hello\n    chioces: []\n    ends: true\n",
        6,
        "unknown key 'chioces' in state 'first'; did you mean 'choices'?",
    ),
    (
        "unknown key of a choice",
        "  first:\n    say: Hello\n    choices:\n      - {key: 1, say: On, too: last}\n"
        "    to: last\n",
        7,
        "unknown key 'too' in a choice of state 'first'; did you mean 'to'?",
    ),
    (
        "unknown key of an ask",
        "  first:\n    say: How long?\n"
        "    ask: {type: length, min: 2, max: 9, sample: 5, example: 5}\n"
        "    store: x\n    to: last\n",
        6,
        "unknown key 'sample' in 'ask' of state 'first'; did you mean 'example'?",
    ),
    (
        "unknown key of a branch",
        "  first:\n    when:\n      - {gard: is_open, to: last}\n      - {to: last}\n",
        6,
        "unknown key 'gard' in a branch of state 'first'; did you mean 'guard'?",
    ),
    (
        "more kept beside no answer",
        "  first:\n    say: Hello\n    also: {day: today}\n    to: last\n",
        6,
        "state 'first' keeps no answer beside which to keep more",
    ),
    (
        "more kept by an unknown function",
        f"  first:\n    say: How long?\n    ask: {LENGTH}\n    store: x\n"
        "    also: {day: tomorow}\n    to: last\n",
        8,
        "unknown also 'tomorow'",
    ),
    (
        "unknown state",
        "  first:\n    say: Hello\n    to: lst\n",
        6,
        "unknown state 'lst' in 'to'; did you mean 'last'?",
    ),
    (
        "unknown state of a choice",
        "  first:\n    say: Hello\n    choices:\n      - {key: 1, say: On, to: nowhere_at_all}\n",
        7,
        "unknown state 'nowhere_at_all' in 'to'",
    ),
    (
        "unknown flow",
        "  first:\n    say: Hello\n    to: flow:shpo\n",
        6,
        "unknown flow 'shpo' in 'to'; did you mean 'shop'?",
    ),
    (
        "unknown state of a flow",
        "  first:\n    say: Hello\n    to: flow:shop/lost\n",
        6,
        "unknown state 'lost' in 'to'; did you mean 'last'?",
    ),
    (
        "a target that is none",
        "  first:\n    say: Hello\n    to: 'shop:last'\n",
        6,
        "'to' must be state, flow:name or flow:name/state, not 'shop:last'",
    ),
    (
        "unreachable state",
        "  first: {say: Hello, to: last}\n  island: {say: Nobody comes here, to: last}\n",
        5,
        "state 'island' is never reached",
    ),
    (
        "missing text",
        f"  first:\n    ask: {LENGTH}\n    store: x\n    to: last\n",
        4,
        "state 'first' has no text: add 'say' or 'show'",
    ),
    (
        "empty text",
        "  first:\n    say:\n    to: last\n",
        5,
        "'say' of state 'first' must be a text",
    ),
    (
        "a text of two lines",
        "  first:\n    say: |\n      Hello\n      you\n    to: last\n",
        5,
        "must be one line",
    ),
    (
        "a sentence with a value",
        "  first:\n    say: 'Hello {name}'\n    to: last\n",
        5,
        "a sentence here is constant",
    ),
    (
        "help with a value",
        "  first:\n    say: Hello\n    help: 'Ask {name}'\n    to: last\n",
        6,
        "a sentence here is constant",
    ),
    (
        "two questions in one state",
        f"  first:\n    say: Hello\n    ask: {LENGTH}\n    options: colours\n"
        "    store: x\n    to: last\n",
        7,
        "state 'first' has ask and options; it can have only one of them",
    ),
    (
        "a screen without exit",
        "  first:\n    say: Hello\n    choices:\n      - {key: 1, say: On, to: stuck}\n"
        "      - {key: 2, say: Out, to: last}\n  stuck:\n    say: And now?\n",
        9,
        "state 'stuck' has no way out",
    ),
    (
        "a question without exit",
        f"  first:\n    say: How long?\n    ask: {LENGTH}\n    store: x\n",
        4,
        "state 'first' leads nowhere: add 'to'",
    ),
    (
        "a choice without exit",
        "  first:\n    say: Hello\n    choices:\n      - {key: 1, say: On, to: last}\n"
        "      - {key: 2, say: Off}\n",
        8,
        "choice '2' of state 'first' leads nowhere",
    ),
    (
        "an exit that is never used",
        "  first:\n    say: Hello\n    choices:\n      - {key: 1, say: On, to: last}\n"
        "    to: first\n",
        8,
        "this 'to' is never used",
    ),
    (
        "an end that goes on",
        "  first:\n    say: Hello\n    to: last\n    ends: true\n",
        7,
        "ends and yet goes on",
    ),
    (
        "an end that is not true",
        "  first:\n    say: Hello\n    to: last\n    ends: false\n",
        7,
        "'ends' can only be true",
    ),
    (
        "a last branch with a guard",
        "  first:\n    when:\n      - {guard: is_open, to: last}\n",
        6,
        "the last branch of state 'first' must have no guard",
    ),
    (
        "a branch without a guard before the last",
        "  first:\n    when:\n      - {to: last}\n      - {to: first}\n",
        6,
        "only the last branch may be without a guard",
    ),
    (
        "a branch without a target",
        "  first:\n    when:\n      - {guard: is_open}\n      - {to: last}\n",
        6,
        "a branch of state 'first' needs 'to'",
    ),
    (
        "text in a branching state",
        "  first:\n    say: Hello\n    when:\n      - {to: last}\n",
        5,
        "'say' is of no use in state 'first', which branches",
    ),
    (
        "unknown guard",
        "  first:\n    when:\n      - {guard: is_opne, to: last}\n      - {to: last}\n",
        6,
        "unknown guard 'is_opne'; did you mean 'is_open'?",
    ),
    (
        "unknown show",
        "  first:\n    show: reciept\n    to: last\n",
        5,
        "unknown show 'reciept'; did you mean 'receipt'?",
    ),
    (
        "unknown options",
        "  first:\n    say: Which?\n    options: colors\n    store: x\n    to: last\n",
        6,
        "unknown options 'colors'; did you mean 'colours'?",
    ),
    (
        "a state twice",
        "  first: {say: Hello, to: last}\n  first: {say: Again, to: last}\n",
        5,
        "'first' stands twice in 'states'",
    ),
    (
        "a choice's number twice",
        "  first:\n    say: Hello\n    choices:\n      - {key: 1, say: On}\n"
        "      - {key: 1, say: Off}\n    to: last\n",
        8,
        "key '1' stands twice in the choices of state 'first'",
    ),
    (
        "a YAML key twice",
        "  first:\n    say: Hello\n    say: Again\n    to: last\n",
        6,
        "'say' stands twice in state 'first'",
    ),
    (
        "a key that is no number",
        "  first:\n    say: Hello\n    choices:\n      - {key: a, say: On}\n    to: last\n",
        7,
        "a choice's key must be a number from 0 to 99, not 'a'",
    ),
    (
        "a choice without words",
        "  first:\n    say: Hello\n    choices:\n      - {key: 1}\n    to: last\n",
        7,
        "a choice of state 'first' needs 'say'",
    ),
    (
        "choices that are no list",
        "  first:\n    say: Hello\n    choices: {key: 1, say: On}\n    to: last\n",
        6,
        "'choices' of state 'first' must be a list",
    ),
    (
        "min above max",
        "  first:\n    say: How long?\n    ask:\n      type: length\n      min: 20\n      max: 9\n"
        "      example: 5\n    store: x\n    to: last\n",
        8,
        "min 20 is above max 9",
    ),
    (
        "a limit that is no number",
        "  first:\n    say: How long?\n    ask: {type: length, min: two, max: 9, example: 5}\n"
        "    store: x\n    to: last\n",
        6,
        "'min' must be a number, at most 1,000,000,000, not 'two'",
    ),
    (
        "a limit beyond everything",
        "  first:\n    say: How long?\n    ask: {type: length, min: 2, max: 1e40, example: 5}\n"
        "    store: x\n    to: last\n",
        6,
        "'max' must be a number, at most 1,000,000,000, not '1e40'",
    ),
    (
        "no example",
        "  first:\n    say: How long?\n    ask: {type: length, min: 2, max: 9}\n"
        "    store: x\n    to: last\n",
        6,
        "'ask' of state 'first' needs 'example'",
    ),
    (
        "an example outside the range",
        "  first:\n    say: How long?\n    ask: {type: length, min: 2, max: 9, example: 20}\n"
        "    store: x\n    to: last\n",
        6,
        "the question itself would refuse the example '20': too-large",
    ),
    (
        "an example in a unit of another kind",
        "  first:\n    say: How long?\n    ask: {type: length, min: 2, max: 9, example: 5 l}\n"
        "    store: x\n    to: last\n",
        6,
        "the question itself would refuse the example '5 l': wrong-unit",
    ),
    (
        "an unknown type",
        "  first:\n    say: How long?\n    ask: {type: lenght, min: 2, max: 9, example: 5}\n"
        "    store: x\n    to: last\n",
        6,
        "unknown type 'lenght'; did you mean 'length'?",
    ),
    (
        "a unit of another type",
        "  first:\n    say: How long?\n"
        "    ask: {type: length, min: 2, max: 9, unit: l, example: 5}\n"
        "    store: x\n    to: last\n",
        6,
        "a length cannot be asked in 'l'; known here: cm, ft, m, mm, pace",
    ),
    (
        "a unit where there is none",
        "  first:\n    say: How many?\n"
        "    ask: {type: number, min: 2, max: 9, unit: m, example: 5}\n"
        "    store: x\n    to: last\n",
        6,
        "a number has no unit",
    ),
    (
        "whole and something else",
        "  first:\n    say: How many?\n"
        "    ask: {type: number, min: 2, max: 9, whole: no, example: 5}\n"
        "    store: x\n    to: last\n",
        6,
        "'whole' can only be true",
    ),
    (
        "an answer that is not kept",
        f"  first:\n    say: How long?\n    ask: {LENGTH}\n    to: last\n",
        4,
        "state 'first' asks and does not keep the answer: add 'store'",
    ),
    (
        "a stored choice without value",
        "  first:\n    say: Hello\n    choices:\n      - {key: 1, say: On}\n"
        "    store: x\n    to: last\n",
        7,
        "choice '1' of state 'first' needs a 'value' to store",
    ),
    (
        "a value that is lost",
        "  first:\n    say: Hello\n    choices:\n      - {key: 1, say: On, value: on}\n"
        "    to: last\n",
        7,
        "the value of choice '1' is lost: add 'store'",
    ),
    (
        "nothing to store",
        "  first:\n    say: Hello\n    store: x\n    to: last\n",
        6,
        "state 'first' asks nothing that could be stored",
    ),
    (
        "a state's name",
        "  first: {say: Hello, to: last}\n  Last One: {say: Bye, ends: true}\n",
        5,
        "the state's name 'Last One' must be small letters, digits and _ only",
    ),
    (
        "a state that is a text",
        "  first: Hello\n",
        4,
        "state 'first' must be written as `key: value` lines",
    ),
    (
        "branching in a round",
        "  first:\n    when:\n      - {guard: is_open, to: second}\n      - {to: last}\n"
        "  second:\n    when:\n      - {guard: is_open, to: last}\n      - {to: first}\n",
        4,
        "this branching never stops at a screen: shop/first -> shop/second -> shop/first",
    ),
    (
        "branching to itself",
        "  first:\n    when:\n      - {guard: is_open, to: last}\n      - {to: first}\n",
        4,
        "this branching never stops at a screen: shop/first -> shop/first",
    ),
    (
        "not YAML",
        "  first: {say: Hello\n",
        5,
        "this is not YAML",
    ),
]


@pytest.fixture(scope="module")
def shop() -> Registry:
    """The functions of a shop."""
    return Registry(
        guards={"is_open": lambda *_: True},
        shows={"receipt": lambda *_: []},
        options={"colours": lambda *_: []},
    )


def problems_of(
    files: dict[str, str], registry: Registry, navigation: Navigation | None = None
) -> list[str]:
    with pytest.raises(TextFileError) as caught:
        load_flows(files, registry, navigation)
    return [str(problem) for problem in caught.value.problems]


@pytest.mark.parametrize(
    ("states", "line", "message"),
    [fault[1:] for fault in FAULTS],
    ids=[name for name, *_ in FAULTS],
)
def test_a_fault_is_told_with_file_and_line(
    shop: Registry, states: str, line: int, message: str
) -> None:
    found = problems_of({"shop.yaml": HEAD + states + LAST}, shop)
    told = [problem for problem in found if problem.startswith(f"shop.yaml:{line}: ")]
    assert any(message in problem for problem in told), found


def test_a_shop_without_fault_is_read(shop: Registry) -> None:
    book = load_flows({"shop.yaml": HEAD + "  first: {say: Hello, to: last}\n" + LAST}, shop)
    assert isinstance(book, FlowBook)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", "shop.yaml:1: this file is empty"),
        ("- a\n", "shop.yaml:1: a flow file must be written as `key: value` lines"),
        ("start: first\nstates: {}\n", "shop.yaml:1: a flow file needs 'flow'"),
        ("flow: shop\nstart: a\n", "shop.yaml:1: a flow file needs 'states'"),
        ("flow: shop\nstates: {a: {say: Hi, ends: true}}\n", "a flow file needs 'start'"),
        ("flow: shop\nstart: b\nstates: {bb: {say: Hi, ends: true}}\n", "shop.yaml:2: unknown st"),
        ("flow: shop\nversion: 3\nstart: a\nstates: {a: {say: Hi, ends: true}}\n", "shop.yaml:2: "),
        ("flow: A shop\nstart: a\nstates: {a: {say: Hi, ends: true}}\n", "shop.yaml:1: the flow's"),
        ("flow: shop\nstart: a\nstates: {a: {say: \x07, ends: true}}\n", "shop.yaml:3: this file"),
        ("flow: shop\n? [a]\n: b\nstart: a\nstates: {}\n", "shop.yaml:2: a key in a flow file"),
    ],
)
def test_a_fault_of_the_file_itself_is_told(shop: Registry, text: str, message: str) -> None:
    assert any(message in problem for problem in problems_of({"shop.yaml": text}, shop))


def test_every_fault_of_every_file_is_told_in_order_and_once(shop: Registry) -> None:
    files = {
        "zoo.yaml": "flow: zoo\nstart: a\nstates:\n  a: {say: Hi, to: b}\n  c: {ends: true}\n",
        "shop.yaml": HEAD + "  first: {say: Hi, too: last}\n" + LAST,
    }
    found = problems_of(files, shop)
    assert found == [
        "shop.yaml:4: state 'first' has no way out: add a question, 'to' or 'ends: true'",
        "shop.yaml:4: unknown key 'too' in state 'first'; did you mean 'to'?",
        "shop.yaml:5: state 'last' is never reached",
        "zoo.yaml:4: unknown state 'b' in 'to'; known here: a, c",
        "zoo.yaml:5: state 'c' has no text: add 'say' or 'show'",
        "zoo.yaml:5: state 'c' is never reached",
    ]
    assert problems_of(dict(reversed(files.items())), shop) == found


def test_the_same_fault_twice_in_one_line_is_told_once(shop: Registry) -> None:
    states = "  first: {when: [{guard: no, to: last}, {guard: no, to: last}, {to: last}]}\n"
    assert problems_of({"shop.yaml": HEAD + states + LAST}, shop) == [
        "shop.yaml:4: unknown guard 'no'; known here: is_open"
    ]


def test_two_files_with_one_name_are_told(shop: Registry) -> None:
    text = "flow: shop\nstart: a\nstates: {a: {say: Hi, ends: true}}\n"
    assert problems_of({"a.yaml": text, "b.yaml": text}, shop) == [
        "b.yaml:1: flow 'shop' stands in a.yaml already"
    ]


def test_a_state_entered_only_from_another_flow_is_reached(shop: Registry) -> None:
    files = {
        "shop.yaml": HEAD + "  first: {say: Hi, to: flow:zoo/back_door}\n",
        "zoo.yaml": "flow: zoo\nstart: a\nstates:\n  a: {say: Hi, ends: true}\n"
        "  back_door: {say: Hi, ends: true}\n",
    }
    assert set(load_flows(files, shop).flows) == {"shop", "zoo"}


def test_a_round_of_branches_through_two_flows_is_told(shop: Registry) -> None:
    files = {
        "shop.yaml": HEAD + "  first:\n    when: [{to: flow:zoo}]\n",
        "zoo.yaml": "flow: zoo\nstart: a\nstates:\n  a:\n    when: [{to: flow:shop}]\n",
    }
    assert problems_of(files, shop) == [
        "shop.yaml:4: this branching never stops at a screen: shop/first -> zoo/a -> shop/first"
    ]


@pytest.mark.parametrize(
    ("navigation", "question"),
    [
        (Navigation(back="0"), "choices: [{key: 0, say: No, to: last}]"),
        (Navigation(main="00"), "choices: [{key: 0, say: No, to: last}]"),
        (Navigation(more="5"), f"ask: {LENGTH}, store: x, to: last"),
        (Navigation(help="9"), "options: colours, store: x, to: last"),
        (Navigation(back="1"), "to: last"),
        (Navigation(back="b"), "ask: {type: text, example: good}, store: x, to: last"),
    ],
)
def test_a_navigation_key_that_is_also_an_answer_is_told(
    shop: Registry, navigation: Navigation, question: str
) -> None:
    states = "  first: {\n    say: Hello,\n    " + question + "\n  }\n"
    (found,) = problems_of({"shop.yaml": HEAD + states + LAST}, shop, navigation)
    assert found.startswith("shop.yaml:6: ")
    assert found.endswith("and also an answer here")


@pytest.mark.parametrize(
    ("navigation", "question"),
    [
        (Navigation(back="0"), f"ask: {LENGTH}, store: x, to: last"),
        (Navigation(back="0"), "options: colours, store: x, to: last"),
        (Navigation(back="5"), "choices: [{key: 0, say: No, to: last}]"),
        (Navigation(), "ask: {type: text, example: good}, store: x, to: last"),
    ],
)
def test_a_navigation_key_that_is_no_answer_is_fine(
    shop: Registry, navigation: Navigation, question: str
) -> None:
    states = "  first: {say: Hello, " + question + "}\n"
    load_flows({"shop.yaml": HEAD + states + LAST}, shop, navigation)


@pytest.mark.parametrize("keys", [{"back": "**"}, {"more": ""}, {"help": " ?"}])
def test_navigation_keys_are_four_different_texts(keys: dict[str, str]) -> None:
    with pytest.raises(ValueError, match="four different texts"):
        Navigation(**keys)


def test_words_stay_text_and_plain_numbers_become_numbers(shop: Registry) -> None:
    states = (
        "  first:\n    say: no\n    choices:\n"
        "      - {key: 1, say: yes, value: no}\n      - {key: 2, say: b, value: 10}\n"
        "      - {key: 3, say: c, value: -2.5}\n      - {key: 4, say: d, value: '10'}\n"
        "    store: x\n    to: last\n"
    )
    state = load_flows({"shop.yaml": HEAD + states + LAST}, shop).flows["shop"].states["first"]
    assert state.say == "no"
    assert [choice.value for choice in state.choices] == ["no", 10, -2.5, "10"]
    assert state.choices[0].option.label.text == "yes"


def test_a_tag_in_a_file_constructs_nothing(shop: Registry) -> None:
    states = "  first: {say: !!python/object/apply:os.getcwd [], to: last}\n"
    found = problems_of({"shop.yaml": HEAD + states + LAST}, shop)
    assert "shop.yaml:4: 'say' of state 'first' must be a text" in found


def test_the_version_changes_with_every_letter(shop: Registry) -> None:
    text = HEAD + "  first: {say: Hello, to: last}\n" + LAST
    one = load_flows({"shop.yaml": text}, shop).flows["shop"].version
    other = load_flows({"shop.yaml": text + "# a remark\n"}, shop).flows["shop"].version
    assert len(one) == 12
    assert one != other
