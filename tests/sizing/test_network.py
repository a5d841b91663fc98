import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.errors import CardError, NotConverged
from service.sizing.geometry import network_of
from service.sizing.inlet import inlet_size, usual_inlet_k
from service.sizing.network import solve
from service.sizing.sized import block_taps, candidate
from service.sizing.water import GRAVITY


def test_taps_and_emitters_stand_where_the_rules_put_them(plot_card):
    card = plot_card(**{"plot.length_m": 12.0, "plot.width_m": 3.0})
    corner = network_of(card, "corner", "length", 0.0218)
    assert corner.taps == (0.5, 1.5, 2.5)
    assert (corner.line_count, corner.emitters_per_line) == (3, 40)
    middle = network_of(card, "mid_side", "length", 0.0218)
    assert (middle.line_count, middle.emitters_per_line, middle.line_length) == (6, 20, 6.0)


def test_a_whole_number_of_spacings_is_not_lost_to_a_float(plot_card):
    """0.3 * 3 is a little less than 0.9."""
    card = plot_card(**{"plot.length_m": 0.9, "plot.width_m": 0.9, "line_spacing_m": 0.3})
    network = network_of(card, "corner", "length", 0.0218)
    assert (len(network.taps), network.emitters_per_line) == (3, 3)


NO_LINE, NO_EMITTER = "at least 1 m across the lines", "one emitter on each line, every 0.6 m"


@pytest.mark.parametrize(
    ("fields", "lines_run", "field", "told", "allowed"),
    [
        ({"plot.width_m": 0.6}, "length", "plot.width_m", 0.6, NO_LINE),
        ({"plot.length_m": 0.6}, "width", "plot.length_m", 0.6, NO_LINE),
        ({"plot.length_m": 0.5}, "length", "plot.length_m", 0.5, NO_EMITTER),
        ({"plot.width_m": 0.5}, "width", "plot.width_m", 0.5, NO_EMITTER),
    ],
)
def test_no_room_for_a_line_or_an_emitter(plot_card, fields, lines_run, field, told, allowed):
    card = plot_card(**{"dripline.emitter_spacing_m": 0.6, **fields})
    with pytest.raises(CardError) as caught:
        network_of(card, "corner", lines_run, 0.0218)
    (problem,) = caught.value.problems
    assert (problem.field, problem.value) == (field, told)
    assert allowed in problem.allowed


def test_a_line_may_have_a_single_emitter(plot_card):
    card = plot_card(**{"plot.length_m": 0.7, "dripline.emitter_spacing_m": 0.6})
    assert network_of(card, "corner", "length", 0.0218).emitters_per_line == 1


@pytest.mark.parametrize(
    ("lines_run", "line_slope", "submain_slope"), [("length", 0.02, 0.03), ("width", 0.03, 0.02)]
)
def test_each_way_of_laying_has_its_own_slopes_and_metres(
    plot_card, lines_run, line_slope, submain_slope
):
    """Lines 2 m apart: taps at 1, 3, 5 m, the first piece of submain half as long as the rest."""
    card = plot_card(
        line_spacing_m=2,
        **{"plot.length_m": 6, "plot.width_m": 6},
        **{"plot.slope_length_pct": 2, "plot.slope_width_pct": 3},
    )
    network = network_of(card, "corner", lines_run, 0.0218)
    assert network.sides[0].shape.slope == line_slope
    assert network.taps == (1, 3, 5)
    assert network.ground == pytest.approx([submain_slope * tap for tap in (1, 3, 5)])
    assert network.rises == pytest.approx([submain_slope * metres for metres in (1, 2, 2)])
    assert [piece.length for piece in network.pieces] == [1, 2, 2]
    # The emitters, half a spacing and more up the line, stand above the ground at their tap.
    first = line_slope * 0.15
    assert network.dry_surface(1, 2) == pytest.approx(submain_slope * 3 + first)


def test_water_stands_lowest_where_the_ground_falls_in_the_block(plot_card):
    card = plot_card(**{"plot.width_m": 4, "plot.slope_width_pct": -10})
    network = network_of(card, "corner", "length", 0.0218)
    assert network.dry_surface(0, 1) == pytest.approx(-0.15)
    assert network.dry_surface(0, 3) == pytest.approx(-0.35)


