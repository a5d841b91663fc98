"""Looking things up in the tables, and adding a deployment's own."""

import re

import pytest

from service.errors import CardError
from service.sizing.climate import read_districts
from service.sizing.prices import PriceList
from service.sizing.tables import standard_tables

TABLES = standard_tables()
ROWS = "\n".join(
    f"x{n},{name},{m},5" for n, name in enumerate(("Oséra", "Lim")) for m in range(1, 13)
)
DISTRICTS = read_districts(f"district_id,district_name,month,eto_mm_day\n{ROWS}", "d.csv")


@pytest.mark.parametrize(
    "said", ["sweet_pepper", "Sweet pepper", "SWEET PEPPER", "sweet  pepper", "Sweet_Pepper"]
)
def test_a_crop_is_found_by_key_or_name(said):
    assert TABLES.crop(said).key == "sweet_pepper"


@pytest.mark.parametrize(
    ("look_up", "said", "allowed"),
    [
        ("crop", "tomatoe", "did you mean tomato"),
        ("crop", "xyz", r"allowed: tomato, onion, .* and \d+ more$"),
        ("soil", "lome", "did you mean loam"),
        ("soil", "gravel", "allowed: sand, sandy_loam, loam, clay_loam, clay$"),
        ("district", "Limm", "no districts are loaded"),
    ],
)
def test_an_unknown_name_is_answered_with_what_is_near(look_up, said, allowed):
    with pytest.raises(CardError, match=allowed) as caught:
        getattr(TABLES, look_up)(said)
    assert caught.value.problems[0].field == look_up
    assert caught.value.problems[0].value == said


def test_a_district_is_found_by_id_or_name_without_accents():
    tables = TABLES.with_districts(DISTRICTS)
    assert tables.district("osera").key == "x0"
    assert tables.district("x1").name == "Lim"
    with pytest.raises(CardError, match="did you mean x1"):
        tables.district("Limm")


def test_adding_leaves_the_standard_tables_alone():
    richer = TABLES.with_districts(DISTRICTS).with_prices(PriceList("VAL", {}))
    assert set(richer.districts) == {"x0", "x1"}
    assert richer.prices is not None
    assert not standard_tables().districts
    assert standard_tables().prices is None


def test_the_tables_are_read_once():
    assert standard_tables() is standard_tables()


def test_a_crop_is_found_by_the_words_of_its_key_where_its_name_is_another():
    assert TABLES.crop("sweet_maize").name == "Green maize"
    assert TABLES.crop("Sweet maize").key == TABLES.crop("green MAIZE").key == "sweet_maize"


def of_names(*names):
    rows = [f"k{n},{name},{m},5" for n, name in enumerate(names) for m in range(1, 13)]
    text = "\n".join(["district_id,district_name,month,eto_mm_day", *rows])
    return TABLES.with_districts(read_districts(text, "d.csv"))


@pytest.mark.parametrize(
    ("count", "more"),
    [(5, ""), (6, ""), (7, " and 1 more"), (8, " and 2 more")],
)
def test_six_of_a_long_table_are_named_and_the_others_counted(count, more):
    names = ["Aa", "Bb", "Cc", "Dd", "Ee", "Ff", "Gg", "Hh"][:count]
    with pytest.raises(CardError) as caught:
        of_names(*names).district("zzzzzz")
    (problem,) = caught.value.problems
    told = ", ".join(f"k{n}" for n in range(min(6, count)))
    assert (problem.field, problem.value) == ("district", "zzzzzz")
    assert re.fullmatch(f"allowed: {told}{more}", problem.allowed)


def test_at_most_three_near_names_are_told():
    with pytest.raises(CardError) as caught:
        of_names("Limaro", "Limera", "Limira", "Limora").district("Limara", "place")
    (problem,) = caught.value.problems
    assert problem.field == "place"
    assert problem.allowed.count(" or ") == 2
