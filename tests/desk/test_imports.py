"""Lists of farmers: what is read, what is refused and where, and that none comes in by halves."""

from __future__ import annotations

import contextlib
import csv
import itertools
import time
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.channels.messages import readable
from service.desk.csv_cells import csv_text, decoded, harmless, numbered_rows, plain
from service.desk.exports import Exports
from service.desk.farmer_rows import COLUMNS, EXAMPLES, lists_of
from service.desk.imports import Imports
from service.desk.office import Office
from service.desk.privacy import Privacy
from service.desk.refusals import DeskRefused, NotYours
from service.records import Audience

HEADER = (
    "number,name,language,district,crop,weeks,lines,line_length_m,tank_l,stand_m,groups,consent"
)
GOOD = "+254712345678,Amina,sw,Kotsindo,Tomato,3,12,20,500,1.5,women; river,yes"
WORDS = {"en": ("English",), "sw": ("Swahili", "Kiswahili"), "fr": ("French",), "hi": ("Hindi",)}


def lists(planner: Any) -> Any:
    districts = {key: one.name for key, one in planner.tables.districts.items()}
    return lists_of(districts, tuple(planner.tables.crops), WORDS)


@pytest.fixture
def imports(desk: Any) -> Imports:
    return Imports(desk.office, lists(desk.planner), region="KE", number_key="k")


def preview(imports: Imports, desk: Any, *rows: str, header: str = HEADER, **more: Any) -> Any:
    raw = "\n".join((header, *rows)).encode()
    return imports.preview(desk.officer, raw, desk.now, **more)


def run(imports: Imports, desk: Any, *rows: str, **more: Any) -> Any:
    raw = "\n".join((HEADER, *rows)).encode()
    digest = imports.preview(desk.officer, raw, desk.now, **more).digest
    return imports.run(desk.officer, raw, desk.now, digest=digest, **more)


def test_a_right_list_is_shown_and_then_kept(desk, imports):
    plan = preview(imports, desk, GOOD)
    assert (plan.problems, plan.total, plan.phones, plan.consents) == ((), 1, 1, 1)
    with desk.unit_of_work() as work:
        assert work.phones.find("+254712345678") is None
    run(imports, desk, GOOD)
    (found,) = desk.callers.by_number(desk.operator, "+254712345678", desk.now)
    view = desk.callers.see(desk.operator, found.phone_id, desk.now)
    (plot,), (person,), (consent,) = view.plots, view.people, view.consents
    assert view.phone.language == "sw"
    assert (person.name, person.groups) == ("Amina", ("women", "river"))
    assert plot.person_id == person.id
    assert plot.answers == {
        "district": "kotsindo",
        "crop": "tomato",
        "weeks_since_planting": 3,
        "weeks_told_on": "2026-11-25",
        "laid": "told",
        "laid_lines": 12,
        "laid_line_length_m": 20,
        "tank_volume_l": 500,
        "stand_height_m": 1.5,
    }
    assert (consent.given, consent.by, consent.channel) == (True, "officer", "paper")
    assert desk.context_for(desk.now).plan(plot.answers).watering


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig"])
@pytest.mark.parametrize("separator", [",", ";", "\t"])
def test_every_spreadsheets_dialect_is_read(desk, imports, encoding, separator):
    rows = [["number", "name", "stand_m"], ["+254712345678", "Zoë ठाकुर", "1,5"]]
    quoted = "\r\n".join(separator.join(f'"{cell}"' for cell in row) for row in rows)
    plan = imports.preview(desk.officer, quoted.encode(encoding), desk.now)
    assert plan.problems == ()
    assert plan.rows[0].name == "Zoë ठाकुर"
    assert plan.rows[0].answers == {"stand_height_m": 1.5}


CELLS = [
    ("number", "0712"),
    ("number", ""),
    ("number", "07I2345678"),
    ("name", ""),
    ("language", "Klingon"),
    ("district", "Atlantis"),
    ("crop", "gold"),
    ("weeks", "200"),
    ("weeks", "three"),
    ("lines", "2.5"),
    ("lines", "0"),
    ("line_length_m", "1,500"),
    ("tank_l", "-5"),
    ("tank_l", ""),
    ("stand_m", "7"),
    ("consent", "maybe"),
]


@pytest.mark.parametrize(("column", "cell"), CELLS)
def test_a_wrong_cell_is_named_by_row_and_column_with_an_example(desk, imports, column, cell):
    cells = dict(zip(HEADER.split(","), GOOD.split(","), strict=True))
    bad = ",".join(f'"{one}"' for one in {**cells, column: cell}.values())
    plan = preview(imports, desk, GOOD.replace("678,", "679,"), "", bad)
    (problem,) = plan.problems
    assert (problem.line, problem.column) == (4, column)
    assert problem.example == EXAMPLES[column]
    assert desk.speech.translate(problem.what, "en")


