import pytest

from service.sizing.geometry import network_of
from service.sizing.layouts import size_layouts
from service.sizing.pipes import PipeSize
from service.sizing.sized import candidate
from service.sizing.spans import doubts, layout_span

MEASURED = {
    "dripline.inner_diameter_mm": 13.6,
    "dripline.calibration": 1.0,
    "submain.inner_diameter_mm": 21.8,
}


def test_nothing_assumed_leaves_nothing_open(plot_card, pipes):
    span = size_layouts(plot_card(**MEASURED), pipes).span
    assert span.assumed == ()
    assert span.min_flow_lph.low == span.min_flow_lph.high
    low = size_layouts(plot_card(**MEASURED | {"stand_height_m": 0.5}), pipes)
    assert low.span.assumed == ()


def test_a_verdict_that_holds_in_every_case_hangs_on_nothing(plot_card, pipes):
    """Much is assumed of a bare card on a low stand, and all of it may be as it likes."""
    sized = size_layouts(plot_card(stand_height_m=1.0), pipes)
    assert len(sized.span.assumed) == 3
    assert sized.span.verdict_hangs_on == ()
    assert "verdict_hangs_on_assumed" not in {one.code for one in sized.warnings}


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
    evenness = found.span.emission_uniformity_pct
    assert warning.emission_uniformity_low_pct == evenness.low
    assert warning.emission_uniformity_high_pct == evenness.high > evenness.low


def _candidate(card, bore=0.0218):
    return candidate(card, network_of(card, "corner", "length", bore), 1)


def test_doubts_of_a_bare_card_on_a_low_stand(plot_card, pipes):
    """Line of "16 mm" is sold from 12.3 mm, pipe of "25 mm" from 20.4 mm; flow may be 20 % off."""
    found = {
        one.field: one.factors for one in doubts(_candidate(plot_card(stand_height_m=1)), pipes)
    }
    assert found == {
        "dripline.inner_diameter_mm": pytest.approx((12.3 / 13.6,)),
        "submain.inner_diameter_mm": pytest.approx((20.4 / 21.8,)),
        "dripline.emitter_flow_lph": pytest.approx((0.8, 1.2)),
    }


def test_a_bore_that_is_never_narrower_is_no_doubt(plot_card):
    exact = PipeSize("16 mm line", 16, 13.6, 13.6, 14.2, "dripline")
    fields = {"dripline.calibration": 1.0, "submain.inner_diameter_mm": 21.8}
    assert doubts(_candidate(plot_card(**fields)), [exact]) == ()


def test_printed_flow_is_doubted_by_the_usual_head_not_by_the_least(plot_card, pipes):
    """Lines of 20 m that climb 8 % end 1.6 m above the tap. With the surface at 3.5 m the far end
    has under 2 m of head, yet the middle of the line, 0.8 m up, has more."""
    fields = MEASURED | {"plot.length_m": 20, "plot.slope_length_pct": 8, "plot.width_m": 4}
    del fields["dripline.calibration"]
    one = _candidate(plot_card(**fields))
    heads = one.states()[0].emitter_heads[0]
    assert heads[-1] < 2 < heads[len(heads) // 2]
    assert doubts(one, pipes) == ()


def _laid(plot_card, pipes, **fields):
    (layout,) = size_layouts(plot_card(**fields), pipes).layouts
    return layout.full_tank


FIXED = {"layout": {"tank_position": "corner", "lines_run": "length", "blocks": 1}}


def test_bad_case_of_the_printed_flow_is_a_fifth_either_way(plot_card, pipes):
    """The same as cards of emitters of 0.8 and 1.2 L/h, and nothing else changed."""
    fields = MEASURED | FIXED | {"stand_height_m": 0.5}
    del fields["dripline.calibration"]
    span = size_layouts(plot_card(**fields), pipes).span
    for flow, least in ((0.8, span.min_flow_lph.low), (1.2, span.min_flow_lph.high)):
        laid = _laid(plot_card, pipes, **fields | {"dripline.emitter_flow_lph": flow})
        assert least == pytest.approx(laid.min_flow_lph, rel=1e-4)


def test_two_doubts_are_also_taken_together(plot_card, pipes):
    """The least even case of all: the narrowest line with emitters that give a fifth more."""
    fields = MEASURED | FIXED | {"stand_height_m": 0.5, "plot.length_m": 60}
    del fields["dripline.calibration"], fields["dripline.inner_diameter_mm"]
    span = size_layouts(plot_card(**fields), pipes).span
    worst = fields | {"dripline.inner_diameter_mm": 12.3, "dripline.emitter_flow_lph": 1.2}
    assert span.emission_uniformity_pct.low == pytest.approx(
        _laid(plot_card, pipes, **worst).emission_uniformity_pct, rel=1e-4
    )
    # Less flow in the narrow line is the least flow of one emitter.
    worst["dripline.emitter_flow_lph"] = 0.8
    assert span.min_flow_lph.low == pytest.approx(
        _laid(plot_card, pipes, **worst).min_flow_lph, rel=1e-4
    )


def test_both_bores_at_their_narrowest_together(plot_card, pipes):
    """High on its stand the flow is believed; 12.3 mm line and 20.4 mm pipe are the worst."""
    high = FIXED | {"stand_height_m": 4, "plot.width_m": 30}
    one = _candidate(plot_card(**high))
    span = layout_span(one, pipes)
    assert span.assumed == ("dripline.inner_diameter_mm", "submain.inner_diameter_mm")
    narrow = {"dripline.inner_diameter_mm": 12.3, "submain.inner_diameter_mm": 20.4}
    laid = _laid(plot_card, pipes, **high | narrow)
    assert span.emission_uniformity_pct.low == pytest.approx(laid.emission_uniformity_pct, rel=1e-4)
    assert span.emission_uniformity_pct.high == one.worst_full.emission_uniformity_pct


def test_a_case_in_which_the_tank_never_empties_leaves_the_time_open_above(plot_card, pipes):
    """So much is carried to the tank that lines of a fifth less flow no longer lower it."""
    fields = MEASURED | FIXED | {"stand_height_m": 0.5}
    del fields["dripline.calibration"]
    card = plot_card(**fields)
    at_outlet = _candidate(card).states(0.6)[0].flow * 3.6e6
    span = size_layouts(plot_card(**fields | {"tank.inflow_lph": 0.9 * at_outlet}), pipes).span
    assert span.empty_minutes.low > 0
    assert span.empty_minutes.high is None
