"""The field check: where cups go, how even their water is, how sure that is, which band."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.errors import OutOfRange, TextFileError
from service.sizing.field_check import (
    MOST_CUPS,
    Evenness,
    catch_level,
    cups_of,
    evenness,
    expected_ml,
    mark,
    read_bands,
    reckoned_du,
    reckoned_flows,
    samplings,
    us_within,
    verdict,
)
from service.sizing.field_tables import uniformity_bands
from service.sizing.geometry import network_of
from service.sizing.sized import candidate
from service.sizing.uniformity import christiansen_uniformity

C24 = [62, 60, 61, 59, 60, 58, 57, 56, 58, 57, 55, 54, 57, 55, 52, 41]
"""mL in 6 min: a worked field sheet, computed apart from this code."""


@pytest.fixture(scope="module")
def laid(plot_card):
    def laid(position="corner", blocks=1, **changes):
        card = plot_card(**{"stand_height_m": 1.0, **changes})
        return candidate(card, network_of(card, position, "length", 0.0218), blocks)

    return laid


def test_the_worked_sheet():
    """C24: mean 56.375 mL, low quarter 50.5, DUlq 89.6 %, Us 91.3 %, CU 94.4 %."""
    found = evenness(C24)
    assert found.mean_ml == pytest.approx(56.375)
    assert found.du_pct == pytest.approx(89.6, abs=0.05)
    assert found.du_pct == pytest.approx(100 * 50.5 / 56.375)
    assert found.us_pct == pytest.approx(91.3, abs=0.05)
    assert christiansen_uniformity(C24) == pytest.approx(94.4, abs=0.05)


def test_how_sure_it_is_by_the_number_of_cups(vectors):
    """Half widths of the 95 % range in points, printed to 0.1 (computed apart from this code)."""
    for row in vectors("uniformity_confidence.csv"):
        for name, printed in row.items():
            if name.startswith("Us"):
                computed = us_within(float(name[2:]), int(row["n_emitters"]))
                assert computed == pytest.approx(float(printed), abs=0.06)


def test_two_cups_are_the_fewest():
    """1.96 x 10 x sqrt((1 + 2 x 0.01) / 4) = 9.9 points."""
    assert us_within(90, 2) == pytest.approx(9.9, abs=0.01)


def test_how_sure_the_low_quarter_is_follows_the_scatter():
    """DUlq = 100 - 1.27 (100 - Us) for a normal scatter: what Us may be off, DUlq is 1.27 times."""
    found = evenness(C24)
    assert found.cups == 16
    assert found.us_within == us_within(found.us_pct, 16)
    assert found.du_within == pytest.approx(1.27 * found.us_within)


def test_one_cup_says_nothing():
    with pytest.raises(OutOfRange):
        us_within(90, 1)


# --- where the cups go ---------------------------------------------------------------------------


@given(st.integers(1, 40), st.integers(3, 60), st.booleans(), st.integers(1, 4))
def test_every_sampling_can_be_typed_and_stands_on_the_plot(
    plot_card, lines, length, middle, blocks
):
    card = plot_card(**{"plot.width_m": lines, "plot.length_m": length})
    network = network_of(card, "mid_side" if middle else "corner", "length", 0.0218)
    one = candidate(card, network, min(blocks, lines))
    for found in samplings(one):
        assert 8 <= found.cups <= MOST_CUPS
        assert sum(len(row.emitters) for row in found.rows) == found.cups
        assert {len(row.emitters) for row in found.rows} in ({3}, {4})
        assert len(found.rows) <= (6 if len(found.rows[0].emitters) == 3 else 4)
        assert len(set(found.places_of())) == found.cups
        for line, emitter in found.places_of():
            assert 1 <= line <= network.line_count
            assert 1 <= emitter <= network.emitters_per_line


@pytest.mark.parametrize(
    ("position", "lines", "offered"),
    [
        ("corner", 1, ["1 x 8", "1 x 16"]),
        ("corner", 2, ["2 x 4", "2 x 8"]),
        ("corner", 3, ["3 x 3", "3 x 4", "3 x 6"]),
        ("corner", 4, ["3 x 3", "4 x 4"]),
        ("corner", 5, ["3 x 3", "4 x 4"]),
        ("corner", 6, ["3 x 3", "4 x 4", "6 x 3"]),
        ("mid_side", 1, ["2 x 4", "2 x 8"]),
        ("mid_side", 2, ["4 x 3", "4 x 4"]),
        ("mid_side", 3, ["4 x 3", "4 x 4", "6 x 3"]),
    ],
)
def test_what_is_offered_grows_with_the_plot_the_quickest_first(laid, position, lines, offered):
    """Lines x places: 3 x 3 and both sides are the least (read: Western Australia DPIRD), 4 x 4
    is Merriam and Keller's (from memory); how a smaller plot is sampled is our choice."""
    found = samplings(laid(position, **{"plot.width_m": lines, "plot.length_m": 20}))
    assert [f"{each.lines} x {each.places}" for each in found] == offered


def test_a_cup_under_every_dripper_of_a_short_line(laid):
    one = laid(**{"plot.width_m": 1, "plot.length_m": 2.5})
    assert one.network.emitters_per_line == 8
    (only,) = samplings(one)
    assert (only.lines, only.places) == (1, 8)


