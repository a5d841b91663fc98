"""Parts counted by hand for worked layouts, and what must hold for any."""

import math
from importlib import resources

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.sizing import result
from service.sizing.card import read_card
from service.sizing.parts import (
    laying_of,
    layout_cost,
    part_counts,
    parts_count,
    parts_list,
    parts_total,
    read_prices,
)
from service.sizing.pipes import PipeSize
from service.sizing.prices import PriceList

FULL = result.FullTank(
    total_flow_lph=600,
    min_flow_lph=0.42,
    mean_flow_lph=0.45,
    max_flow_lph=0.47,
    emission_uniformity_pct=88,
    flow_variation_pct=8,
)


def layout(position, taps, line_m, bore_mm, blocks=1, spacing_m=1.0):
    """A layout made by hand: only what its parts depend on means anything."""
    per_tap = 2 if position == "mid_side" else 1
    ends = [round(taps * (number + 1) / blocks) for number in range(blocks)]
    firsts = [1, *(end + 1 for end in ends[:-1])]
    positions = tuple((number + 0.5) * spacing_m for number in range(taps))
    return result.Layout(
        tank_position=position,
        lines_run="length",
        blocks=blocks,
        line_count=taps * per_tap,
        line_length_m=line_m,
        line_spacing_m=spacing_m,
        emitters_per_line=max(1, int(line_m / 0.3)),
        tap_positions_m=positions,
        submain_length_m=positions[-1],
        submain_inner_diameter_mm=bore_mm,
        inlet_k=3.0,
        full_tank=FULL,
        empty_minutes=60,
        delivered_litres=450,
        block=tuple(
            result.Block(
                first_tap=first,
                last_tap=last,
                line_count=(last - first + 1) * per_tap,
                full_tank=FULL,
                empty_minutes=60,
                delivered_litres=450,
            )
            for first, last in zip(firsts, ends, strict=True)
        ),
        meets_goal=True,
        goal_emission_uniformity_pct=85,
    )


def quantities(card, one, pipes):
    return {line.item: line.quantity for line in parts_list(card, one, pipes, None)}


@pytest.fixture(scope="module")
def invented_prices():
    text = resources.files("service.scenario").joinpath("prices.csv").read_text(encoding="utf-8")
    return read_prices(text, "prices.csv")


def test_one_block_from_a_corner(plot_card, pipes):
    """
    20 m x 20 m, tank at a corner on 2.5 m, 20 lines of 20 m, bore 21.8 mm: 25 mm pipe, 3/4 inch.

    Pipe: down 2.5 + outlet 0.1, submain 19.5, half a metre for the cuts of each of two
    pieces: 23.1 m, one coil of 25 m. Lines: 20 x 20.5 = 410 m; 400 m hold 19 and 100 m hold 4.
    Taps and line ends 20 + 2 spare (5 % is 1, at least 2). Adaptors: into the tank connector and
    into the valve (2, outside thread), out of the filter (1, inside thread). Threads: connector,
    two at the valve, one behind the filter: 4, one roll.
    """
    assert quantities(plot_card(), layout("corner", 20, 20.0, 21.8), pipes) == {
        "tank_connector_dn20": 1,
        "male_adaptor_25_dn20": 2,
        "elbow_25": 2,
        "valve_dn20": 1,
        "screen_filter_dn20": 1,
        "female_adaptor_25_dn20": 1,
        "submain_pipe_25": 25,
        "pipe_joiner_25": 1,
        "pipe_end_25": 1,
        "take_off_16": 22,
        "dripline_16": 500,
        "line_end_16": 22,
        "line_joiner_16": 2,
        "goof_plug": 2,
        "hole_punch": 1,
        "thread_tape": 1,
        "tank_strap": 1,
    }


def test_two_blocks_from_the_middle_of_a_side(plot_card, pipes):
    """
    40 m x 20 m, tank at mid-side on 2 m, 20 taps with two lines of 20 m each, two blocks of ten
    taps, bore 28.2 mm: 32 mm pipe, 1 inch.

    Pipe: down 2.1, submain 19.5, the first block's header from tap 0.5 to 9.5 m: 9; cuts of three
    pieces 1.5: 32.1 m, one coil of 50 m (25 + 25 would be two). Lines: 40 x 20.5 = 820 m; two coils
    of 400 m hold 38, one of 100 m holds 4 more. Valves 1 + 2; adaptors 2 at the tank + 2 at each
    block valve; elbows 2 + 1 where the header turns; one tee; two ends. Threads 4 + 4.
    """
    card = plot_card(**{"plot.length_m": 40, "stand_height_m": 2.0, "tank.volume_l": 1000})
    assert quantities(card, layout("mid_side", 20, 20.0, 28.2, blocks=2), pipes) == {
        "tank_connector_dn25": 1,
        "male_adaptor_32_dn25": 6,
        "elbow_32": 3,
        "valve_dn25": 3,
        "screen_filter_dn25": 1,
        "female_adaptor_32_dn25": 1,
        "submain_pipe_32": 50,
        "pipe_joiner_32": 1,
        "tee_32": 1,
        "pipe_end_32": 2,
        "take_off_16": 42,
        "dripline_16": 900,
        "line_end_16": 42,
        "line_joiner_16": 2,
        "goof_plug": 2,
        "hole_punch": 1,
        "thread_tape": 1,
        "tank_strap": 1,
    }


