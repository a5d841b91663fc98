"""The plan as SVG, read back as XML: marks counted, lengths measured, words looked up."""

import re
from xml.etree import ElementTree

import pytest

from service.drawing.plan_svg import plan_svg
from service.sizing.plain import plain_english

SVG = "{http://www.w3.org/2000/svg}"
NAMES = ["corner", "two_blocks", "small", "big", "tall", "starving"]


def marks(root, kind):
    return [element for element in root.iter() if element.get("class") == kind]


def words(root):
    return [element.text for element in root.iter(f"{SVG}text")]


@pytest.fixture
def read_back(drawn_card, plan_of):
    def read(name, with_emitters=True, labels=plain_english):
        card = drawn_card(name)
        plan = plan_of(card, with_emitters)
        return ElementTree.fromstring(plan_svg(card, plan, labels)), plan.layouts[0]

    return read


@pytest.mark.parametrize("name", NAMES)
def test_every_tap_line_and_valve_is_drawn(read_back, name):
    root, layout = read_back(name)
    taps = len(layout.tap_positions_m)
    assert len(marks(root, "tap")) == taps
    assert len(marks(root, "tick")) == taps
    assert len(marks(root, "line")) == layout.line_count
    assert len(marks(root, "share")) == layout.line_count
    assert len(marks(root, "header")) == layout.blocks - 1
    valves = 1 if layout.blocks == 1 else 1 + layout.blocks
    assert len(marks(root, "valve")) == 2 * valves
    assert len(marks(root, "filter")) == (0 if name == "small" else 1)


@pytest.mark.parametrize("name", NAMES)
def test_the_plan_is_to_the_scale_that_it_says(read_back, name, drawn_card):
    root, layout = read_back(name)
    scale = int(re.search(r"Scale 1:(\d+)", " ".join(words(root))).group(1))
    (plot,) = marks(root, "plot")
    sides = sorted(float(plot.get(side)) * scale / 1000 for side in ("width", "height"))
    card = drawn_card(name)
    assert sides == pytest.approx(sorted([card.plot.width_m, card.plot.length_m]), rel=1e-4)
    first, last = marks(root, "tick")[0], marks(root, "tick")[-1]
    apart = sum(abs(float(last.get(end)) - float(first.get(end))) for end in ("x1", "y1"))
    true = layout.tap_positions_m[-1] - layout.tap_positions_m[0]
    assert apart * scale / 1000 == pytest.approx(true, rel=1e-3)


@pytest.mark.parametrize("name", NAMES)
def test_nothing_lies_off_the_page(read_back, name):
    root, _ = read_back(name)
    width, height = (float(root.get(side).removesuffix("mm")) for side in ("width", "height"))
    assert root.get("viewBox") == f"0 0 {width:g} {height:g}"
    for word in root.iter(f"{SVG}text"):
        x, y = float(word.get("x")), float(word.get("y"))
        long = 0.55 * float(word.get("font-size")) * len(word.text)
        back = {"start": 0.0, "middle": long / 2, "end": long}[word.get("text-anchor")]
        start, end = (
            (y + back, y + back - long) if word.get("transform") else (x - back, x - back + long)
        )
        limit = height if word.get("transform") else width
        assert -0.5 <= min(start, end) <= max(start, end) <= limit + 0.5, word.text
        assert 0 <= x <= width, word.text
        assert 0 <= y <= height, word.text


def test_measures_and_tap_marks_are_told(read_back):
    root, _ = read_back("two_blocks")
    told = words(root)
    assert told.count("20 m") == 3  # either half of the length, and the width
    assert "40 m" in told
    assert {"0.5", "9.5", "19.5"} <= set(told)
    assert {"Block 1", "Block 2", "tank 1000 L", "stand 2 m", "valve", "filter"} <= set(told)


def test_where_marks_crowd_the_first_and_the_last_are_told(read_back):
    root, _ = read_back("big")
    figures = [word for word in words(root) if re.fullmatch(r"\d+\.5", word)]
    assert figures[0] == "0.5"
    assert figures[-1] == "99.5"
    assert len(figures) < 25


def test_the_strip_names_the_least_and_the_most(read_back):
    root, layout = read_back("starving")
    flows = [sum(line) for line in layout.emitter_flow_lph]
    least = round(100 * min(flows) * len(flows) / sum(flows))
    assert any(
        f"least {least}% at tap 19.5 m" in word and "at tap 0.5 m" in word for word in words(root)
    )
    assert any("Dark: below 90%" in word for word in words(root))
    bars = [float(bar.get("height")) for bar in marks(root, "share")]
    assert bars[-1] / bars[0] == pytest.approx(flows[-1] / flows[0], rel=1e-3)


def test_without_emitters_no_strip(read_back):
    root, _ = read_back("corner", with_emitters=False)
    assert marks(root, "share") == []
    assert not any("share" in word for word in words(root))


@pytest.mark.parametrize("name", NAMES)
def test_every_word_can_be_translated(read_back, name):
    root, _ = read_back(name, labels=lambda phrase: f"<{plain_english(phrase)}&")
    for word in words(root):
        assert re.fullmatch(r"(<.*&)+", word), word
    assert root.find(f"{SVG}title").text.startswith("<")


def test_letters_that_xml_cannot_hold_are_left_out(read_back):
    root, _ = read_back("corner", labels=lambda phrase: plain_english(phrase) + "\x00\x07")
    assert "tank 500 L" in words(root)
