import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.errors import CardError, NotConverged
from service.sizing.layouts import Why, size_layouts

STARVED = {
    "plot.length_m": 40,
    "stand_height_m": 1.0,
    "submain.inner_diameter_mm": 13.6,
    "layout": {"tank_position": "corner", "lines_run": "length", "blocks": 1},
}


def test_best_of_each_position_and_direction(plot_card, pipes):
    sized = size_layouts(plot_card(), pipes)
    assert [(one.tank_position, one.lines_run) for one in sized.layouts] == [
        ("corner", "length"),
        ("corner", "width"),
        ("mid_side", "length"),
        ("mid_side", "width"),
    ]
    assert all(one.meets_goal for one in sized.layouts)
    assert sized.why.code == "cheapest_that_meets"
    assert not sized.remedies


def test_tomato_plot_of_twenty_metres(plot_card, pipes):
    """20 x 20 m, 500 L on 2.5 m: the figures are EPANET's, by the network rules, with the inlet
    loss that the layout reports (13.6 mm: 0.436 to 0.532 L/h; 21 mm: 0.551 to 0.567 L/h)."""
    fixed = {"layout": {"tank_position": "corner", "lines_run": "length"}}
    for bore, least, greatest in ((13.6, 0.436, 0.532), (21, 0.551, 0.567)):
        card = plot_card(**{"submain.inner_diameter_mm": bore} | fixed)
        (layout,) = size_layouts(card, pipes).layouts
        assert layout.submain_inner_diameter_mm == pytest.approx(bore)
        assert layout.full_tank.min_flow_lph == pytest.approx(least, abs=1e-3)
        assert layout.full_tank.max_flow_lph == pytest.approx(greatest, abs=1e-3)
        assert layout.delivered_litres == pytest.approx(450)
        assert (layout.line_count, layout.emitters_per_line) == (20, 66)


def test_what_the_card_gives_is_fixed(plot_card, pipes):
    card = plot_card(layout={"tank_position": "mid_side", "blocks": 3})
    sized = size_layouts(card, pipes)
    assert {one.tank_position for one in sized.layouts} == {"mid_side"}
    assert {one.blocks for one in sized.layouts} == {3}
    assert {one.lines_run for one in sized.layouts} == {"length", "width"}


def test_bore_comes_from_the_table(plot_card, pipes):
    card = plot_card(**{"plot.length_m": 60, "plot.width_m": 30, "stand_height_m": 1.5})
    known = {pipe.bore_mm for pipe in pipes if pipe.use == "submain"}
    sized = size_layouts(card, pipes)
    assert all(round(one.submain_inner_diameter_mm, 3) in known for one in sized.layouts)


def test_prices_decide(plot_card, pipes):
    dear_lines = size_layouts(plot_card(), pipes, cost=lambda one: one.line_count * 10.0)
    assert dear_lines.layouts[dear_lines.recommended].tank_position == "corner"
    assert dear_lines.layouts[dear_lines.recommended].parts_cost == 200
    assert dear_lines.why.priced
    dear_submain = size_layouts(plot_card(), pipes, cost=lambda one: -float(one.line_count))
    assert dear_submain.layouts[dear_submain.recommended].tank_position == "mid_side"


def test_every_emitter_is_listed_when_asked(plot_card, pipes):
    sized = size_layouts(plot_card(), pipes, with_emitters=True)
    for layout in sized.layouts:
        assert len(layout.emitter_flow_lph) == layout.line_count
        assert {len(line) for line in layout.emitter_flow_lph} == {layout.emitters_per_line}
        every = [flow for line in layout.emitter_flow_lph for flow in line]
        total = sum(block.full_tank.total_flow_lph for block in layout.block)
        assert sum(every) == pytest.approx(total, rel=1e-3)
        assert min(every) == pytest.approx(
            min(block.full_tank.min_flow_lph for block in layout.block), rel=1e-3
        )


def test_no_emitter_is_listed_unless_asked(plot_card, pipes):
    assert all(one.emitter_flow_lph is None for one in size_layouts(plot_card(), pipes).layouts)


def test_layout_speaks_of_its_worst_block(plot_card, pipes):
    card = plot_card(**{"plot.slope_width_pct": 2.0, "layout.blocks": 3, "stand_height_m": 1.0})
    for layout in size_layouts(card, pipes).layouts:
        worst = min(layout.block, key=lambda one: one.full_tank.emission_uniformity_pct)
        assert layout.full_tank == worst.full_tank
        assert layout.empty_minutes == worst.empty_minutes
        assert layout.block[0].first_tap == 1
        assert layout.block[-1].last_tap == len(layout.tap_positions_m)


