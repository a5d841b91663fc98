"""Flushing: one open end against other reckonings, and what makes it slow."""

import math

import pytest
from epanet import toolkit

from service.sizing.flushing import FLUSH_SPEED, flush, line_end, submain_end
from service.sizing.geometry import network_of
from service.sizing.sized import candidate
from service.units import cubic_metres_per_second, litres_per_hour


@pytest.fixture
def laid(plot_card):
    """Make the candidate of a card laid one way."""

    def laid(position="corner", bore_mm=21.8, blocks=1, **fields):
        card = plot_card(**{"line_spacing_m": 1, **fields})
        return candidate(card, network_of(card, position, "length", bore_mm / 1000), blocks)

    return laid


def test_a_line_without_drippers_runs_as_a_table_reckoned_apart(vectors, laid):
    """
    Speed at the open end of a bare line by bore, length and head at its inlet.

    The table was computed apart from this code, without emitters: smooth pipe at about 20 C, losses
    at inlet and end counted. It prints two decimals and names no law of friction, and laws differ
    by 2 % here: so 2 % or one digit is the closest honest claim.
    """
    for row in vectors("upkeep_flush_velocity.csv"):
        bare = laid(
            bore_mm=150,
            filter=False,
            inlet_k=0,
            stand_height_m=0,
            **{
                "plot.length_m": float(row["line_length_m"]),
                "plot.width_m": 1,
                "tank.water_depth_m": float(row["head_at_line_inlet_m"]),
                "tank.outlet_height_m": 0,
                "dripline.inner_diameter_mm": float(row["bore_mm"]),
                "dripline.barb_loss_m": 0,
                "dripline.emitter_flow_lph": 0.05,
                "dripline.reference_head_m": 60,
            },
        )
        end = line_end(bare.blocks[0], bare.surface)
        printed = float(row["open_end_velocity_m_s"])
        assert end.speed == pytest.approx(printed, rel=0.02, abs=0.01), row


def with_open_end(epanet_plot, card, position, at_tap, minor=1.0):
    """Rebuild the plot in EPANET with the end of a line (or of the submain) led to the open."""

    class OpenPlot(epanet_plot):
        def _build(self):
            super()._build()
            if at_tap is not None:
                return
            last = len(self.lines) // (1 if self.position == "corner" else 2) - 1
            self._lead_out(f"t{last}", 0.0, 1e-5, self.bore_mm)

        def _line(self, tap_name, tap, side, ground, slope, emitters):
            super()._line(tap_name, tap, side, ground, slope, emitters)
            if (tap, side) != at_tap:
                return
            spacing = self.card["dripline"]["emitter_spacing_m"]
            length = self.card["plot"]["length_m"] / (1 if self.position == "corner" else 2)
            rest = length - (emitters - 0.5) * spacing
            bore = self.card["dripline"]["inner_diameter_mm"]
            self._lead_out(f"e{tap}_{side}_{emitters - 1}", ground + slope * length, rest, bore)

        def _lead_out(self, node, elevation, length, bore):
            out = toolkit.addnode(self.project, "open", toolkit.RESERVOIR)
            toolkit.setnodevalue(self.project, out, toolkit.ELEVATION, elevation)
            self._pipe("end", node, "open", max(length, 1e-5), bore, minor)

        def flow_out(self, surface):
            self.solve(surface)
            link = toolkit.getlinkindex(self.project, "end")
            return 1000 * toolkit.getlinkvalue(self.project, link, toolkit.FLOW)

    return OpenPlot(card, position, "length", 21.8, 2.0)


PLOT = {
    "plot": {"length_m": 24.1, "width_m": 12, "slope_length_pct": 1.0, "slope_width_pct": -0.5},
    "tank": {"volume_l": 500},
    "stand_height_m": 1.2,
    "line_spacing_m": 1,
    "tap_k": 1.0,
    "inlet_k": 2.0,
    "water_temp_c": 20,
    "dripline": {
        "inner_diameter_mm": 13.6,
        "emitter_spacing_m": 0.3,
        "emitter_flow_lph": 1,
        "reference_head_m": 10,
        "exponent": 0.5,
        "barb_loss_m": 0.1,
    },
}
"""On a submain that falls and lines that rise (on one side, with the tank in the middle)."""


