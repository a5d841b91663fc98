import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.drawing.scale import bar_length, label_every, scale_for


@pytest.mark.parametrize(
    ("ground", "paper", "scale"),
    [
        # 20 m at 1:200 is 100 mm; at 1:150 it would be 133 mm.
        ((20, 20), (150, 100), 200),
        ((40, 20), (160, 110), 250),
        ((100, 60), (160, 100), 800),
        ((7, 5), (150, 100), 50),
    ],
)
def test_the_largest_round_scale_that_fits(ground, paper, scale):
    assert scale_for(*ground, *paper) == scale


@given(st.floats(0.5, 500), st.floats(0.5, 500), st.floats(20, 200), st.floats(20, 200))
def test_ground_at_the_scale_fits_its_paper(width, height, paper_width, paper_height):
    scale = scale_for(width, height, paper_width, paper_height)
    assert width * 1000 / scale <= paper_width
    assert height * 1000 / scale <= paper_height


@pytest.mark.parametrize("paper", [(0, 100), (100, -5)])
def test_no_room(paper):
    with pytest.raises(ValueError, match="no scale fits 20 m x 10 m"):
        scale_for(20, 10, *paper)


@pytest.mark.parametrize(("scale", "metres"), [(200, 5), (250, 10), (800, 20), (50, 2), (10, 0.5)])
def test_a_round_bar_of_at_most_four_centimetres(scale, metres):
    assert bar_length(scale, 40.0) == metres


@pytest.mark.parametrize(("pitch", "every"), [(5, 1), (3.2, 1), (1.7, 2), (0.8, 5), (0.01, 100)])
def test_every_which_mark_has_room_for_its_figure(pitch, every):
    assert label_every(pitch, 3.2) == every
