"""The plot's page: drawing, charts with their numbers, reasons, texts and paper."""

from __future__ import annotations

import io
import re
from typing import Any
from xml.etree import ElementTree

import pytest
from pypdf import PdfReader

from service.records import Plot

HELPLINE = "/desk/helpline"
SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture
def operator(desk: Any) -> Any:
    return desk.sitter("operator")


@pytest.fixture
def place(desk: Any) -> tuple[str, Any]:
    phone, plot = desk.caller()
    return f"{HELPLINE}/callers/{phone.id}/plots/{plot.id}", plot


def test_the_page_tells_layout_parts_and_months(operator: Any, place: Any) -> None:
    page = operator.get(place[0])
    for words in ("15 of 20 m", "Parts list", "Watering month by month", "16 mm dripline"):
        assert words in page
    # Fifteen lines stand in the table of head and flow.
    assert len(re.findall(r'<tr><th scope="row">\d+</th>', page)) == 15


def test_the_evenness_is_the_one_that_the_caller_is_told(operator: Any, place: Any) -> None:
    page = operator.get(place[0])
    shown = re.search(r"(\d+) % <span", page)
    texts = operator.get(f"{place[0]}/send")
    assert shown is not None
    assert f"Weakest dripper {shown[1]}%." in texts


def test_a_plot_that_makes_no_plan_says_what_is_missing(desk: Any, operator: Any) -> None:
    phone, _ = desk.caller()
    bare = desk.keep("plots", Plot(desk.new_id(), phone.id, desk.now, desk.now, current=False))
    page = operator.get(f"{HELPLINE}/callers/{phone.id}/plots/{bare.id}")
    assert operator.status == 200
    assert "No plan yet" in page
    assert "/form/plan" in page
    for picture in ("drawing", "head", "flow", "months"):
        operator.get(f"{HELPLINE}/plots/{bare.id}/{picture}.svg")
        assert operator.status == 422


@pytest.mark.parametrize("picture", ["drawing", "head", "flow", "months"])
def test_each_picture_is_svg_without_script_or_style(
    operator: Any, place: Any, picture: str
) -> None:
    answer = operator.client.get(f"{HELPLINE}/plots/{place[1].id}/{picture}.svg")
    assert answer.mimetype == "image/svg+xml"
    root = ElementTree.fromstring(answer.text)
    assert root.tag == f"{SVG}svg"
    assert root.get("viewBox")
    assert not {f"{SVG}script", f"{SVG}style"} & {one.tag for one in root.iter()}


def test_a_chart_speaks_the_language_of_the_page(desk: Any, place: Any) -> None:
    desk.account("mama", "operator", language="sw")
    svg = desk.sitter("mama").client.get(f"{HELPLINE}/plots/{place[1].id}/months.svg").text
    assert ">Okt<" in svg


def test_the_chain_of_reasons_ends_at_the_valve(operator: Any, place: Any) -> None:
    page = operator.get(f"{place[0]}/why?day=2026-12-20")
    assert "Water on 2026-12-20" in page
    steps = re.findall(r"<strong>([^<]*):</strong>", page)
    assert steps[0] == "ETo of the month"
    assert steps[-1] == "open valve"
    assert "net need" in steps
    assert "FAO-56" in page


@pytest.mark.parametrize("day", ["tomorrow", "2026-13-01", "0001-01-01", "9999-12-31"])
def test_no_day_is_not_found(operator: Any, place: Any, day: str) -> None:
    operator.get(f"{place[0]}/why?day={day}")
    assert operator.status == 404


def test_a_text_is_shown_with_its_cost_then_sent_once(desk: Any, operator: Any, place: Any) -> None:
    page = operator.get(f"{place[0]}/send")
    text = re.search(r'class="screen"[^>]*>(.*?)</p>', page, re.S)
    assert re.search(r"\d+ of 160 characters - 1 text message", page)
    operator.post(f"{place[0]}/send", what="plan/short")
    assert operator.notice == "The text is on its way."
    operator.post(f"{place[0]}/send", what="plan/short")
    assert "not sent twice" in operator.notice
    with desk.unit_of_work() as work:
        (message,) = work.outbox.of_phone(place[1].phone_id)
    assert text is not None
    assert message.text == text[1]


def test_what_would_help_is_not_offered_where_all_is_even(operator: Any, place: Any) -> None:
    assert 'value="plan/remedies"' not in operator.get(f"{place[0]}/send")


@pytest.mark.parametrize("what", ["upkeep/acid_dose", "plan", "", "plan/length"])
def test_nothing_else_is_sent(desk: Any, operator: Any, place: Any, what: str) -> None:
    operator.get(f"{place[0]}/send")
    operator.post(f"{place[0]}/send", what=what)
    assert operator.status == 422
    assert operator.alert == "This is not sent as a text."
    with desk.unit_of_work() as work:
        assert work.outbox.of_phone(place[1].phone_id) == ()


def test_the_installers_sheet_is_a_pdf_that_is_kept_nowhere(
    desk: Any, operator: Any, place: Any
) -> None:
    answer = operator.client.get(f"{HELPLINE}/plots/{place[1].id}/installer-sheet.pdf")
    assert answer.mimetype == "application/pdf"
    assert answer.headers["Cache-Control"] == "no-store"
    text = PdfReader(io.BytesIO(answer.data)).pages[0].extract_text()
    assert "20 m" in text
    assert "plan.printed" in desk.actions()