def test_all_problems_of_a_list_are_told_at_once(desk, imports):
    plan = preview(imports, desk, "x,,xx,yy,zz,1,,,,,,q", "x,,xx,yy,zz,1,,,,,,q")
    assert len(plan.problems) == 12
    assert [one.line for one in plan.problems] == [2] * 6 + [3] * 6


@pytest.mark.parametrize(
    ("header", "columns"),
    [
        ("name", ["number"]),
        ("number,name,shoe size", ["shoe size"]),
        ("number,name,name", ["name", "name"]),
    ],
)
def test_a_wrong_first_row_is_told(desk, imports, header, columns):
    plan = preview(imports, desk, "1,2,3", header=header)
    assert [(one.line, one.column) for one in plan.problems] == [(1, name) for name in columns]


@pytest.mark.parametrize(
    "raw", [b"", b"\n", b"\xff\xfe\x00", b'number,name\n"+254712345678,Amina', b"\x00" * 9]
)
def test_what_is_no_list_is_told_and_not_raised(desk, imports, raw):
    assert imports.preview(desk.officer, raw, desk.now).problems


def test_the_same_farmer_twice_in_a_list_is_told_with_the_first_row(desk, imports):
    plan = preview(imports, desk, GOOD, GOOD.replace("+254712345678", "0712 345 678"))
    (problem,) = plan.problems
    assert (problem.line, problem.column) == (3, "number")
    assert "2" in desk.speech.translate(problem.what, "en")


def test_several_people_and_plots_of_one_number_are_no_doubles(desk, imports):
    header = "number,name,plot"
    rows = ("+254712345678,Amina,hill", "+254712345678,Amina,river", "+254712345678,Musa,hill")
    raw = "\n".join((header, *rows)).encode()
    digest = imports.preview(desk.officer, raw, desk.now).digest
    plan = imports.run(desk.officer, raw, desk.now, digest=digest)
    assert plan.phones == 1
    (found,) = desk.callers.by_number(desk.operator, "+254712345678", desk.now)
    view = desk.callers.see(desk.operator, found.phone_id, desk.now)
    assert [one.name for one in view.people] == ["Amina", "Musa"]
    assert sorted(one.name for one in view.plots) == ["hill", "hill", "river"]
    assert [one.name for one in view.plots if one.current] == ["hill"]


def test_a_farmer_who_is_kept_already_is_told_or_left_out(desk, imports):
    run(imports, desk, GOOD)
    other = GOOD.replace("678,", "679,")
    plan = preview(imports, desk, GOOD, other)
    assert [(one.line, one.column) for one in plan.problems] == [(2, "number")]
    plan = run(imports, desk, GOOD, other, skip_known=True)
    assert (plan.known, plan.phones) == (1, 1)
    with desk.unit_of_work() as work:
        assert work.farmers.count(Audience()) == 2


def test_a_second_person_of_a_known_phone_leaves_its_current_plot(desk, imports):
    run(imports, desk, GOOD)
    run(imports, desk, GOOD.replace("Amina", "Musa"))
    (found,) = desk.callers.by_number(desk.operator, "+254712345678", desk.now)
    view = desk.callers.see(desk.operator, found.phone_id, desk.now)
    assert len(view.plots) == len(view.people) == 2
    assert view.current is not None
    assert view.current.person_id == view.people[0].id


def test_nothing_is_kept_of_a_list_with_one_wrong_row(desk, imports):
    with pytest.raises(DeskRefused, match="Nothing was taken in: 1"):
        run(imports, desk, GOOD, "x,Musa")
    with desk.unit_of_work() as work:
        assert work.phones.find("+254712345678") is None


def test_another_file_than_the_one_looked_at_is_refused(desk, imports):
    digest = preview(imports, desk, GOOD).digest
    other = f"{HEADER}\n{GOOD.replace('678,', '679,')}".encode()
    with pytest.raises(DeskRefused, match="another file"):
        imports.run(desk.officer, other, desk.now, digest=digest)


def test_a_break_half_way_keeps_nothing(desk, imports):
    rows = [GOOD.replace("678,", f"{place:03d},") for place in range(600, 610)]
    raw = "\n".join((HEADER, *rows)).encode()
    digest = imports.preview(desk.officer, raw, desk.now).digest
    left = itertools.count(1)

    def breaking() -> str:
        if next(left) > 20:
            raise OSError("the power went")
        return desk.office.new_id()

    broken = Imports(Office(desk.unit_of_work, breaking), lists(desk.planner), region="KE")
    with pytest.raises(OSError, match="power"):
        broken.run(desk.officer, raw, desk.now, digest=digest)
    with desk.unit_of_work() as work:
        assert work.farmers.count(Audience()) == 0


