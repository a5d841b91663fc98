"""Lines as counted on the ground, and the layout that they mean."""

import pytest

from service.sizing.card import read_card
from service.sizing.laid import LaidLines, all_open, laid_candidate, with_known_bore
from service.sizing.layouts import size_layouts


@pytest.mark.parametrize(
    ("laid", "taps", "length", "width"),
    [
        (LaidLines(12, 20.0), 12, 20.0, 12.0),
        (LaidLines(12, 20.0, spacing=0.9), 12, 20.0, 10.8),
        (LaidLines(12, 20.0, sides=2), 6, 40.0, 6.0),
        (LaidLines(13, 20.0, sides=2), 7, 40.0, 7.0),
        (LaidLines(1, 5.0), 1, 5.0, 1.0),
    ],
)
def test_counted_lines_make_a_plot(laid, taps, length, width):
    assert (laid.taps, laid.plot_length) == (taps, length)
    assert laid.plot_width == pytest.approx(width)


@pytest.mark.parametrize("sides", [1, 2])
@pytest.mark.parametrize("spacing", [0.75, 1.0, 1.35])
def test_the_layout_has_the_lines_that_were_counted(pipes, sides, spacing):
    laid = LaidLines(14, 18.0, spacing, sides)
    card = read_card(
        {
            "plot": {"length_m": laid.plot_length, "width_m": laid.plot_width},
            "tank": {"volume_l": 500},
            "stand_height_m": 1.5,
            "line_spacing_m": spacing,
            "layout": {"tank_position": laid.position, "lines_run": "length", "blocks": 1},
        }
    )
    network = laid_candidate(card, pipes).network
    assert network.line_count == 14
    assert network.line_length == pytest.approx(18.0)


def test_an_unread_main_pipe_is_what_a_fitter_would_have_taken(plot_card, pipes):
    card = plot_card(
        **{
            "layout": {"tank_position": "corner", "lines_run": "length", "blocks": 1},
            "plot.length_m": 30,
        }
    )
    bore = with_known_bore(card, pipes).submain.inner_diameter_mm
    assert bore == pytest.approx(1000 * size_layouts(card, pipes).best.network.bore)
    known = plot_card(**{"submain.inner_diameter_mm": 44.2})
    assert with_known_bore(known, pipes) is known


def test_all_blocks_open_at_once(plot_card, pipes):
    card = plot_card(layout={"tank_position": "corner", "lines_run": "length", "blocks": 3})
    blocks = laid_candidate(card, pipes)
    assert len(blocks.blocks) == 3
    together = all_open(blocks)
    assert len(together.blocks) == 1
    assert together.drains[0].empty_minutes < blocks.drains[0].empty_minutes
    assert all_open(together) is together
