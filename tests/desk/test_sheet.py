"""The plan of a plot as data, as a sheet, and by text."""

from __future__ import annotations

from datetime import date
from typing import Any
from xml.etree import ElementTree

import pytest

from service import advice
from service.desk.advice_sheet import BY_TEXT, AdviceSheets
from service.desk.curves import head_of, line_curves
from service.desk.refusals import DeskRefused, NotYours
from service.sizing.card import read_card


@pytest.fixture
def sheets(desk: Any) -> AdviceSheets:
    return AdviceSheets(desk.office, desk.dialogue, desk.speech, desk.context_for, desk.one_text)


@pytest.fixture
def plot(desk: Any) -> Any:
    return desk.plot(desk.phone())


def test_a_sheet_has_drawing_lines_parts_months_and_texts(desk, sheets, plot):
    sheet = sheets.see(desk.operator, plot.id, desk.now)
    assert ElementTree.fromstring(sheet.drawing).tag.endswith("svg")
    assert len(sheet.lines) == sheet.layout.line_count == 15
    assert sheet.parts
    assert sheet.currency
    assert len(sheet.months) >= 3
    states = {(one.flow, one.state): one.text for one in sheet.by_text}
    assert set(states) == set(BY_TEXT)
    assert states["plan", "short"].parts <= 2


def test_the_head_along_a_line_is_the_one_that_gives_its_flow(desk, sheets, plot):
    """Design section 4: q = c k h^x; and no head is above the water of the full tank."""
    sheet = sheets.see(desk.operator, plot.id, desk.now)
    drip = sheet.card.dripline
    surface = sheet.card.stand_height_m + sheet.card.tank.water_depth_m
    for line in sheet.lines:
        assert len(line.at_m) == len(line.flow_lph) == len(line.head_m)
        for flow, head in zip(line.flow_lph, line.head_m, strict=True):
            k = drip.emitter_flow_lph / drip.reference_head_m**drip.exponent
            assert drip.calibration * k * head**drip.exponent == pytest.approx(flow)
            assert 0 < head < surface
        # Level ground: the head only falls along a line.
        assert list(line.head_m) == sorted(line.head_m, reverse=True)


def test_lines_fall_to_their_taps_and_blocks(desk):
    card = read_card(
        {
            "plot": {"length_m": 20, "width_m": 10},
            "tank": {"volume_l": 500},
            "stand_height_m": 1.5,
            "line_spacing_m": 1,
            "layout": {"tank_position": "mid_side", "lines_run": "length", "blocks": 2},
        }
    )
    tables = desk.planner.tables
    plan = advice.plan(card, tables, today=desk.now.date(), with_emitters=True)
    layout = plan.layouts[plan.recommended]
    curves = line_curves(card, layout)
    assert [(one.line, one.side) for one in curves[:4]] == [(1, 1), (2, 2), (3, 1), (4, 2)]
    assert [one.tap_m for one in curves[:4]] == [
        layout.tap_positions_m[0],
        layout.tap_positions_m[0],
        layout.tap_positions_m[1],
        layout.tap_positions_m[1],
    ]
    counts = {number: sum(one.block == number for one in curves) for number in (1, 2)}
    assert counts == {number: block.line_count for number, block in enumerate(layout.block, 1)}
    assert head_of(0, card.dripline) == 0


def test_the_chain_of_a_number_ends_in_minutes(desk, sheets, plot):
    (chain,) = sheets.explain(desk.officer, plot.id, desk.now)
    assert chain.steps[-1].result.unit == "min/day"
    (july,) = sheets.explain(desk.officer, plot.id, desk.now, date(2026, 12, 24))
    assert "2026-12-24" in july.title


def test_the_installers_sheet_is_a_pdf_and_an_unknown_script_is_refused_in_words(
    desk, sheets, plot
):
    assert sheets.installer_sheet(desk.operator, plot.id, desk.now).startswith(b"%PDF")
    assert sheets.installer_sheet(desk.operator, plot.id, desk.now, "fr").startswith(b"%PDF")
    with pytest.raises(DeskRefused, match="typeface"):
        sheets.installer_sheet(desk.operator, plot.id, desk.now, "hi")


def test_advice_goes_out_as_one_text_a_day(desk, sheets, plot):
    assert sheets.send(desk.operator, plot.id, desk.now)
    assert not sheets.send(desk.operator, plot.id, desk.now)
    assert sheets.send(desk.operator, plot.id, desk.now, "plan", "parts")
    sheet = sheets.see(desk.operator, plot.id, desk.now)
    offered = {one.state: one.text.text for one in sheet.by_text}
    assert set(desk.outbox(plot.phone_id)) == {offered["short"], offered["parts"]}
    assert desk.actions().count("advice.sent") == 3


def test_no_dose_and_no_question_goes_out_that_way(desk, sheets, plot):
    for flow, state in (("upkeep", "acid_dose"), ("upkeep", "chlorine_dose"), ("plan", "length")):
        with pytest.raises(DeskRefused, match="not sent as a text"):
            sheets.send(desk.operator, plot.id, desk.now, flow, state)


def test_without_a_plot_nothing_is_drawn_or_sent(desk, sheets):
    phone = desk.phone()
    bare = desk.people.add_plot(desk.operator, phone.id, "hill", desk.now)
    for ask in (sheets.see, sheets.explain, sheets.installer_sheet, sheets.send):
        with pytest.raises(DeskRefused, match="make no plot"):
            ask(desk.operator, bare.id, desk.now)
    assert desk.outbox(phone.id) == []


def test_an_officer_of_another_district_sees_no_plan(desk, sheets, plot, bound_officer):
    with pytest.raises(NotYours):
        sheets.see(bound_officer, plot.id, desk.now)
