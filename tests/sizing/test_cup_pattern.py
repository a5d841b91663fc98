"""Which cups are low, told from cups that a plot with a known fault would fill."""

import random

import numpy as np
import pytest

from service.sizing.calibration import DRY_SHARE
from service.sizing.cup_pattern import Gap, gap
from service.sizing.field_check import expected_ml, reckoned_flows, samplings
from service.sizing.geometry import network_of
from service.sizing.sized import candidate
from service.sizing.troubles import Trouble, TroubledBlock

LEVEL = 0.9


@pytest.fixture(scope="module")
def laid(plot_card):
    def laid(position="corner", **changes):
        card = plot_card(**{"stand_height_m": 1.0, "submain.inner_diameter_mm": 21.8, **changes})
        return candidate(card, network_of(card, position, "length", 0.0218), 1)

    return laid


@pytest.fixture(scope="module")
def one(laid):
    return laid()


def sixteen(one):
    return next(each for each in samplings(one) if each.cups == 16)


def filled(one, sampling, factor, seed):
    """Whole mL as drippers of usual make (cv 0.05) would fill the cups, some of them at fault."""
    chance = random.Random(seed)
    flows = reckoned_flows(one, sampling, LEVEL)
    return [
        round(max(0.0, expected_ml(flow, 6) * chance.gauss(1, 0.05) * factor(line, emitter)))
        for (line, emitter), flow in zip(sampling.places_of(), flows, strict=True)
    ]


FAULTS = {
    "ends_low": lambda line, emitter: 1 - 0.35 * emitter / 66,
    "starts_low": lambda line, emitter: 0.65 + 0.35 * emitter / 66,
    "far_lines_low": lambda line, emitter: 1 - 0.35 * line / 20,
    "near_lines_low": lambda line, emitter: 0.65 + 0.35 * line / 20,
    "one_line_low": lambda line, emitter: 0.6 if line == 7 else 1.0,
    "dry": lambda line, emitter: 0.0 if (line, emitter) in ((1, 23), (14, 44)) else 1.0,
    "high": lambda line, emitter: 1.7 if (line, emitter) == (14, 44) else 1.0,
}


@pytest.mark.parametrize("fault", FAULTS)
def test_a_fault_is_seen_in_its_pattern(one, fault):
    """Of 60 plots with drippers of usual make, nearly all are told rightly."""
    sampling = sixteen(one)
    found = [
        gap(one, sampling, filled(one, sampling, FAULTS[fault], seed), LEVEL) for seed in range(60)
    ]
    assert sum(each.pattern == fault for each in found) >= 57


def test_a_sound_plot_is_called_even(one):
    sampling = sixteen(one)
    found = [
        gap(one, sampling, filled(one, sampling, lambda *_: 1.0, seed), LEVEL)
        for seed in range(100)
    ]
    assert sum(each.pattern == "even" for each in found) >= 95


def test_drippers_blocked_here_and_there_are_called_scattered(one):
    sampling, found = sixteen(one), []
    for seed in range(60):
        chance = random.Random(1000 + seed)
        shares = {place: chance.uniform(0.6, 1.0) for place in sampling.places_of()}
        cups = filled(one, sampling, lambda line, emitter, s=shares: s[line, emitter], seed)
        found.append(gap(one, sampling, cups, LEVEL).pattern)
    assert found.count("scattered") >= 40


def test_the_low_line_is_named(one):
    sampling = sixteen(one)
    found = gap(one, sampling, filled(one, sampling, FAULTS["one_line_low"], 1), LEVEL)
    assert found.line == 7


def test_a_line_without_any_water_is_named_and_not_counted_as_clogged(one):
    sampling = sixteen(one)
    cups = filled(one, sampling, lambda line, _: float(line != 14), 1)
    assert gap(one, sampling, cups, LEVEL) == Gap("one_line_low", line=14)


def test_dry_ends_of_every_line_are_ends_and_not_single_drippers(one):
    sampling = sixteen(one)
    cups = filled(one, sampling, lambda _, emitter: float(emitter != 66), 1)
    assert gap(one, sampling, cups, LEVEL) == Gap("ends_low")


def test_dry_drippers_are_counted(one):
    sampling = sixteen(one)
    assert gap(one, sampling, filled(one, sampling, FAULTS["dry"], 1), LEVEL).count == 2