def test_only_officers_take_lists_in_and_only_for_their_districts(desk, imports, bound_officer):
    raw = f"{HEADER}\n{GOOD}".encode()
    with pytest.raises(NotYours):
        imports.preview(desk.operator, raw, desk.now)
    plan = imports.preview(bound_officer, raw, desk.now)
    assert [(one.column, one.example) for one in plan.problems] == [("district", "velmora")]


def test_whoever_asked_to_be_forgotten_and_left_alone_does_not_come_back_by_a_list(desk, imports):
    run(imports, desk, GOOD)
    (found,) = desk.callers.by_number(desk.operator, "+254712345678", desk.now)
    desk.people.record_consent(desk.operator, found.phone_id, "stop", "call", desk.now, given=False)
    privacy = Privacy(desk.office, "k")
    privacy.erase(desk.admin, found.phone_id, "asked by phone", desk.now)
    plan = preview(imports, desk, GOOD)
    assert [(one.line, one.column) for one in plan.problems] == [(2, "number")]
    desk.callers.add(desk.operator, "+254712345678", desk.now)
    assert preview(imports, desk, GOOD).problems == ()


def test_the_template_is_a_right_list(desk, imports):
    template = imports.template(desk.officer)
    plan = imports.preview(desk.officer, template.encode(), desk.now)
    assert plan.problems == ()
    assert plan.total == 1
    assert template.splitlines()[0] == ",".join(COLUMNS)


def test_a_list_that_left_can_be_taken_in_again_and_holds_no_formula(desk, imports):
    run(imports, desk, GOOD.replace("Amina", "=HYPERLINK(1)"))
    left = Exports(desk.office).farmers(desk.officer, Audience(), desk.now)
    cells = left.splitlines()[1].split(",")
    assert not any(cell.strip('"').startswith(("=", "+", "-", "@")) for cell in cells)
    plan = imports.preview(desk.officer, left.encode(), desk.now, skip_known=True)
    assert (plan.problems, plan.known) == ((), 1)


def test_an_officer_exports_the_own_districts_only(desk, imports, bound_officer):
    exports = Exports(desk.office)
    for audience in (Audience(), Audience(districts=("kotsindo",))):
        with pytest.raises(NotYours):
            exports.farmers(bound_officer, audience, desk.now)
    assert exports.farmers(bound_officer, Audience(districts=("velmora",)), desk.now)


@given(st.lists(st.lists(st.text(max_size=12), min_size=2, max_size=4), min_size=1, max_size=4))
def test_no_cell_is_a_formula_and_each_comes_back(rows):
    for cell in itertools.chain(*rows):
        assert not harmless(cell).startswith(("=", "+", "-", "@", "\t", "\r", "\n"))
        if not cell.startswith("'"):
            assert plain(harmless(cell)) == readable(cell).strip()


@given(st.binary(max_size=300))
def test_no_file_breaks_the_reading(raw):
    with contextlib.suppress(UnicodeDecodeError, csv.Error):
        list(numbered_rows(decoded(raw)))


def test_rows_are_counted_as_a_spreadsheet_does():
    text = 'number,name\n\n1,"two\nlines"\n2,x\n'
    assert [line for line, _ in numbered_rows(text)] == [1, 3, 5]
    assert csv_text(("a",), [["+1"], [None], [2]]) == 'a\r\n\'+1\r\n""\r\n2\r\n'


def test_ten_thousand_farmers_are_taken_in_within_seconds(make_desk, sqlite_unit_of_work):
    desk = make_desk(sqlite_unit_of_work)
    imports = Imports(desk.office, lists(desk.planner), region="KE")
    rows = [
        f"+2547{place:08d},Farmer {place},sw,kotsindo,tomato,3,12,20,500,1.5,a;b,yes"
        for place in range(12_345_678, 12_355_678)
    ]
    raw = "\n".join((HEADER, *rows)).encode()
    begin = time.perf_counter()
    plan = imports.preview(desk.officer, raw, desk.now)
    looked = time.perf_counter()
    imports.run(desk.officer, raw, desk.now, digest=plan.digest)
    took = (looked - begin, time.perf_counter() - looked)
    with desk.unit_of_work() as work:
        assert work.farmers.count(Audience()) == 10_000
    assert max(took) < 30, took
