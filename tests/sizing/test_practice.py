import pytest

from service.sizing.layouts import size_layouts

FIXED = {"layout": {"tank_position": "corner", "lines_run": "length"}}


@pytest.fixture
def warnings_of(plot_card, pipes):
    def found(peak=None, **fields):
        sized = size_layouts(plot_card(**FIXED | fields), pipes, peak_gross_l_day=peak)
        return {one.code: one for one in sized.warnings}

    return found


def test_a_sound_plot_has_no_warning(warnings_of):
    assert warnings_of() == {}


@pytest.mark.parametrize(
    ("code", "fields"),
    [
        ("stand_below_practice", {"stand_height_m": 1.0}),
        ("lines_beyond_practice", {"plot.length_m": 45}),
        ("spacing_beyond_practice", {"line_spacing_m": 1.5}),
        ("outlet_in_sludge", {"tank.outlet_height_m": 0.02}),
        ("no_filter", {"filter": False}),
        ("water_salty", {"water_ec_ds_m": 1.2}),
        ("regulated_emitters_on_a_stand", {"dripline.exponent": 0.05}),
        ("inflow_keeps_up", {"tank.inflow_lph": 5000}),
    ],
)
def test_each_limit_has_its_warning(warnings_of, code, fields):
    assert code in warnings_of(**fields)


def test_practice_is_told_with_what_was_computed(warnings_of):
    fine = warnings_of(**{"stand_height_m": 1.0})["stand_below_practice"]
    assert fine.agrees is False
    starved = {"plot.length_m": 40, "stand_height_m": 1.0, "submain.inner_diameter_mm": 13.6}
    bad = warnings_of(**starved | {"layout": FIXED["layout"] | {"blocks": 1}})
    assert bad["stand_below_practice"].agrees is True
    assert bad["uniformity_below_goal"].goal_pct == 85
    assert bad["flow_variation_too_high"].limit_pct == 20


def test_within_practice_and_still_uneven(warnings_of):
    fields = {"plot.length_m": 40, "submain.inner_diameter_mm": 10.4, "stand_height_m": 2.5}
    found = warnings_of(**fields | {"layout": FIXED["layout"] | {"blocks": 1}})
    assert "within_practice_but_uneven" in found


def test_dry_emitters_are_named(warnings_of, plot_card, pipes):
    fields = {"stand_height_m": 0.0, "plot.slope_length_pct": 8.0}
    dry = warnings_of(**fields)["dry_emitters"]
    sized = size_layouts(plot_card(**FIXED | fields), pipes, with_emitters=True)
    flows = sized.layouts[0].emitter_flow_lph
    assert dry.count == sum(flow == 0 for line in flows for flow in line)
    first = dry.where[0]
    line = flows[first["line"] - 1]
    assert line[first["first_emitter"] - 2] > 0 == line[first["first_emitter"] - 1]
    assert first["last_emitter"] == len(line)


def test_tank_that_stops_early_says_at_what_level(warnings_of):
    found = warnings_of(**{"stand_height_m": 0.0, "plot.slope_width_pct": 2.0})
    assert found["tank_stops_early"].level_left_m > 0.1


def test_plot_too_big_for_tank_and_supply(warnings_of):
    found = warnings_of(
        2500, **{"tank.volume_l": 200, "supply": {"fill": "bucket", "litres_per_day": 400}}
    )
    assert found["plot_too_big_for_tank"].fills_per_day == pytest.approx(2500 / 180)
    assert found["plot_too_big_for_supply"].given_l_day == 400


@pytest.mark.parametrize(("salt", "severe"), [(1.0, False), (3.5, True)])
def test_salt_by_class(warnings_of, salt, severe):
    assert warnings_of(water_ec_ds_m=salt)["water_salty"].severe is severe
