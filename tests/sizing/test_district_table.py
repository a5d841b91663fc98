"""Climate tables as they are read: what each cell becomes, and what is told of a bad line."""

import pytest

from service.errors import LineProblem
from service.sizing.district_rows import DistrictRows
from service.sizing.district_table import COLUMNS, read_district_rows
from service.sizing.month_eto import MonthRecord, Place

HEAD = "district_id,district_name,month,eto_mm_day"


def read(text):
    """Districts and problems of a table."""
    problems = []
    return list(read_district_rows(text, "d.csv", problems)), problems


def year(key="a", name="Aro", months=range(1, 13), figure="5"):
    return [f"{key},{name},{month},{figure}" for month in months]


def table(*rows, head=HEAD):
    return "\n".join([head, *rows])


def numbers_of(month):
    """Another value in every column and month, so that no two can be taken for each other."""
    return {
        "tmin_c": 10 + month,
        "tmax_c": 23 + month,
        "rh_mean_pct": 40 + month,
        "ea_kpa": 1 + month / 100,
        "tdew_c": 5 + month / 10,
        "sun_h": 6 + month / 100,
        "sun_pct": 50 + month,
        "rs_mj_m2_day": 15 + month / 10,
        "wind_m_s": 2 + month / 100,
        "wind_height_m": 3 + month / 10,
        "rain_mm": 80 + month,
        "rain_dependable_mm": 60 + month,
        "wet_days": 7 + month / 10,
        "eto_mm_day": 4 + month / 100,
    }


def whole(lines):
    """The one district of the tables below, its months read in these lines."""
    records = tuple(
        MonthRecord(line, month, source="met office", period="1991-2020", **numbers_of(month))
        for month, line in enumerate(lines, start=1)
    )
    return DistrictRows("a", "Aro", "ZZ", Place(-11.5, 34.25, 900.0, True), records)


PLACE = {
    "district_id": "a", "district_name": "Aro", "country": "ZZ", "lat": -11.5, "lon": 34.25,
    "elev_m": 900, "coast": "Yes",
}  # fmt: skip
ORIGIN = {"source": "met office", "period": "1991-2020"}


def test_every_cell_of_a_row_a_month_comes_to_its_own_place():
    rows = [PLACE | {"month": month} | numbers_of(month) | ORIGIN for month in range(1, 13)]
    assert set(rows[0]) == set(COLUMNS)
    lines = [",".join(f" {row[column]} " for column in COLUMNS) for row in rows]
    assert read(table(*lines, head=",".join(COLUMNS))) == ([whole(range(2, 14))], [])


def test_every_cell_of_a_row_a_place_comes_to_its_own_month():
    cells = PLACE | ORIGIN
    for month in range(1, 13):
        cells |= {f"{name}_{month:02d}": value for name, value in numbers_of(month).items()}
    text = table(",".join(map(str, cells.values())), head=",".join(cells))
    assert read(text) == ([whole([2] * 12)], [])


def test_what_a_table_does_not_say_is_unknown_or_empty():
    (district,), problems = read(table(*year()))
    assert problems == []
    assert (district.country, district.place) == ("", Place(None, None, None, False))
    assert district.records[0] == MonthRecord(2, 1, eto_mm_day=5.0)


def test_the_place_need_stand_only_in_the_first_row_of_a_district():
    head = "district_id,district_name,month,eto_mm_day,lat,lon,elev_m"
    later = [f"a,,{month},5,,," for month in range(2, 13)]
    (district,), problems = read(table("a,Aro,1,5,-11.5,34.25,900", *later, head=head))
    assert problems == []
    assert district.place == Place(-11.5, 34.25, 900.0, False)


@pytest.mark.parametrize("column", ["lat", "lon", "elev_m"])
def test_a_district_stands_in_one_place(column):
    head = f"{HEAD},{column}"
    rows = [f"{row},{40 + (place == 5)}" for place, row in enumerate(year())]
    _, problems = read(table(*rows, head=head))
    assert problems[0] == LineProblem(
        "d.csv", 7, f"{column} 41 differs from line 2 of this district"
    )


def test_a_month_as_warm_by_night_as_by_day_is_no_slip():
    """Means to the whole degree of a misty coast: only a night warmer than the day is refused."""
    head = f"{HEAD},tmin_c,tmax_c"
    rows = [f"{row},18,18" for row in year()]
    (district,), problems = read(table(*rows, head=head))
    assert problems == []
    assert (district.records[0].tmin_c, district.records[0].tmax_c) == (18, 18)


@pytest.mark.parametrize("between", ["", ",,,", "# a remark", "   # a remark, with a comma"])
def test_reading_goes_on_behind_what_says_nothing(between):
    rows = year()
    (district,), problems = read(table(*rows[:6], between, *rows[6:]))
    assert problems == []
    assert [record.line for record in district.records] == [*range(2, 8), *range(9, 15)]


def test_reading_goes_on_behind_a_line_that_is_too_short():
    rows = year()
    (district,), problems = read(table(*rows[:6], "a,Aro", *rows[6:]))
    assert problems == [LineProblem("d.csv", 8, "2 values under 4 headings")]
    assert len(district.records) == 12


@pytest.mark.parametrize(
    ("months", "missing"),
    [(range(2, 13), "1"), (range(1, 12), "12"), (range(3, 13), "1, 2")],
)
def test_a_district_with_a_month_too_few_is_told_and_the_next_one_read(months, missing):
    districts, problems = read(table(*year(months=months), *year("b", "Bor")))
    assert [district.key for district in districts] == ["b"]
    assert problems == [LineProblem("d.csv", 2, f"Aro: month {missing} missing or not usable")]


@pytest.mark.parametrize(
    ("text", "line", "complaint"),
    [
        ("", 1, "column 'district_id' is missing"),
        ("# one\n# two\n", 1, "column 'district_id' is missing"),
        ("district_name,month\n", 1, "column 'district_id' is missing"),
        ("# one\n\ndistrict_name,month\n", 3, "column 'district_id' is missing"),
        (HEAD, 1, "the table holds no district"),
        (f"{HEAD},zzz", 1, "unknown column 'zzz'"),
        (f"{HEAD},tmin_d", 1, "unknown column 'tmin_d'; did you mean tmin_c?"),
        (
            f"{HEAD},rain_mm_01",
            1,
            "monthly columns (_01 to _12) and a month column cannot stand together",
        ),
    ],
)
def test_a_table_that_cannot_be_read_is_told_where_and_why(text, line, complaint):
    districts, problems = read(text)
    assert districts == []
    assert problems[0] == LineProblem("d.csv", line, complaint)


@pytest.mark.parametrize(
    ("cell", "complaint"),
    [
        ('"4,5"', "eto_mm_day: '4,5' is not a number; write a decimal point"),
        ("4;5", "eto_mm_day: '4;5' is not a number"),
    ],
)
def test_a_decimal_comma_is_told_as_one(cell, complaint):
    _, problems = read(table(*year(months=range(1, 12)), f"a,Aro,12,{cell}"))
    assert LineProblem("d.csv", 13, complaint) in problems