def test_a_filter_is_felt_at_the_inlet_unless_its_loss_is_told(plot_card):
    screened, bare = (
        network_of(plot_card(filter=filtered), "corner", "length", 0.0218)
        for filtered in (True, False)
    )
    assert screened.down.minor_k == usual_inlet_k(0.0218, True)
    assert bare.down.minor_k == usual_inlet_k(0.0218, False) < screened.down.minor_k
    assert network_of(plot_card(inlet_k=7), "corner", "length", 0.0218).down.minor_k == 7


def test_second_side_runs_downhill_where_the_first_runs_uphill(plot_card):
    card = plot_card(**{"plot.slope_length_pct": 2.0})
    state = solve(network_of(card, "mid_side", "length", 0.0282), 1.0)
    uphill, downhill = state.emitter_flows[:2]
    assert uphill[-1] < uphill[0] < downhill[-1]


def test_mirrored_plots_agree(plot_card):
    """Fed from the middle, a slope along the lines may as well run the other way."""
    flows = []
    for slope in (1.5, -1.5):
        card = plot_card(**{"plot.slope_length_pct": slope})
        flows.append(solve(network_of(card, "mid_side", "length", 0.0218), 1.0))
    assert flows[0].flow == pytest.approx(flows[1].flow, rel=1e-9)
    for one, two in zip(flows[0].emitter_flows[::2], flows[1].emitter_flows[1::2], strict=True):
        assert one == pytest.approx(two, rel=1e-7)


def test_length_and_width_may_be_exchanged(plot_card):
    one = plot_card(**{"plot.length_m": 25, "plot.width_m": 10, "plot.slope_length_pct": 1.0})
    other = plot_card(**{"plot.length_m": 10, "plot.width_m": 25, "plot.slope_width_pct": 1.0})
    along = solve(network_of(one, "corner", "length", 0.0218), 1.0)
    across = solve(network_of(other, "corner", "width", 0.0218), 1.0)
    assert along == across


@pytest.mark.parametrize(
    ("taps", "blocks", "expected"),
    [
        (20, 1, ((0, 19),)),
        (20, 2, ((0, 9), (10, 19))),
        (10, 4, ((0, 2), (3, 5), (6, 7), (8, 9))),
        (3, 3, ((0, 0), (1, 1), (2, 2))),
    ],
)
def test_neighbouring_lines_share_a_block_and_the_first_take_the_rest(taps, blocks, expected):
    assert block_taps(taps, blocks) == expected


@pytest.mark.parametrize("blocks", [1, 2, 3, 4])
def test_blocks_add_up_to_the_whole(plot_card, blocks):
    one = candidate(plot_card(), network_of(plot_card(), "corner", "length", 0.0282), blocks)
    assert sum(block.line_count for block in one.blocks) == one.network.line_count
    assert sum(block.emitters for block in one.blocks) == 20 * 66
    whole = candidate(one.card, one.network, 1).full[0].total_flow_lph
    # One block alone has less friction to share: together they give at least the whole's flow.
    assert sum(full.total_flow_lph for full in one.full) >= whole * (1 - 1e-6)
    assert len(one.emitter_flows()) == 20


def test_without_friction_blocks_give_exactly_the_whole(plot_card):
    """With a submain as wide as a barrel the blocks do not feel each other."""
    card = plot_card(inlet_k=0)
    whole, *parts = (
        candidate(card, network_of(card, "corner", "length", 0.15), blocks) for blocks in (1, 2, 4)
    )
    for one in parts:
        total = sum(full.total_flow_lph for full in one.full)
        assert total == pytest.approx(whole.full[0].total_flow_lph, rel=1e-4)


@settings(max_examples=25, deadline=None)
@given(st.floats(-4, 4), st.floats(-4, 4), st.floats(0, 3), st.sampled_from(["corner", "mid_side"]))
def test_flow_in_the_submain_is_what_the_lines_take(plot_card, along, across, stand, position):
    card = plot_card(
        **{
            "plot.length_m": 12,
            "plot.width_m": 8,
            "plot.slope_length_pct": along,
            "plot.slope_width_pct": across,
            "stand_height_m": stand,
        }
    )
    state = solve(network_of(card, position, "length", 0.0174), 0.8)
    taken = [math.fsum(lines) for lines in state.line_flows]
    for tap, flow in enumerate(state.submain_flows):
        assert flow == pytest.approx(math.fsum(taken[tap:]), rel=2e-4, abs=1e-10)
    assert state.flow == pytest.approx(
        math.fsum(flow for line in state.emitter_flows for flow in line), rel=1e-9, abs=1e-18
    )


