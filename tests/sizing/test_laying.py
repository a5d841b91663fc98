"""Metres, trade sizes and reducers of a layout as a person with a tape would count them."""

import pytest

from service.sizing.laying import laying, trade_size
from service.sizing.pipes import PipeSize

TAPS = [place + 0.5 for place in range(12)]
"""Twelve taps a metre apart [m from the tank]."""
THREE_BLOCKS = [(1, 4), (5, 8), (9, 12)]
TWO_BLOCKS = [(1, 6), (7, 12)]


@pytest.fixture
def laid(plot_card, pipes):
    """Lay twelve taps in blocks on a submain, from a stand of 1.5 m with its outlet 0.1 m up."""

    def laid(block_taps, bore_mm=28.2, second_mm=None, from_tap=0):
        bores = {"submain.inner_diameter_mm": bore_mm}
        if second_mm is not None:
            bores["submain.second"] = {"inner_diameter_mm": second_mm, "from_tap": from_tap}
        card = plot_card(stand_height_m=1.5, **{"tank.outlet_height_m": 0.1}, **bores)
        return laying(
            card,
            pipes,
            bore_mm=bore_mm,
            line_count=12,
            line_length_m=20,
            tap_positions_m=TAPS,
            block_taps=block_taps,
        )

    return laid


# Down the stand 1.6 m and to the last tap 11.5 m; 0.5 m for cutting each pipe.
ONE_PIPE_M = 1.6 + 0.5 + 11.5 + 0.5


@pytest.mark.parametrize(
    ("block_taps", "headers_m"),
    [
        ([(1, 12)], 0.0),
        # A header beside the submain from the first to the last tap of all blocks but the last.
        (TWO_BLOCKS, 5.0 + 0.5),
        (THREE_BLOCKS, 2 * (3.0 + 0.5)),
    ],
)
def test_each_block_but_the_last_has_a_header_of_its_own(laid, block_taps, headers_m):
    found = laid(block_taps)
    assert found.pipe_m == pytest.approx(ONE_PIPE_M + headers_m)
    assert (found.pipe, found.second, found.second_m, found.reducers) == (32, 0, 0, 0)
    assert found.starts == found.ends == (32,) * len(block_taps)


@pytest.mark.parametrize(
    ("block_taps", "from_tap", "thin_m", "starts", "ends", "reducers"),
    [
        # Within the second block: submain and its header change there, what lies before does not.
        (THREE_BLOCKS, 6, 6.0 + 2.0, (32, 32, 20), (32, 20, 20), 2),
        # At its first tap: the wide pipe still arrives there, and both go on thin.
        (THREE_BLOCKS, 5, 7.0 + 3.0, (32, 32, 20), (32, 20, 20), 2),
        # At the last tap of the first block: its header ends there and stays wide.
        (TWO_BLOCKS, 6, 6.0, (32, 20), (32, 20), 1),
        # At the first tap of the last block, where only the submain goes on.
        (TWO_BLOCKS, 7, 5.0, (32, 32), (32, 20), 1),
    ],
)
def test_every_pipe_that_lies_across_the_change_gets_a_reducer(
    laid, block_taps, from_tap, thin_m, starts, ends, reducers
):
    found = laid(block_taps, 28.2, 17.4, from_tap)
    whole = laid(block_taps)
    assert (found.pipe, found.second) == (32, 20)
    assert found.second_m == pytest.approx(thin_m)
    assert found.pipe_m + found.second_m == pytest.approx(whole.pipe_m)
    assert (found.starts, found.ends, found.reducers) == (starts, ends, reducers)


@pytest.mark.parametrize(
    ("second_mm", "from_tap"),
    [
        # Bores that differ, of one trade size: the shop sells the same pipe for both.
        (26.5, 6),
        # Beyond the last tap there is no pipe.
        (17.4, 12),
        (17.4, 13),
    ],
)
def test_a_change_that_needs_no_other_pipe_is_none(laid, second_mm, from_tap):
    assert laid(TWO_BLOCKS, 28.2, second_mm, from_tap) == laid(TWO_BLOCKS)


@pytest.mark.parametrize(
    ("bore_mm", "outer_mm"),
    [
        # Between the table's ranges: as near as can be, be it sold as dripline or as pipe.
        (11.0, 12),
        (24.5, 25),
        (25.5, 32),
    ],
)
def test_a_submain_that_no_shop_has_is_the_nearest_size(laid, bore_mm, outer_mm):
    assert laid([(1, 12)], bore_mm).pipe == outer_mm


def test_a_bore_where_two_driplines_meet_is_the_one_usually_nearer(pipes):
    """14.2 mm is the widest 16 mm dripline (usually 13.6) and the narrowest of 17 mm (15.2)."""
    assert trade_size(14.2, pipes, ("dripline", "tape")).outer_mm == 16


MADE_UP = (
    PipeSize("thin pipe", 15, 12.5, 12, 14, "submain"),
    PipeSize("wide pipe", 25, 20, 15, 24, "submain"),
    PipeSize("wide tape", 22, 23.5, 23, 26, "tape"),
)
"""Ranges that lie wider than those of the package, and overlap."""


@pytest.mark.parametrize(
    ("bore_mm", "uses", "name"),
    [
        # The narrowest met of the wide one, though the thin one's usual bore is nearer.
        (15, ("submain", "tape"), "wide pipe"),
        # In both ranges: the use named first, though the tape's usual bore is nearer.
        (23.2, ("submain", "tape"), "wide pipe"),
        (23.2, ("tape", "submain"), "wide tape"),
    ],
)
def test_a_range_that_holds_the_bore_comes_first_then_the_use(bore_mm, uses, name):
    assert trade_size(bore_mm, MADE_UP, uses).name == name
