"""The one way to compute a plan."""

from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.advice import plan
from service.errors import CardError
from service.sizing.card import read_card
from service.sizing.tables import standard_tables

TODAY = date(2026, 11, 25)


def test_a_tomato_plot_on_a_wide_and_on_a_thin_main_pipe(card, tables):
    """On 21 mm bore the 20 m x 20 m plot is even; on 13.6 mm it is much less so.

    20 lines, each of floor(20 / 0.3) = 66 emitters: 1320 in all.
    """
    wide = plan(card(submain={"inner_diameter_mm": 21}), tables, today=TODAY)
    thin = plan(card(submain={"inner_diameter_mm": 13.6}), tables, today=TODAY)
    best, poor = wide.layouts[wide.recommended], thin.layouts[thin.recommended]
    assert best.line_count * best.emitters_per_line == 1320
    assert best.full_tank.total_flow_lph == pytest.approx(1320 * best.full_tank.mean_flow_lph)
    assert best.full_tank.flow_variation_pct < 5 < 15 < poor.full_tank.flow_variation_pct
    assert any(warning.code == "flow_variation_high" for warning in thin.warnings)


def test_gross_water_by_hand(card, tables):
    """Net 1 mm on 400 m2 is 400 L; at the valve 400 / EU (1 mm on 1 m2 is 1 L, FAO-56 p. 3)."""
    found = plan(card(submain={"inner_diameter_mm": 21}), tables, today=TODAY)
    uniformity = found.layouts[found.recommended].full_tank.emission_uniformity_pct / 100
    for row in found.watering:
        assert row.gross_l_day == pytest.approx(row.net_mm_day * 400 / uniformity)
        assert row.fills_per_day == pytest.approx(row.gross_l_day / 450)


def test_every_field_left_out_is_named_as_assumed(card, tables):
    found = plan(card(), tables, today=TODAY)
    fields = {item.field for item in found.assumed}
    assert {"soil", "line_spacing_m", "dripline.emitter_flow_lph", "tank.water_depth_m"} <= fields
    given = plan(card(soil="clay", line_spacing_m=1.2), tables, today=TODAY)
    assert not {"soil", "line_spacing_m"} & {item.field for item in given.assumed}


def test_a_card_without_crop_is_sized_and_says_that_water_is_unknown(card, tables):
    found = plan(card(crop=None), tables, today=TODAY)
    assert found.watering == ()
    assert found.supply is None
    assert "crop_unknown" in {warning.code for warning in found.warnings}


def test_an_unknown_crop_is_refused_with_the_near_one(card, tables):
    with pytest.raises(CardError, match="did you mean tomato"):
        plan(card(crop="tomatto"), tables, today=TODAY)


def test_short_supply_says_how_much_land_it_keeps(card, tables):
    found = plan(card(supply={"fill": "bucket", "litres_per_day": 600}), tables, today=TODAY)
    assert found.supply.enough is False
    expected = 400 * 600 / found.supply.peak_l_day
    assert found.supply.keeps_area_m2 == pytest.approx(expected)


def test_lines_far_apart_become_one_line_on_a_narrow_plot(card, tables):
    found = plan(card(crop="mango", plot={"length_m": 6, "width_m": 3}), tables, today=TODAY)
    assert found.layouts[found.recommended].line_spacing_m == 3


def test_where_only_blocks_do_the_plan_says_what_one_valve_would_do(card, tables):
    long = card(
        plot={"length_m": 40, "width_m": 20},
        stand_height_m=0.5,
        submain={"inner_diameter_mm": 17.4},
    )
    found = plan(long, tables, today=TODAY)
    best = found.layouts[found.recommended]
    assert best.meets_goal
    assert best.blocks > 1
    assert found.one_valve.flow_variation_pct > 20
    changes = [remedy.change for remedy in found.remedies]
    assert {"wider_submain", "shorter_lines", "more_blocks"} <= set(changes)
    assert changes[-1] == "higher_stand"


def test_remedies_are_ranked_by_what_they_do_a_higher_stand_last(card, tables):
    thin = card(
        plot={"length_m": 40, "width_m": 20},
        stand_height_m=0.5,
        submain={"inner_diameter_mm": 13.6},
        layout={"blocks": 1},
    )
    found = plan(thin, tables, today=TODAY)
    first = [r for r in found.remedies if r.change != "higher_stand"]
    gains = [round(r.emission_uniformity_pct, 1) for r in first]
    assert gains == sorted(gains, reverse=True)
    assert all(r.change == "higher_stand" for r in found.remedies[len(first) :])


def test_the_same_card_gives_the_same_plan_without_a_day(card, tables):
    assert plan(card(), tables) == plan(card(), tables)


@settings(max_examples=60)
@given(
    length=st.floats(2, 60),
    width=st.floats(1, 60),
    litres=st.floats(20, 5000),
    stand=st.floats(0, 4),
    slope=st.floats(-3, 3),
    crop=st.sampled_from(sorted(standard_tables().crops)),
)
def test_any_plot_of_the_phone_gets_a_plan_that_adds_up(length, width, litres, stand, slope, crop):
    raw = {
        "plot": {"length_m": length, "width_m": width, "slope_length_pct": slope},
        "tank": {"volume_l": litres},
        "stand_height_m": stand,
        "crop": crop,
    }
    found = plan(read_card(raw), standard_tables(), today=TODAY)
    best = found.layouts[found.recommended]
    assert best.delivered_litres <= litres
    assert best.full_tank.min_flow_lph <= best.full_tank.mean_flow_lph + 1e-9
    assert found.supply.needed_l_day <= found.supply.peak_l_day * 1.25 + 1e-6
    assert bool(found.remedies) <= (not best.meets_goal or found.one_valve is not None)