@pytest.fixture
def sloping(plot_card):
    def sloping(position, flat_submain=False):
        plot = {f"plot.{name}": value for name, value in PLOT["plot"].items()}
        if flat_submain:
            plot["plot.slope_width_pct"] = 0
        line = {f"dripline.{name}": value for name, value in PLOT["dripline"].items()}
        card = plot_card(
            **plot, **line, stand_height_m=1.2, line_spacing_m=1, tap_k=1.0, inlet_k=2.0
        )
        return candidate(card, network_of(card, position, "length", 0.0218), 1)

    return sloping


@pytest.mark.parametrize("position", ["corner", "mid_side"])
def test_an_open_line_end_agrees_with_epanet(epanet_plot, sloping, position):
    """EPANET's engine with a pipe from the last emitter to the open, its velocity head lost.

    On mid_side the uphill side is the slower. Both sides of the comparison iterate to about 1e-4.
    """
    one = sloping(position)
    other = with_open_end(epanet_plot, PLOT, position, (11, 1))
    found = line_end(one.blocks[0], one.surface)
    assert litres_per_hour(found.flow) == pytest.approx(other.flow_out(one.surface), rel=1e-3)
    other.close()


def test_an_open_submain_end_agrees_with_epanet(epanet_plot, sloping):
    flat = {**PLOT, "plot": {**PLOT["plot"], "slope_width_pct": 0}}
    one = sloping("corner", flat_submain=True)
    other = with_open_end(epanet_plot, flat, "corner", None)
    found = submain_end(one.blocks[0], one.surface)
    assert litres_per_hour(found.flow) == pytest.approx(other.flow_out(one.surface), rel=1e-3)
    other.close()


def test_the_tank_gives_what_leaves_the_end_and_what_drips(laid):
    one = laid()
    dripping = cubic_metres_per_second(one.full[0].total_flow_lph)
    end = flush(one).line
    assert end.flow < end.drawn < end.flow + dripping


@pytest.mark.parametrize(
    "slower",
    [
        {"stand_height_m": 0.5},
        {"plot.length_m": 60},
        {"bore_mm": 13.6},
        {"plot.slope_length_pct": 3},
    ],
)
def test_a_low_stand_a_long_line_a_thin_pipe_and_a_rise_each_slow_the_end(laid, slower):
    assert flush(laid(**slower)).line.speed < flush(laid()).line.speed


def test_two_blocks_flush_faster_than_one_since_fewer_lines_drip(laid):
    wide = {"plot.width_m": 40, "stand_height_m": 0.5}
    assert flush(laid(blocks=2, **wide)).line.speed > flush(laid(**wide)).line.speed


def test_where_the_end_lies_above_the_water_nothing_runs_and_no_time_is_told(laid):
    found = flush(laid(**{"stand_height_m": 0, "plot.slope_length_pct": 10}))
    assert (found.line.flow, found.line.minutes, found.litres) == (0, None, None)
    assert not found.line.fast_enough


def test_a_line_runs_a_minute_or_twice_its_own_water_whichever_is_longer(laid):
    short, long = (
        flush(laid()).line,
        flush(laid(**{"plot.length_m": 60, "stand_height_m": 0.3})).line,
    )
    assert short.minutes == 1.0
    assert long.minutes == pytest.approx(2 * long.volume / long.flow / 60)
    assert long.minutes > 1.0


def test_the_wanted_speed_is_a_foot_a_second():
    """University of California, Maintenance of Microirrigation Systems, flushing: 1 ft/s."""
    assert pytest.approx(1 * 0.3048, abs=0.005) == FLUSH_SPEED


NO_DRIP = {"dripline.emitter_flow_lph": 0.05, "dripline.reference_head_m": 60}
NO_FITTINGS = {"filter": False, "inlet_k": 0, "tap_k": 0, "dripline.barb_loss_m": 0}


def jet(head, bore, lengths):
    """Speed [m/s] where a head is spent on the jet and on pipes of (length, bore, K).

    Blasius' law, 0.316 / Re^0.25, and not the code's; water at 20 C, 1.0e-6 m²/s. Losses in a pipe
    of another bore are carried over to the end by the fourth power of the bores.
    """
    speed = 1.0
    for _ in range(100):
        spent = 1.0
        for length, inner, minor in lengths:
            there = speed * (bore / inner) ** 2
            factor = 0.316 / (there * inner / 1.0e-6) ** 0.25
            spent += (factor * length / inner + minor) * (bore / inner) ** 4
        speed = math.sqrt(2 * 9.81 * head / spent)
    return speed