def test_a_plot_with_room_one_way_only(plot_card, pipes):
    card = plot_card(**{"plot.width_m": 0.6})
    assert {one.lines_run for one in size_layouts(card, pipes).layouts} == {"width"}


def test_no_room_at_all(plot_card, pipes):
    card = plot_card(**{"plot.length_m": 0.5, "plot.width_m": 0.5})
    with pytest.raises(CardError) as caught:
        size_layouts(card, pipes)
    assert {one.field for one in caught.value.problems} == {"plot.length_m", "plot.width_m"}


def test_more_blocks_than_taps(plot_card, pipes):
    card = plot_card(**{"plot.width_m": 2, "layout": {"lines_run": "length", "blocks": 4}})
    with pytest.raises(CardError, match=r"layout\.blocks"):
        size_layouts(card, pipes)


def test_a_plot_without_a_solution_is_named(hopeless_card, pipes):
    with pytest.raises(NotConverged, match=r"plot of 400 x 1 m with \d+ L on 1 m: a line of 4000"):
        size_layouts(hopeless_card, pipes)


def test_peak_water_must_fit_the_hours_of_a_day(plot_card, pipes):
    fixed = {"layout": {"tank_position": "corner", "lines_run": "length"}}
    sized = size_layouts(plot_card(**fixed), pipes, peak_gross_l_day=30_000)
    (warning,) = [one for one in sized.warnings if one.code == "peak_beyond_hours"]
    assert (warning.peak_l_day, warning.hours_a_day) == (30_000, 12)
    # 450 L of a full tank come out in its minutes, and so on; the rest a little faster.
    full = sized.layouts[0]
    fills = 30_000 / full.delivered_litres
    assert warning.peak_minutes == pytest.approx(fills * full.empty_minutes, rel=0.02)
    assert warning.peak_minutes > 12 * 60
    calm = size_layouts(plot_card(**fixed), pipes, peak_gross_l_day=400)
    assert not {"peak_beyond_hours", "plot_too_big_for_tank"} & {one.code for one in calm.warnings}


def test_least_bad_is_recommended_and_said(plot_card, pipes):
    sized = size_layouts(plot_card(**STARVED), pipes)
    assert sized.why.code == "least_bad"
    assert not sized.layouts[0].meets_goal
    assert "uniformity_below_goal" in {one.code for one in sized.warnings}


def _measure(stand, bore, taps_end, lines, line_length):
    """Parts of one block as metres of dripline of 13.6 mm, by hand (as in test_ranking.py)."""
    return (taps_end + stand) * bore / 13.6 + lines * (line_length + 2) + 5


@pytest.mark.parametrize(
    ("length", "bore", "both", "alone"),
    [
        # Lines of 80 m and lines of 20 m from a submain of 20 or 80 m: only the first are even.
        (80, 28.2, "only_one_that_meets", "only_one"),
        (40, 28.2, "cheapest_that_meets", "only_one"),
        (40, 13.6, "least_bad", "least_bad"),
    ],
)
def test_why_says_by_how_much_and_over_what(plot_card, pipes, length, bore, both, alone):
    """Along the length: 20 lines, the last tap at 19.5 m. Along the width: a line each metre."""
    fields = {"plot.length_m": length, "stand_height_m": 1, "submain.inner_diameter_mm": bore}
    along = pytest.approx(_measure(1, bore, 19.5, 20, length))
    across = pytest.approx(_measure(1, bore, length - 0.5, length, 20))
    two = {"layout": {"tank_position": "corner", "blocks": 1}}
    assert size_layouts(plot_card(**fields | two), pipes).why == Why(both, 1, along, across, False)
    one = {"layout": two["layout"] | {"lines_run": "length"}}
    assert size_layouts(plot_card(**fields | one), pipes).why == Why(
        alone, None, along, None, False
    )
    priced = size_layouts(plot_card(**fields | one), pipes, cost=lambda laid: 7.0 * laid.line_count)
    assert priced.why == Why(alone, None, 140.0, None, True)


def test_who_has_one_valve_hears_what_it_would_do(plot_card, pipes):
    """60 x 30 m is even with three valves; the same pipe with one valve starves, and what would
    help that is said. A card that fixes the blocks is not second-guessed."""
    fields = {"plot.length_m": 60, "plot.width_m": 30, "stand_height_m": 1.5}
    laid = {"tank_position": "corner", "lines_run": "length"}
    sized = size_layouts(plot_card(**fields | {"layout": laid}), pipes)
    (layout,) = sized.layouts
    assert layout.meets_goal
    assert layout.blocks > 1
    pipe = {"submain.inner_diameter_mm": layout.submain_inner_diameter_mm}
    single = size_layouts(plot_card(**fields | pipe | {"layout": laid | {"blocks": 1}}), pipes)
    assert not single.layouts[0].meets_goal
    assert sized.one_valve == single.layouts[0].full_tank
    assert sized.remedies == single.remedies
    fixed = plot_card(**fields | pipe | {"layout": laid | {"blocks": layout.blocks}})
    assert size_layouts(fixed, pipes).one_valve is None
    assert size_layouts(fixed, pipes).remedies == ()