def test_a_higher_tank_never_gives_less(plot_card):
    network = network_of(plot_card(), "corner", "length", 0.0136)
    flows = [solve(network, level).flow for level in (0.1, 0.5, 1.0, 2.0)]
    assert flows == sorted(flows)


def test_usual_inlet_is_the_sum_of_its_fittings():
    """At a 20 mm submain every fitting keeps its own coefficient: outlet 0.5, valve 0.1, elbows
    2 x 0.9, and 0.3 m at 1 m³/h for the filter."""
    velocity_head = (4 / 3600 / (math.pi * 0.02**2)) ** 2 / (2 * GRAVITY)
    expected = 0.5 + 0.1 + 1.8 + 0.3 / velocity_head
    assert usual_inlet_k(0.020) == pytest.approx(expected, rel=1e-9)
    assert usual_inlet_k(0.020, with_filter=False) == pytest.approx(2.4)


def test_a_small_filter_on_a_wide_submain_costs_what_it_costs():
    for bore in (0.0282, 0.0442):
        velocity_head = (4 / 3600 / (math.pi * bore**2)) ** 2 / (2 * GRAVITY)
        filter_and_fittings = (usual_inlet_k(bore) - 1.8) * velocity_head
        narrow = (4 / 3600 / (math.pi * 0.026**2)) ** 2 / (2 * GRAVITY)
        assert filter_and_fittings == pytest.approx(0.1 + 0.6 * narrow, rel=1e-9)


@pytest.mark.parametrize(("bore", "name"), [(0.0218, "3/4 inch"), (0.0282, "1 inch")])
def test_fittings_go_with_the_pipe(bore, name):
    assert inlet_size(bore).name == name


def test_given_inlet_loss_is_kept(plot_card):
    assert network_of(plot_card(inlet_k=7.5), "corner", "length", 0.0218).down.minor_k == 7.5


def test_narrow_end_of_a_submain_starves_its_taps(plot_card):
    plain = plot_card(**{"submain.inner_diameter_mm": 28.2})
    stepped = plot_card(
        **{
            "submain.inner_diameter_mm": 28.2,
            "submain.second": {"inner_diameter_mm": 13.6, "from_tap": 10},
        }
    )
    one, two = (
        solve(network_of(card, "corner", "length", 0.0282), 1.0) for card in (plain, stepped)
    )
    assert [p.law.bore for p in network_of(stepped, "corner", "length", 0.0282).pieces[9:11]] == [
        0.0282,
        0.0136,
    ]
    assert two.tap_heads[-1] < one.tap_heads[-1] - 0.05
    assert two.tap_heads[0] > one.tap_heads[0]


def test_a_plot_that_nothing_can_water_is_refused_by_name(hopeless_card):
    with pytest.raises(NotConverged, match="a line of 4000 emitters"):
        candidate(hopeless_card, network_of(hopeless_card, "corner", "length", 0.0104), 1)


@pytest.mark.parametrize(("from_tap", "wide", "thin"), [(1, 1, 3), (3, 3, 1), (4, 4, 0)])
def test_a_submain_narrows_beyond_the_tap_that_is_told(plot_card, from_tap, wide, thin):
    """
    K = 0.5 (1 - (d2/d1)²) where it narrows (contraction, handbook form from memory); a change at
    the last tap leaves no pipe to be thin.
    """
    second = {"inner_diameter_mm": 17.4, "from_tap": from_tap}
    card = plot_card(
        **{"plot.width_m": 4, "submain.inner_diameter_mm": 28.2, "submain.second": second}
    )
    pieces = network_of(card, "corner", "length", 0.0282).pieces
    assert [piece.law.bore for piece in pieces] == [0.0282] * wide + [0.0174] * thin
    minor = [piece.minor_k for piece in pieces]
    expected = [0.0] * 4
    if thin:
        expected[wide] = 0.5 * (1 - (17.4 / 28.2) ** 2)
    assert minor == pytest.approx(expected)