def test_a_line_that_falls_from_a_trough_on_the_ground_runs_by_its_whole_fall(laid):
    """The head at the end is the fall of 3 m with 0.1 m of water above it, not the 0.1 m alone."""
    steep = laid(
        bore_mm=150,
        stand_height_m=0,
        **NO_DRIP,
        **NO_FITTINGS,
        **{
            "plot.width_m": 1,
            "plot.length_m": 20,
            "plot.slope_length_pct": -15,
            "tank.water_depth_m": 0.1,
            "tank.outlet_height_m": 0,
            "dripline.inner_diameter_mm": 22.2,
        },
    )
    by_hand = jet(0.15 * 20 + 0.1, 0.0222, [(20, 0.0222, 0)])
    assert flush(steep).line.speed == pytest.approx(by_hand, rel=0.03)


def test_the_lines_that_drip_meanwhile_do_so_by_the_height_of_their_own_taps(laid):
    """Down a fall of 5 % the taps have 2 to 3 m of water: 4 L/h at 10 m by the square root of each.

    Two drippers on each of 20 lines, and a pipe too wide to lose anything.
    """
    one = laid(
        bore_mm=150,
        stand_height_m=1,
        **NO_FITTINGS,
        **{
            "plot.length_m": 1,
            "plot.width_m": 20,
            "plot.slope_width_pct": -5,
            "dripline.emitter_spacing_m": 0.5,
            "dripline.emitter_flow_lph": 4,
            "dripline.exponent": 0.5,
        },
    )
    lines = [2 * 4 * math.sqrt((2.0 + 0.05 * (tap + 0.5)) / 10) for tap in range(20)]
    end = line_end(one.blocks[0], one.surface)
    # The flushed line is the last one; hardly anything is left for its own drippers.
    assert sum(lines[:-1]) * 0.99 < litres_per_hour(end.drawn - end.flow) < sum(lines)


@pytest.mark.parametrize(
    ("blocks", "block", "wide_m", "thin_m"), [(1, 0, 6.5, 5), (2, 1, 6.5, 5), (2, 0, 5.5, 0)]
)
def test_the_water_in_a_submain_that_narrows_is_each_bores_own_as_far_as_the_block(
    laid, blocks, block, wide_m, thin_m
):
    """Twelve taps from 0.5 to 11.5 m, six to a block; beyond the seventh the pipe is thin."""
    card = {"inner_diameter_mm": 17.4, "from_tap": 7}
    one = laid(
        bore_mm=28.2,
        blocks=blocks,
        **{"plot.width_m": 12, "submain.inner_diameter_mm": 28.2, "submain.second": card},
    )
    end = submain_end(one.blocks[block], one.surface)
    stands = math.pi / 4 * (0.0282**2 * wide_m + 0.0174**2 * thin_m)
    assert end.volume == pytest.approx(stands, rel=1e-9)
    bore = 0.0174 if thin_m else 0.0282
    assert end.speed == pytest.approx(end.flow / (math.pi / 4 * bore**2), rel=1e-9)


def test_a_short_submain_that_narrows_loses_at_the_change_too(laid):
    """
    Half a metre of 28.2 mm and the last half metre of 13.6 mm: K = 0.5 (1 - (d2/d1)²) where they
    meet is about a seventh of all that is lost.
    """
    one = laid(
        bore_mm=28.2,
        stand_height_m=0,
        **NO_DRIP,
        **NO_FITTINGS,
        **{
            "plot.width_m": 1,
            "plot.length_m": 1,
            "line_spacing_m": 0.5,
            "submain.inner_diameter_mm": 28.2,
            "submain.second": {"inner_diameter_mm": 13.6, "from_tap": 1},
        },
    )
    change = 0.5 * (1 - (13.6 / 28.2) ** 2)
    by_hand = jet(1.0, 0.0136, [(0.25, 0.0282, 0), (0.5, 0.0136, change)])
    found = flush(one).submain
    assert found.speed == pytest.approx(by_hand, rel=0.02)


def test_the_litres_of_a_flush_are_every_end_for_the_minutes_that_are_told(laid):
    """Two blocks of six taps with a line to either side: 24 line ends and two ends of submain.

    A line wants a little over a minute: told are two, and two minutes' water is needed.
    """
    found = flush(
        laid(
            "mid_side", blocks=2, **{"plot.length_m": 50, "plot.width_m": 12, "stand_height_m": 0.5}
        )
    )
    assert 1 < found.line.minutes < 2
    assert found.line.whole_minutes == 2
    a_line = 2 * 60 * found.line.drawn
    a_submain = found.submain.whole_minutes * 60 * found.submain.drawn
    assert found.submain.flow > found.line.flow > 0
    assert found.litres == pytest.approx(1000 * (24 * a_line + 2 * a_submain), rel=1e-9)