def test_remedies_come_with_their_effect_and_the_stand_last(plot_card, pipes):
    sized = size_layouts(plot_card(**STARVED), pipes)
    changes = [one.change for one in sized.remedies]
    assert set(changes) == {"wider_submain", "shorter_lines", "more_blocks", "higher_stand"}
    assert changes[-1] == "higher_stand"
    before = sized.layouts[0].full_tank.emission_uniformity_pct
    gains = [one.emission_uniformity_pct for one in sized.remedies if one.change != "higher_stand"]
    assert gains == sorted(gains, reverse=True)
    assert all(one.emission_uniformity_pct > before for one in sized.remedies)


def test_a_remedy_does_what_it_says(plot_card, pipes):
    """Each is laid as its own card and sized again.

    A higher stand gets curves of its own then, which agree within their 0.01 % of flow.
    """
    sized = size_layouts(plot_card(**STARVED), pipes)
    fields = {
        "wider_submain": lambda one: {"submain.inner_diameter_mm": one.value},
        "more_blocks": lambda one: {"layout": STARVED["layout"] | {"blocks": int(one.value)}},
        "higher_stand": lambda one: {"stand_height_m": one.value},
        "shorter_lines": lambda one: (
            {"plot.length_m": one.value}
            if one.how == "cut"
            else {"layout": STARVED["layout"] | {"tank_position": "mid_side"}}
        ),
    }
    for one in sized.remedies:
        card = plot_card(**STARVED | fields[one.change](one))
        layout = size_layouts(card, pipes).layouts[0]
        assert layout.full_tank.emission_uniformity_pct == pytest.approx(
            one.emission_uniformity_pct, rel=1e-4
        ), one
        assert layout.meets_goal == one.meets_goal


def test_remedies_with_prices_tell_the_difference(plot_card, pipes):
    sized = size_layouts(
        plot_card(**STARVED), pipes, cost=lambda one: one.submain_inner_diameter_mm
    )
    wider = [one for one in sized.remedies if one.change == "wider_submain"]
    assert [round(one.extra_cost, 6) for one in sorted(wider, key=lambda one: one.value)] == [
        3.8,
        8.2,
    ]


def test_minutes_of_the_recommended_layout(plot_card, pipes):
    sized = size_layouts(plot_card(), pipes)
    layout = sized.layouts[sized.recommended]
    assert sized.minutes_for_litres(layout.delivered_litres) == pytest.approx(
        layout.empty_minutes, rel=1e-9
    )


ANY_PLOT = st.fixed_dictionaries(
    {
        "plot.length_m": st.floats(1, 60),
        "plot.width_m": st.floats(1, 60),
        "plot.slope_length_pct": st.floats(-8, 8),
        "plot.slope_width_pct": st.floats(-8, 8),
        "stand_height_m": st.floats(0, 4),
        "tank.volume_l": st.floats(20, 5000),
        "tank.inflow_lph": st.sampled_from([0, 0, 200, 2000]),
        "dripline.emitter_spacing_m": st.sampled_from([0.2, 0.3, 0.6]),
        "dripline.emitter_flow_lph": st.floats(0.5, 4),
        "dripline.exponent": st.floats(0.4, 1.0),
        "dripline.inner_diameter_mm": st.sampled_from([10.4, 13.6, 16.0]),
        "submain.inner_diameter_mm": st.sampled_from([10.4, 13.6, 21.8, 28.2]),
    }
)


@settings(max_examples=40, deadline=None)
@given(fields=ANY_PLOT)
def test_every_plot_has_an_answer(plot_card, pipes, fields):
    """Steep, starved, flooded or fed: nothing fails to settle, and the sums hold."""
    sized = size_layouts(plot_card(**fields), pipes, peak_gross_l_day=500)
    for layout in sized.layouts:
        full = layout.full_tank
        assert 0 <= full.min_flow_lph <= full.mean_flow_lph * (1 + 1e-3)
        assert full.mean_flow_lph <= full.max_flow_lph * (1 + 1e-3)
        assert layout.delivered_litres >= 0
        assert layout.empty_minutes is None or layout.empty_minutes > 0
        assert (full.dry_emitters > 0) == (full.min_flow_lph == 0)
