"""Price files: what is read, and every slip refused by file and line."""

from importlib import resources

import pytest

from service.errors import TextFileError
from service.sizing.parts_rules import known_items
from service.sizing.prices import read_prices

HEAD = "item,price,currency\n"


def test_remarks_and_empty_lines_are_passed_over():
    text = "\ufeff# invented\n\n" + HEAD + " valve_dn20 , 12.50 ,QVL\n  # more\nhole_punch,0,QVL\n"
    prices = read_prices(text, "prices.csv")
    assert prices.currency == "QVL"
    assert prices.price("valve_dn20") == 12.5
    assert prices.price("hole_punch") == 0.0
    assert prices.price("elbow_25") is None


def test_a_unit_may_stand_to_be_checked():
    text = "item,price,currency,unit\nsubmain_pipe_25,5.6,QVL,m\nthread_tape,6,QVL,roll\n"
    assert read_prices(text, "prices.csv").price("submain_pipe_25") == 5.6


@pytest.mark.parametrize(
    ("rows", "line", "words"),
    [
        ("valv_dn20,3,ABC", 2, "did you mean valve_dn20"),
        ("nothing like it,3,ABC", 2, "no part is called"),
        ("valve,3,ABC", 2, "no part is called 'valve'"),
        ("elbow_25,-2,ABC", 2, "negative"),
        ("elbow_25,1,50,ABC", 2, "write 1.50 with a point"),
        ('elbow_25,"1,50",ABC', 2, "no comma"),
        ('elbow_25,"1,500",ABC', 2, "no comma"),
        ("elbow_25,nan,ABC", 2, "not a plain number"),
        ("elbow_25,1e9,ABC", 2, "not a plain number"),
        ("elbow_25,,ABC", 2, "not a plain number"),
        ("elbow_25,2,ABC\nelbow_25,3,ABC", 3, "has a price already"),
        ("elbow_25,2,ABC\nelbow_32,3,ABD", 3, "one currency"),
        ("elbow_25,2,abc", 2, "three capital letters such as KES$"),
        ("elbow_25,2,QVL\nelbow_32,3,qvl", 3, "three capital letters such as QVL$"),
        ("elbow_25,2", 2, "2 columns where 3"),
        ("elbow_25,2,ABC,piece", 2, "4 columns where 3"),
        # No decimal comma is meant where only one of two neighbours is a number.
        ("elbow_25,piece,50,ABC", 2, "4 columns where 3 are wanted$"),
        ("# only a remark", 1, "no prices"),
    ],
)
def test_a_slip_is_refused_by_file_and_line(rows, line, words):
    with pytest.raises(TextFileError, match=rf"p\.csv:{line}: .*{words}"):
        read_prices(HEAD + rows + "\n", "p.csv")


@pytest.mark.parametrize(
    ("text", "line"),
    [("", 1), ("# remark\n", 1), ("item;price;currency\n", 1), ("# remark\n\nitem,price\n", 3)],
)
def test_the_first_line_is_wanted(text, line):
    with pytest.raises(TextFileError, match=rf"^p\.csv:{line}: the first line must be item,price,"):
        read_prices(text, "p.csv")


@pytest.mark.parametrize(
    ("row", "words"),
    [
        ("submain_pipe_25,140,QVL,coil", "priced by the m, not by 'coil'"),
        ("elbow_25,1,50,QVL", "write 1.50 with a point"),
    ],
)
def test_slips_where_a_unit_stands(row, words):
    with pytest.raises(TextFileError, match=words):
        read_prices("item,price,currency,unit\n" + row + "\n", "p.csv")


def test_every_slip_is_told_at_once():
    with pytest.raises(TextFileError) as refused:
        read_prices(HEAD + "valv_dn20,-3,ABC\nelbow_25,x,ABC\n", "p.csv")
    assert [problem.line for problem in refused.value.problems] == [2, 2, 3]


@pytest.mark.parametrize("slip", ["elbow_25,2,abc", "elbow_25,2"])
def test_a_slip_in_the_first_currency_does_not_make_every_other_line_wrong(slip):
    """The currency is the first one written as such; else each right line would be refused."""
    with pytest.raises(TextFileError) as refused:
        read_prices(HEAD + slip + "\nelbow_32,3,QVL\nelbow_40,4,QVL\n", "p.csv")
    assert [problem.line for problem in refused.value.problems] == [2]


def test_the_invented_prices_are_read_and_marked_as_invented():
    text = resources.files("service.scenario").joinpath("prices.csv").read_text(encoding="utf-8")
    prices = read_prices(text, "prices.csv")
    assert text.splitlines()[0].startswith("# Invented")
    assert set(prices.by_item) <= known_items()