def test_tape_on_a_submain_that_narrows_and_no_filter(plot_card, pipes):
    """
    12 lines of tape, 30 m; pipe 32 mm to the sixth tap at 5.5 m, 25 mm from there to 11.5 m.

    First pipe: down 1.5 + 0.1, 5.5, cuts of two pieces 1: 8.1 m. Second: 6 m. Without a filter the
    valve has an adaptor on either side (3 with the tank's).
    """
    card = plot_card(
        **{
            "stand_height_m": 1.5,
            "filter": False,
            "dripline.inner_diameter_mm": 16.0,
            "submain.inner_diameter_mm": 28.2,
            "submain.second": {"inner_diameter_mm": 21.8, "from_tap": 6},
        }
    )
    one = layout("corner", 12, 30.0, 28.2)
    found = quantities(card, one, pipes)
    lines = {line.item: line for line in parts_list(card, one, pipes, None)}
    assert lines["submain_pipe_32"].needed_m == pytest.approx(8.1)
    assert lines["submain_pipe_25"].needed_m == pytest.approx(6.0)
    assert found["reducer_32_25"] == 1
    assert found["pipe_end_25"] == 1
    assert found["male_adaptor_32_dn25"] == 3
    assert found["tape_take_off_16"] == 14
    assert found["drip_tape_16"] == 400
    assert not any(item.startswith(("screen_filter", "female", "dripline")) for item in found)


def test_a_wide_submain_has_one_inch_fittings_at_the_tank_and_its_own_at_the_blocks(
    plot_card, pipes
):
    """The network counts on a 1 inch outlet, valve and filter above 25 mm pipe."""
    found = quantities(plot_card(), layout("corner", 20, 20.0, 44.2, blocks=2), pipes)
    assert found["valve_dn25"] == 1
    assert found["valve_dn40"] == 2
    assert found["male_adaptor_50_dn25"] == 2
    assert found["male_adaptor_50_dn40"] == 4


def test_a_submain_as_thin_as_a_dripline_is_plain_pipe_of_that_size(plot_card, pipes):
    found = quantities(plot_card(), layout("corner", 20, 20.0, 13.6), pipes)
    assert found["submain_pipe_16"] == 25


def test_no_pipe_in_the_table_for_the_lines(plot_card):
    pipe = PipeSize("25 mm pipe", 25, 21.8, 20.4, 22.4, "submain")
    with pytest.raises(ValueError, match="nothing for dripline, tape"):
        parts_list(plot_card(), layout("corner", 4, 5.0, 21.8), [pipe], None)


def test_notes_say_coils_and_spares(plot_card, pipes):
    lines = {
        line.item: line
        for line in parts_list(plot_card(), layout("corner", 20, 20.0, 21.8), pipes, None)
    }
    assert lines["dripline_16"].note == (
        "1 coil of 400 m (lines from it: 19), 1 coil of 100 m (lines from it: 4); "
        "410 m used, 90 m left"
    )
    assert lines["submain_pipe_25"].note == "1 coil of 25 m; 23.1 m used, 1.9 m left"
    assert lines["take_off_16"].note == "2 are spare"
    assert lines["goof_plug"].note == "spare"
    assert lines["valve_dn20"].note == ""


def test_costs_add_up_by_hand(plot_card, pipes):
    """Only valve (12.50) and dripline (2.60 a metre of 500 m) have a price: 12.50 and 1300."""
    prices = PriceList("QVL", {"valve_dn20": 12.5, "dripline_16": 2.6})
    lines = parts_list(plot_card(), layout("corner", 20, 20.0, 21.8), pipes, prices)
    costs = {line.item: line.cost for line in lines if line.cost is not None}
    assert costs == {"valve_dn20": 12.5, "dripline_16": 1300.0}
    total = parts_total(lines, prices)
    assert total.total is None
    assert "elbow_25" in total.missing
    assert len(total.missing) == len(lines) - 2


def test_without_prices_everything_is_missing(plot_card, pipes):
    one = layout("corner", 20, 20.0, 21.8)
    total = parts_total(parts_list(plot_card(), one, pipes, None), None)
    assert (total.currency, total.total, len(total.missing)) == ("", None, 17)
    assert layout_cost(laying_of(plot_card(), one, pipes), None) is None
    lacking = PriceList("QVL", {"valve_dn20": 12.5})
    assert layout_cost(laying_of(plot_card(), one, pipes), lacking) is None


