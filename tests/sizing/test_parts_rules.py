"""The parts table of the package, and what a broken one is told."""

import string

import pytest

from service.errors import TextFileError
from service.sizing.parts_rules import (
    COLUMNS,
    PIPE_THREADS,
    THREAD_INCHES,
    known_items,
    not_to_buy,
    part_check,
    part_name,
    part_rules,
    read_part_rules,
    sentences,
    unit_of,
)
from service.sizing.plain import plain_english


@pytest.fixture(autouse=True)
def afresh():
    """Each test reads the table and makes the names itself, not what an earlier one has kept."""
    for kept in (part_rules, known_items, not_to_buy, part_name):
        kept.cache_clear()


MEASURED = {"bore": "21.8", "spacing": "0.3", "flow": "1", "head": "10"}


def test_every_part_has_a_name_and_a_check_without_a_hole():
    for item in known_items():
        for phrase in (part_name(item), part_check(item, **MEASURED)):
            assert "{" not in plain_english(phrase), item


def test_names_are_said_as_in_a_shop():
    assert plain_english(part_name("submain_pipe_25")) == "25 mm pipe (main pipe)"
    assert "3/4 inch" in plain_english(part_name("valve_dn20"))
    assert plain_english(part_name("reducer_32_25")).endswith("32 mm pipe to 25 mm pipe")
    assert "25 mm pipe to 3/4 inch" in plain_english(part_name("male_adaptor_25_dn20"))
    assert "outside" in plain_english(part_name("dripline_16"))
    assert "inside" in plain_english(part_name("drip_tape_16"))


@pytest.mark.parametrize(
    ("item", "words"),
    [
        ("valve_dn20", "look through"),
        ("screen_filter_dn20", "120 mesh"),
        ("submain_pipe_25", "a 21.8 mm drill bit slides in"),
        ("submain_pipe_25", "outdoor use"),
        ("take_off_16", "pull"),
        ("dripline_16", "not regulated"),
    ],
)
def test_the_shop_checks_that_matter_are_told(item, words):
    assert words in plain_english(part_check(item, **MEASURED))


@pytest.mark.parametrize("word", ["garden tap", "regulated", "smaller", "metal", "white"])
def test_what_not_to_buy(word):
    assert any(word in phrase.text for phrase in not_to_buy())


def test_every_sentence_for_translators_has_only_known_placeholders():
    known = {"size", "second", "thread", *MEASURED}
    for sentence in sentences():
        names = {name for _, name, _, _ in string.Formatter().parse(sentence) if name}
        assert names <= known


@pytest.mark.parametrize("item", ["valve_x", "valve_99x", "no_such_25", ""])
def test_a_part_that_the_table_does_not_have(item):
    with pytest.raises(KeyError):
        unit_of(item)


def test_every_pipe_has_a_thread_with_a_name():
    pipes = {int(size) for size in part_rules()["submain_pipe"].sizes}
    assert pipes == set(PIPE_THREADS)
    assert set(PIPE_THREADS.values()) <= set(THREAD_INCHES)


HEAD = ",".join(COLUMNS) + "\n"


@pytest.mark.parametrize(
    ("row", "words"),
    [
        ("a,,,m,50 75,0,0,n,c,s", "whole multiples"),
        ("a,,,m,50 50,0,0,n,c,s", "whole multiples"),
        ("a,,,m,,0,0,n,c,s", "needs coils_m"),
        ("a,,,piece,50,0,0,n,c,s", "needs coils_m"),
        ("a,,,box,,0,0,n,c,s", "unit must be one of"),
        ("a,,,piece,,-5,0,n,c,s", "outside 0..100"),
        ("a,,,piece,,0,0,,c,s", "name is empty"),
        ("a,,,piece,,0,0,n,,s", "check is empty"),
        ("a,,,piece,,0,0,n,c,", "status is empty"),
    ],
)
def test_a_bad_row_is_named_by_file_and_line(row, words):
    with pytest.raises(TextFileError, match=rf"parts\.csv:2: .*{words}"):
        read_part_rules(HEAD + row + "\n", "parts.csv")


def test_a_part_is_sold_under_each_of_its_sizes_and_no_pipe_is_reduced_to_itself():
    text = (
        "plug,,,piece,,5,2,n,c,s\n"
        "bend,16 25,,piece,,0,0,n,c,s\n"
        "reducer,25 32,25 32,piece,,0,0,n,c,s\n"
        "adaptor,25,dn20 dn25,piece,,0,0,n,c,s\n"
    )
    rules = read_part_rules(HEAD + text, "parts.csv")
    assert {key: list(rule.keys()) for key, rule in rules.items()} == {
        "plug": ["plug"],
        "bend": ["bend_16", "bend_25"],
        "reducer": ["reducer_25_32", "reducer_32_25"],
        "adaptor": ["adaptor_25_dn20", "adaptor_25_dn25"],
    }


def test_every_value_of_a_part_comes_from_its_own_column():
    row = "hose,20 32,dn15 dn40,m,25 50 100,7.5,3,a hose,Bend it.,seen\n"
    (rule,) = read_part_rules(HEAD + row, "parts.csv").values()
    assert (rule.item, rule.sizes, rule.second_sizes) == ("hose", ("20", "32"), ("dn15", "dn40"))
    assert (rule.unit, rule.coils_m) == ("m", (25, 50, 100))
    assert (rule.spare_pct, rule.spare_min) == (7.5, 3)
    assert (rule.name, rule.check) == ("a hose", "Bend it.")
