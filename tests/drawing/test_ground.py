import pytest

from service.drawing.ground import ground_of, line_shares


@pytest.mark.parametrize(
    ("name", "width", "down", "middle"),
    [
        ("corner", 20, True, False),
        ("two_blocks", 40, True, True),
        ("big", 100, False, True),
        # Length 15, width 30: the width lies flat on the page, so lines along the length stand up.
        ("tall", 30, False, False),
    ],
)
def test_the_long_side_lies_flat(drawn_card, plan_of, name, width, down, middle):
    card = drawn_card(name)
    ground = ground_of(card, plan_of(card, False).layouts[0])
    assert (ground.width_m, ground.down, ground.middle) == (width, down, middle)


@pytest.mark.parametrize("name", ["corner", "two_blocks", "small", "big", "tall"])
def test_lines_are_as_many_as_in_the_layout_and_stay_in_the_plot(drawn_card, plan_of, name):
    card = drawn_card(name)
    layout = plan_of(card, False).layouts[0]
    ground = ground_of(card, layout)
    lines = list(ground.lines())
    assert len(lines) == layout.line_count
    for along, start, end in lines:
        assert 0 <= along <= ground.along_m
        assert abs(end - start) == pytest.approx(layout.line_length_m)
        assert -1e-9 <= min(start, end) <= max(start, end) <= ground.across_m + 1e-9


def test_blocks_share_out_the_taps(drawn_card, plan_of):
    card = drawn_card("big")
    bands = ground_of(card, plan_of(card, False).layouts[0]).bands
    assert [(band.first_m, band.last_m) for band in bands] == [
        (0.5, 24.5),
        (25.5, 49.5),
        (50.5, 74.5),
        (75.5, 99.5),
    ]


def test_shares_of_the_lines(drawn_card, plan_of):
    card = drawn_card("starving")
    layout = plan_of(card).layouts[0]
    shares = line_shares(layout)
    assert len(shares) == 20
    assert sum(shares) == pytest.approx(20)
    assert shares[0] == max(shares) > 1.2
    assert shares[-1] == min(shares) < 0.9


def test_no_shares_when_emitters_are_not_told(drawn_card, plan_of):
    assert line_shares(plan_of(drawn_card("corner"), False).layouts[0]) == ()
