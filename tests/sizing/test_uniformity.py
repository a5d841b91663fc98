import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.errors import OutOfRange
from service.sizing.uniformity import (
    allowed_head_difference,
    christiansen_uniformity,
    emission_uniformity,
    flow_variation,
    goal_emission_uniformity,
    low_quarter_uniformity,
    statistical_uniformity,
)


@pytest.mark.parametrize(
    ("along", "across", "goal"),
    [(0, 0, 85), (2, -2, 85), (2.1, 0, 80), (0, -3, 80)],
)
def test_goal_by_slope(along, across, goal):
    assert goal_emission_uniformity(along, across) == goal


def test_head_variation_for_a_flow_variation(vectors):
    """qvar = 1 - (1 - hvar)^x, the table derived apart; printed to 0.1 point."""
    for row in vectors("hydraulics_qvar_hvar.csv"):
        exponent = float(row["x"])
        for column, percent in (("for_qvar10", 10), ("for_qvar20", 20)):
            least = (1 - float(row[column]) / 100) ** exponent
            assert flow_variation(least, 1.0) == pytest.approx(percent, abs=0.06)


def test_nothing_flowing_is_the_worst():
    assert emission_uniformity(0.05, 0, 0) == 0
    assert flow_variation(0, 0) == 100


def test_even_readings_are_perfect():
    flows = [2.0] * 16
    assert low_quarter_uniformity(flows) == 100
    assert statistical_uniformity(flows) == 100
    assert christiansen_uniformity(flows) == 100


@given(st.lists(st.floats(0.1, 10), min_size=2, max_size=40))
def test_measures_do_not_depend_on_the_unit(flows):
    for measure in (low_quarter_uniformity, statistical_uniformity, christiansen_uniformity):
        assert measure([1000 * flow for flow in flows]) == pytest.approx(measure(flows), abs=1e-6)


@pytest.mark.parametrize("flows", [[], [1.0], [1.0, -0.1], [0.0, 0.0]])
def test_readings_that_say_nothing(flows):
    with pytest.raises(OutOfRange):
        low_quarter_uniformity(flows)


def test_goal_beyond_the_emitters_own_scatter_leaves_no_head():
    assert allowed_head_difference(95, 0.10, 0.5, 1.0) == 0


def test_fewer_than_one_emitter_a_plant():
    with pytest.raises(OutOfRange, match="emitters per plant"):
        emission_uniformity(0.05, 1, 1, 0.5)