def test_the_cup_that_runs_over_is_named_by_its_line(one):
    sampling = sixteen(one)
    cups = filled(one, sampling, FAULTS["high"], 1)
    assert gap(one, sampling, cups, LEVEL) == Gap("high", line=14, count=1)


def test_one_dry_end_is_a_dripper_and_two_are_ends(one):
    sampling = sixteen(one)
    single = filled(one, sampling, lambda line, emitter: float((line, emitter) != (7, 66)), 1)
    assert gap(one, sampling, single, LEVEL) == Gap("dry", count=1)
    two = filled(one, sampling, lambda line, emitter: float(emitter != 66 or line < 14), 1)
    assert gap(one, sampling, two, LEVEL) == Gap("ends_low")


def test_most_cups_dry_are_counted_too(one):
    sampling = sixteen(one)
    wet = {(1, 1), (7, 23), (14, 44), (20, 66)}
    cups = filled(one, sampling, lambda line, emitter: float((line, emitter) in wet), 1)
    assert gap(one, sampling, cups, LEVEL) == Gap("dry", count=12)


def test_of_two_lines_the_dry_one_is_named(laid):
    one = laid(**{"plot.width_m": 2})
    sampling = sixteen(one)
    cups = filled(one, sampling, lambda line, _: float(line == 1), 1)
    assert gap(one, sampling, cups, LEVEL) == Gap("one_line_low", line=2)


def test_of_two_lines_the_lower_one_is_named(laid):
    one = laid(**{"plot.width_m": 2})
    sampling = sixteen(one)
    for low in (1, 2):
        cups = filled(one, sampling, lambda line, _, low=low: 0.6 if line == low else 1.0, 1)
        assert gap(one, sampling, cups, LEVEL) == Gap("one_line_low", line=low)


def test_an_only_line_that_is_dry_is_not_low_beside_others(laid):
    one = laid(**{"plot.width_m": 1})
    sampling = sixteen(one)
    assert gap(one, sampling, [0] * 16, LEVEL) == Gap("dry", count=16)


def test_what_pipes_and_ground_explain_is_even(laid):
    """The ground takes a third of the flow at the ends: cups that show just that are no fault."""
    one = laid(**{"stand_height_m": 0.5, "plot.slope_length_pct": 3})
    sampling = sixteen(one)
    flows = reckoned_flows(one, sampling, LEVEL)
    assert min(flows) < 0.75 * max(flows)
    cups = [round(expected_ml(flow, 12)) for flow in flows]
    assert gap(one, sampling, cups, LEVEL) == Gap("even")


def test_a_cup_where_no_water_can_arrive_says_nothing_of_its_dripper(laid):
    """Half of each line lies higher than the water: dry there, and nothing is clogged."""
    one = laid(**{"stand_height_m": 0.5, "plot.slope_length_pct": 10})
    sampling = sixteen(one)
    flows = reckoned_flows(one, sampling, 0.5)
    assert sum(flow == 0 for flow in flows) == 8
    cups = [round(expected_ml(flow, 12)) for flow in flows]
    assert gap(one, sampling, cups, 0.5) == Gap("even")
    cups[0] = 0
    assert gap(one, sampling, cups, 0.5) == Gap("dry", count=1)


def test_where_no_water_arrives_at_all_no_pattern_is_told(laid):
    steep = {"plot.slope_width_pct": 30, "plot.slope_length_pct": 30}
    one = laid(**{"stand_height_m": 0, **steep})
    sampling = sixteen(one)
    assert gap(one, sampling, [0] * 16, 0.1) == Gap("even")


def test_one_side_low_where_lines_lie_on_both(laid):
    one = laid(position="mid_side")
    sampling = sixteen(one)
    for side in (1, 2):
        cups = filled(
            one, sampling, lambda line, _, low=side: 0.7 if line % 2 == low % 2 else 1.0, 3
        )
        assert gap(one, sampling, cups, LEVEL) == Gap("side_low", line=side)


def test_ground_that_rises_more_than_told_shows_at_the_ends(laid):
    """Told level, it rises by 3 %: the cups of the true plot held against the plot as told."""
    told, true = (
        laid(stand_height_m=0.5),
        laid(**{"stand_height_m": 0.5, "plot.slope_length_pct": 3}),
    )
    sampling = sixteen(told)
    cups = [round(expected_ml(flow, 12)) for flow in reckoned_flows(true, sampling, LEVEL)]
    assert gap(told, sampling, cups, LEVEL).pattern == "ends_low"