def test_sixteen_cups_stand_at_both_ends_and_thirds(laid):
    """4 lines (first, 1/3, 2/3, last) by 4 places: Merriam and Keller, from memory."""
    (sampling,) = [each for each in samplings(laid()) if each.cups == 16]
    assert [row.line for row in sampling.rows] == [1, 7, 14, 20]
    assert sampling.rows[0].emitters == (1, 23, 44, 66)


def test_both_sides_of_a_middle_main_pipe_are_sampled(laid):
    one = laid(position="mid_side")
    for sampling in samplings(one):
        assert {(row.line - 1) % 2 for row in sampling.rows} == {0, 1}


def test_a_plot_of_a_few_drippers_is_looked_at_instead(laid):
    assert samplings(laid(**{"plot.length_m": 1, "plot.width_m": 1})) == ()


def test_marks_are_metres_from_the_main_pipe(laid):
    assert mark(laid(), 1) == pytest.approx(0.15)
    assert mark(laid(), 66) == pytest.approx(19.65)


# --- what the plot should give -------------------------------------------------------------------


def test_cups_are_reckoned_by_the_network(laid):
    one = laid(blocks=2)
    (sampling,) = [each for each in samplings(one) if each.cups == 16]
    flows = [flow for state in one.states() for flow in state.emitter_flows]
    found = reckoned_flows(one, sampling, 1.0)
    for (line, emitter), flow in zip(sampling.places_of(), found, strict=True):
        assert flow == pytest.approx(flows[line - 1][emitter - 1] * 3.6e6, rel=1e-3)


def test_new_drippers_on_level_ground_reach_their_own_scatter(laid):
    """cv 0.05 alone would give 100 - 1.27 x 5 = 93.65 %; short wide pipes cost next to nothing."""
    one = laid(**{"plot.length_m": 5, "plot.width_m": 4})
    assert reckoned_du(one, samplings(one)[0], 1.0) == pytest.approx(93.65, abs=0.1)


def test_a_slope_makes_even_a_new_plot_uneven(laid):
    flat, steep = laid(), laid(**{"plot.slope_length_pct": 3})
    assert reckoned_du(steep, samplings(steep)[1], 1.0) < reckoned_du(flat, samplings(flat)[1], 1.0)


def test_pipes_and_make_spread_the_flows_together(laid):
    """Two independent spreads add as squares; 1.27 of them lie between mean and low quarter."""
    steep = laid(**{"plot.slope_length_pct": 3})
    sampling = samplings(steep)[1]
    flows = reckoned_flows(steep, sampling, 1.0)
    mean = sum(flows) / len(flows)
    pipes = sum((flow / mean - 1) ** 2 for flow in flows) / len(flows)
    expected = 100 * (1 - 1.27 * (pipes + 0.05**2) ** 0.5)
    assert reckoned_du(steep, sampling, 1.0) == pytest.approx(expected)


def test_where_no_water_arrives_nothing_is_even(laid):
    high = laid(**{"stand_height_m": 0, "plot.slope_width_pct": 30, "plot.slope_length_pct": 30})
    sampling = samplings(high)[0]
    assert set(reckoned_flows(high, sampling, 0.1)) == {0.0}
    assert reckoned_du(high, sampling, 0.1) == 0


def test_the_level_falls_while_cups_are_filled(laid):
    """Cups set within 4 min, 6 min each: on average 5 min after the first, from 0.5 m² of water."""
    one = laid()
    flow = one.full[0].total_flow_lph / 1000
    assert catch_level(one, 1.0, 6) == pytest.approx(1.0 - flow * 5 / 60 / 0.5, rel=1e-3)
    assert catch_level(one, 1.0, 12) == pytest.approx(1.0 - flow * 8 / 60 / 0.5, rel=1e-3)
    assert catch_level(one, 0.11, 6) == pytest.approx(one.tank.outlet)


def test_ten_times_the_millilitres_of_six_minutes_is_an_hour():
    assert expected_ml(0.5, 6) == pytest.approx(50)


def test_cups_keep_their_order(laid):
    sampling = samplings(laid())[0]
    cups = cups_of(sampling, range(9))
    assert (cups[3].line, cups[3].emitter, cups[3].millilitres) == (11, 1, 3)
    with pytest.raises(ValueError, match="zip"):
        cups_of(sampling, range(8))


# --- the verdict ---------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("du", "within", "band", "maybe"),
    [
        (95, 3, "very_good", None),
        (92, 4, "very_good", "good"),
        (89.6, 3.8, "good", "very_good"),
        (85, 3, "good", None),
        (81, 3, "good", "fair"),
        (84, 13, "good", "fair"),
        (75, 13, "fair", "good"),
        (50, 13, "poor", None),
        (0, 30, "poor", None),
    ],
)
def test_bands_of_merriam_and_keller(du, within, band, maybe):
    """90, 80 and 70 (from memory, not verified); near an edge both bands are said."""
    found = verdict(Evenness(16, 50, du, 90, within, within), uniformity_bands())
    assert (found.band, found.maybe) == (band, maybe)


def test_the_bands_name_their_source():
    assert all("Merriam and Keller 1978, from memory" in row.source for row in uniformity_bands())


def test_a_band_that_nobody_knows():
    text = "measure,band,from_pct,to_pct,source\nDUlq,splendid,90,100,us\n"
    with pytest.raises(TextFileError, match=r"bands.csv:2: band must be one of very_good"):
        read_bands(text, "bands.csv")