@pytest.mark.parametrize("bore_mm", [13.6, 17.4, 21.8, 28.2, 35.4, 44.2])
@pytest.mark.parametrize("blocks", [1, 3])
def test_the_invented_prices_cover_every_layout(plot_card, pipes, invented_prices, bore_mm, blocks):
    one = layout("mid_side", 9, 15.0, bore_mm, blocks=blocks)
    lines = parts_list(plot_card(), one, pipes, invented_prices)
    total = parts_total(lines, invented_prices)
    assert total.missing == ()
    assert total.total == pytest.approx(sum(line.cost for line in lines), abs=0.005)
    assert layout_cost(laying_of(plot_card(), one, pipes), invented_prices) == total.total


layouts = st.builds(
    layout,
    st.sampled_from(["corner", "mid_side"]),
    st.integers(4, 120),
    st.floats(0.5, 500.0),
    st.sampled_from([13.6, 17.4, 21.8, 28.2, 35.4, 44.2, 60.0]),
    blocks=st.integers(1, 4),
    spacing_m=st.sampled_from([0.3, 0.75, 1.0, 1.5]),
)
BARE = {"plot": {"length_m": 20, "width_m": 20}, "tank": {"volume_l": 500}, "stand_height_m": 1.5}


@given(layouts)
def test_what_holds_for_any_layout(pipes, one):
    card = read_card(BARE)
    lines = parts_list(card, one, pipes, None)
    by_item = {line.item: line for line in lines}
    assert len(by_item) == len(lines)
    for line in lines:
        assert line.quantity == math.floor(line.quantity) > 0
        assert 0 <= line.spare <= line.quantity
        if line.unit == "m":
            assert line.quantity == sum(coil.length_m * coil.count for coil in line.coils)
            assert line.quantity >= line.needed_m - 1e-6
    strip = by_item["dripline_16"]
    assert strip.needed_m == pytest.approx(one.line_count * (one.line_length_m + 0.5), abs=2e-3)
    if one.line_length_m <= 399.5:
        assert sum(coil.lines_each * coil.count for coil in strip.coils) >= one.line_count
    pipe = sum(line.needed_m for line in lines if line.item.startswith("submain_pipe_"))
    assert pipe >= one.submain_length_m + 1.5
    assert by_item["take_off_16"].quantity - by_item["take_off_16"].spare == one.line_count
    valves = sum(line.quantity for line in lines if line.item.startswith("valve_"))
    assert valves == (1 if one.blocks == 1 else 1 + one.blocks)


@given(layouts)
def test_counting_and_listing_agree(pipes, one):
    card = read_card(BARE)
    laying = laying_of(card, one, pipes)
    lines = parts_list(card, one, pipes, None)
    assert [count.item for count in part_counts(laying)] == [line.item for line in lines]
    pieces = sum(
        sum(coil.count for coil in line.coils) if line.unit == "m" else line.quantity
        for line in lines
    )
    assert parts_count(laying) == pieces


@given(layouts)
def test_more_blocks_take_more_parts(pipes, one):
    card = read_card(BARE)
    if one.blocks > 1:
        single = layout(
            one.tank_position,
            len(one.tap_positions_m),
            one.line_length_m,
            one.submain_inner_diameter_mm,
            spacing_m=one.line_spacing_m,
        )
        more, fewer = (laying_of(card, each, pipes) for each in (one, single))
        assert parts_count(more) > parts_count(fewer)
        assert more.pipe_m >= fewer.pipe_m


def test_what_is_free_costs_nothing_and_each_row_is_rounded(plot_card, pipes):
    """
    Two kinds of part at 0.0335 apiece, 22 of each: 0.737 is 0.74 on each row, so 1.48 in all,
    not the 1.47 that 1.474 would be: a bill must add up from what stands in its rows.
    """
    one = layout("corner", 20, 20.0, 21.8)
    free = dict.fromkeys(quantities(plot_card(), one, pipes), 0.0)
    prices = PriceList("QVL", free | {"take_off_16": 0.0335, "line_end_16": 0.0335})
    lines = parts_list(plot_card(), one, pipes, prices)
    rows = {line.item: (line.unit_price, line.cost) for line in lines}
    assert rows["take_off_16"] == rows["line_end_16"] == (0.0335, 0.74)
    assert rows["hole_punch"] == (0, 0)
    total = parts_total(lines, prices)
    assert (total.currency, total.total, total.missing) == ("QVL", 1.48, ())
    assert layout_cost(laying_of(plot_card(), one, pipes), prices) == 1.48