def test_a_pinched_line_in_the_network_is_one_low_line(one):
    sampling = sixteen(one)
    running = TroubledBlock(one, Trouble().with_line(7, tap_k=2e5)).running(LEVEL)
    cups = [
        round(expected_ml(running.emitter_flows(line)[emitter - 1] * 3.6e6, 12))
        for line, emitter in sampling.places_of()
    ]
    assert gap(one, sampling, cups, LEVEL) == Gap("one_line_low", line=7)


# --- the pattern itself, against least squares of numpy ------------------------------------------


def candidates(one, sampling):
    """Marks of each pattern over the cups, with what a falling and a rising fit are called."""
    places = np.array(list(sampling.places_of()))
    line, emitter = places[:, 0], places[:, 1]
    sides = len(one.network.sides)
    tap = (line - 1) // sides
    yield (emitter - 1) / (one.network.emitters_per_line - 1), Gap("ends_low"), Gap("starts_low")
    for each in sorted(set(line)):
        yield line == each, Gap("one_line_low", line=int(each)), None
    if sides == 2:
        yield (line - 1) % 2, Gap("side_low", line=2), Gap("side_low", line=1)
    yield tap / (len(one.network.taps) - 1), Gap("far_lines_low"), Gap("near_lines_low")


def by_least_squares(one, sampling, values, cv=0.05):
    """Which pattern the F statistic of a straight fit singles out, or one that runs over."""
    fits = []
    for marks, falling, rising in candidates(one, sampling):
        matrix = np.column_stack([np.ones(len(values)), marks])
        (_, slope), [left], _, _ = np.linalg.lstsq(matrix, values)
        meant = falling if slope < 0 else rising
        if meant is not None:
            fits.append((left, abs(slope), meant))
    left, slope, meant = min(fits, key=lambda fit: fit[0])
    freedom = len(values) - 2
    explained = len(values) * np.var(values) - left
    if explained / max(left / freedom, 0.5 * cv**2) > 10 and slope > 2 * cv:
        return meant
    highest = int(np.argmax(values))
    others = np.delete(values, highest)
    if values[highest] > max(1.2, others.mean() + 3 * max(cv, others.std(ddof=1))):
        return Gap("high", line=list(sampling.places_of())[highest][0], count=1)
    return Gap("scattered" if np.std(values, ddof=1) > 2 * cv else "even")


@pytest.mark.parametrize("position", ["corner", "mid_side"])
def test_patterns_are_those_of_least_squares(laid, position):
    """Slopes and scatter of every size, so that many plots lie near where the answer changes."""
    one = laid(position=position)
    sampling = sixteen(one)
    flows = np.array(reckoned_flows(one, sampling, LEVEL))
    marks = [np.asarray(mark, float) for mark, _, _ in candidates(one, sampling)]
    chance, answers = np.random.default_rng(7), []
    for _ in range(400):
        slope, scatter = chance.uniform(-0.5, 0.5), 10 ** chance.uniform(-3, -0.8)
        shares = 1 + slope * marks[chance.integers(len(marks))] + chance.normal(0, scatter, 16)
        shares[chance.integers(16)] += chance.choice([0, 0, 0.3, 0.5])
        shares /= np.median(shares)
        if shares.min() <= DRY_SHARE:
            continue
        found = gap(one, sampling, flows * shares, LEVEL)
        assert found == by_least_squares(one, sampling, shares)
        answers.append(found.pattern)
    assert len(set(answers)) >= 8
    assert min(answers.count(each) for each in set(answers)) >= 5


def test_of_four_cups_with_water_a_dry_one_is_told_and_of_three_nothing(laid):
    """The ground rises both ways, so that one cup after another lies above the water."""
    one = laid(**{"stand_height_m": 0.1, "plot.slope_length_pct": 10, "plot.slope_width_pct": 2})
    sampling = sixteen(one)
    told = {}
    for millimetres in range(1000):
        level = millimetres / 1000
        wet = sum(flow > 0 for flow in reckoned_flows(one, sampling, level))
        told[wet] = gap(one, sampling, [0.0, *[100.0] * 15], level)
    assert told[4] == Gap("dry", count=1)
    assert told[3] == Gap("even")
