from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.sizing.emitters import EmitterLaw, emitter_law
from service.sizing.lines import Line, LineShape
from service.sizing.uniformity import flow_variation
from service.sizing.water import kinematic_viscosity

LPH = 3.6e6


def line(emitters=50, slope=0.0, bore=0.0136, spacing=0.3, k=0.316, x=0.5, celsius=20, **more):
    values = {"barb": 0.1, "tap_k": 1.0} | more
    return Line(
        LineShape(
            emitters=emitters,
            spacing=spacing,
            slope=slope,
            bore=bore,
            viscosity=kinematic_viscosity(celsius),
            law=EmitterLaw(k / LPH, x),
            **values,
        ),
        highest=3.0,
    )


def test_rated_point_and_calibration_of_a_card(plot_card):
    law = emitter_law(plot_card(**{"dripline.calibration": 0.9}).dripline)
    assert law.flow(10.0) * LPH == pytest.approx(0.9)
    assert law.head(law.flow(1.7)) == pytest.approx(1.7)
    assert law.flow(0.0) == law.flow(-1.0) == 0.0


SHAPES = {
    "emitters": st.integers(1, 150),
    "slope": st.floats(-0.05, 0.05),
    "bore": st.floats(0.008, 0.02),
    "k": st.floats(0.05, 3),
    "x": st.floats(0.4, 1.0),
    "celsius": st.floats(10, 30),
}


@settings(max_examples=60, deadline=None)
@given(st.fixed_dictionaries(SHAPES), st.floats(0.01, 4))
def test_look_up_agrees_with_the_exact_pass(shape, head):
    """Flow within 0.1 %, or near dryness within 0.05 % of the flow at 3 m."""
    one = line(**shape)
    flow, heads = one.solved(head - one.lowest)
    effective, least, greatest = one.curve.at(head - one.lowest)
    full, _ = one.solved(3.0 - one.lowest)
    assert one.flow(effective) == pytest.approx(flow, rel=1e-3, abs=5e-4 * full)
    assert least == pytest.approx(min(heads), rel=1e-3, abs=1e-4)
    assert greatest == pytest.approx(max(heads), rel=1e-3, abs=1e-4)


@settings(max_examples=40, deadline=None)
@given(st.fixed_dictionaries(SHAPES), st.floats(0.05, 4))
def test_water_is_conserved_and_heads_follow_ground_and_loss(shape, head):
    one = line(**shape)
    flow, heads = one.solved(head - one.lowest)
    given_out = sum(one.shape.law.flow(over) for over in heads)
    assert flow == pytest.approx(given_out, rel=1e-9, abs=1e-18)
    totals = [over + rise for over, rise in zip(heads, one.elevations, strict=True)]
    assert all(near >= far - 1e-12 for near, far in pairwise(totals))
    assert totals[0] <= head + 1e-6


@settings(max_examples=30, deadline=None)
@given(st.integers(1, 200), st.floats(0.1, 3), st.integers(1, 40))
def test_on_the_flat_no_emitter_gives_more_when_the_line_grows(emitters, head, more):
    short, long = line(emitters), line(emitters + more)
    _, before = short.solved(head)
    _, after = long.solved(head)
    assert all(b >= a - 1e-7 for b, a in zip(before, after, strict=False))


def test_emitters_above_the_water_give_nothing_and_the_rest_do():
    one = line(slope=0.1)
    flow, heads = one.solved(0.5 - one.lowest)
    assert min(heads) < 0 < max(heads)
    assert flow == pytest.approx(
        sum(0.316 / LPH * head**0.5 for head in heads if head > 0), rel=1e-9
    )


def test_water_runs_downhill_past_dry_emitters():
    """The tap stands above the water line; farther down the ground lies below it."""
    one = line(slope=-0.1)
    flow, heads = one.solved(-0.3 - one.lowest)
    assert heads[0] < 0 < heads[-1]
    assert flow > 0


def test_longest_lines_of_ten_per_cent_variation(vectors):
    """Lengths computed apart and checked with EPANET; steps of the file are 6 to 12 emitters."""
    for row in vectors("hydraulics_lateral_length.csv"):
        emitters = int(float(row["emitters_max_for_qvar_10pct"]))
        spacing = float(row["spacing"] if "spacing" in row else row["emitter_spacing_m"])
        one = line(
            emitters,
            slope=float(row["slope_pct_uphill_positive"]) / 100,
            bore=float(row["bore_mm"]) / 1000,
            spacing=spacing,
            k=float(row["k_L_h_per_m^x"]),
            x=float(row["x"]),
            barb=float(row["equiv_length_per_emitter_m"]),
            tap_k=0.0,
            first_at=1.0,
        )
        flow, heads = one.solved(float(row["inlet_head_m"]) - one.lowest)
        flows = [one.shape.law.flow(head) for head in heads]
        assert flow_variation(min(flows), max(flows)) <= 10.05
        assert flow * LPH == pytest.approx(float(row["inflow_L_h"]), rel=2e-3, abs=0.06)
