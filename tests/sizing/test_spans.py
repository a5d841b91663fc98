import pytest

from service.sizing.layouts import size_layouts

MEASURED = {
    "dripline.inner_diameter_mm": 13.6,
    "dripline.calibration": 1.0,
    "submain.inner_diameter_mm": 21.8,
}


def test_nothing_assumed_leaves_nothing_open(plot_card, pipes):
    span = size_layouts(plot_card(**MEASURED), pipes).span
    assert span.assumed == ()
    assert span.min_flow_lph.low == span.min_flow_lph.high


def test_low_head_leaves_the_emitter_flow_open(plot_card, pipes):
    fields = MEASURED | {"stand_height_m": 0.5}
    del fields["dripline.calibration"]
    sized = size_layouts(plot_card(**fields), pipes)
    span, layout = sized.span, sized.layouts[sized.recommended]
    assert span.assumed == ("dripline.emitter_flow_lph",)
    assert span.min_flow_lph.low < layout.full_tank.min_flow_lph < span.min_flow_lph.high
    assert span.empty_minutes.low < layout.empty_minutes < span.empty_minutes.high
    # Pipes take their share: a fifth less emitter gives a little more than a fifth less water.
    assert span.min_flow_lph.low == pytest.approx(0.8 * layout.full_tank.min_flow_lph, rel=0.03)


def test_above_two_metres_the_printed_flow_is_believed(plot_card, pipes):
    fields = MEASURED | {"stand_height_m": 2.5}
    del fields["dripline.calibration"]
    assert size_layouts(plot_card(**fields), pipes).span.assumed == ()


def test_bad_case_of_a_bore_is_the_narrowest_sold(plot_card, pipes):
    """The same as sizing a card with that bore: 12.3 mm measured in "16 mm" lines."""
    fixed = {"layout": {"tank_position": "corner", "lines_run": "length"}, "plot.length_m": 40}
    fields = MEASURED | fixed
    del fields["dripline.inner_diameter_mm"]
    span = size_layouts(plot_card(**fields), pipes).span
    narrow = size_layouts(plot_card(**fields | {"dripline.inner_diameter_mm": 12.3}), pipes)
    assert span.assumed == ("dripline.inner_diameter_mm",)
    assert span.emission_uniformity_pct.low == pytest.approx(
        narrow.layouts[0].full_tank.emission_uniformity_pct, rel=1e-6
    )


def test_verdict_that_hangs_on_an_assumed_bore_is_warned_of(plot_card, pipes):
    fields = {
        "plot.length_m": 75,
        "plot.width_m": 10,
        "stand_height_m": 2.5,
        "submain.inner_diameter_mm": 28.2,
        "layout": {"tank_position": "corner", "lines_run": "length", "blocks": 4},
        "dripline.emitter_flow_lph": 1.5,
    }
    found = None
    for length in range(40, 140, 4):
        sized = size_layouts(plot_card(**fields | {"plot.length_m": length}), pipes)
        if sized.span.verdict_hangs_on:
            found = sized
            break
    assert found is not None
    warning = next(one for one in found.warnings if one.code == "verdict_hangs_on_assumed")
    assert "dripline.inner_diameter_mm" in warning.fields
    assert warning.meets_goal
