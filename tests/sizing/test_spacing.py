"""How far apart driplines lie when the card does not say: common practice, no source."""

from dataclasses import replace

import pytest

from service.sizing.spacing import usual_line_spacing
from service.sizing.tables import standard_tables

TOMATO = standard_tables().crop("tomato")


@pytest.mark.parametrize(
    ("rows_m", "lines_m"), [(1.2, 1.2), (0.5, 0.5), (0.45, 0.9), (0.3, 0.6), (0.2, 0.4)]
)
def test_a_line_serves_a_row_or_two_close_ones(rows_m, lines_m):
    crop = replace(TOMATO, row_spacing_m=rows_m)
    assert usual_line_spacing(crop) == pytest.approx(lines_m)


def test_lines_lie_a_metre_apart_for_a_crop_that_nobody_named():
    assert usual_line_spacing(None) == 1.0
