"""Looking things up in the tables, and adding a deployment's own."""

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


@pytest.mark.parametrize("said", ["sweet_pepper", "Sweet pepper", "SWEET PEPPER", "sweet  pepper"])
def test_a_crop_is_found_by_key_or_name(said):
    assert TABLES.crop(said).key == "sweet_pepper"


@pytest.mark.parametrize(
    ("look_up", "said", "allowed"),
    [
        ("crop", "tomatoe", "did you mean tomato"),
        ("crop", "xyz", r"allowed: tomato, onion, .* and \d+ more crops"),
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
