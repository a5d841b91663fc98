"""Every usable row of the worked examples of hydraulics, and why the others are not usable.

P rows are published, M rows recalled from handbooks, C rows were computed by another solver and
most of them checked with EPANET. The files name their sources.
"""

import math
import re

import pytest

from service.sizing.calibration import catch_flow
from service.sizing.emitters import EmitterLaw
from service.sizing.emptying import emptying
from service.sizing.friction import PipeLaw, christiansen_factor, friction_factor
from service.sizing.geometry import Network, Piece
from service.sizing.lines import Line, LineShape
from service.sizing.network import solve
from service.sizing.tank import TankBody
from service.sizing.uniformity import (
    absolute_uniformity,
    allowed_head_difference,
    christiansen_uniformity,
    emission_uniformity,
    flow_variation,
    low_quarter_uniformity,
    statistical_uniformity,
)
from service.sizing.water import kinematic_viscosity

LPH = 3.6e6
NOT_USABLE = {
    "P02": "Blasius' law: we have none, EPANET's laws cover its range",
    "P05": "reduced-seat ball valve: we have no such part; a full-bore valve is advised",
    "P06": "sudden enlargement: none in the network",
    "P07": "Hooper's two constants: fittings here have one coefficient",
    "P08": "round-wire screen: the filter's loss is one constant over flow squared",
    "P13a": "set times belong to watering",
    "P13b": "set times belong to watering",
    "P13c": "set times belong to watering",
    "P13d": "set times belong to watering",
    "P13e": "set times belong to watering",
    "P13f": "set times belong to watering",
    "P13g": "set times belong to watering",
    "P14": "set times belong to watering",
    "P17": "a sum of two printed flows, nothing to compute",
    "P18": "chlorine belongs to upkeep",
    "P19": "chlorine belongs to upkeep",
    "P20": "chlorine gas is out of scope",
    "P21": "the emitter's constants are not given in the abstract: plausibility only",
    "P22": "the size of the plot is not given in the abstract: plausibility only",
    "M04": "the card gives the connection loss; no formula for barbs is used",
    "C36": "set times belong to watering",
    "C37": "wetted soil belongs to watering",
    "C38": "bleach belongs to upkeep",
}
ELSEWHERE = {
    "P09": "test_friction: the transition and its ends",
    "P15": "test_friction: flushing flow",
    "P16": "test_friction: flushing flow",
    "C39": "test_water: one metre of water",
    "C40": "test_friction: microtube",
}


def rows(vectors, pattern):
    return [row for row in vectors("hydraulics_examples.csv") if re.fullmatch(pattern, row["id"])]


def number(text, name):
    """The number after a name such as Q= or 'q_mean '."""
    return float(re.search(re.escape(name) + r"[ =]*(-?[\d.]+)", text)[1])


def test_every_row_is_used_or_excused(vectors):
    used = r"P01|P03|P04|P10|P11|P12|M01_\d+|M02|M03|C0\d|C1\d|C2[0-4]|C3[0-5]"
    for row in vectors("hydraulics_examples.csv"):
        places = [
            bool(re.fullmatch(used, row["id"])),
            row["id"] in NOT_USABLE,
            row["id"] in ELSEWHERE,
        ]
        assert sum(places) == 1, row["id"]


def test_friction_factors(vectors):
    """P01 exact; P03 prints Swamee-Jain with 6.97/Re, P04 Churchill: both within 0.2 % of ours."""
    assert friction_factor(128, 0) == 0.5
    for row in rows(vectors, "P03|P04"):
        assert friction_factor(1e5, 1e-4) == pytest.approx(float(row["answer"]), rel=2e-3)


def test_christiansen_column_of_the_handbooks(vectors):
    for row in rows(vectors, r"M01_\d+"):
        outlets = int(number(row["inputs"], "N="))
        assert christiansen_factor(outlets, 1.75) == pytest.approx(float(row["answer"]), abs=0.01)


@pytest.mark.parametrize(("litres_second", "millimetres"), [(0.1, 20), (0.3, 28), (1.0, 50)])
def test_handbook_gradient_of_small_plastic_pipe(litres_second, millimetres):
    """M02, M03: J = 7.89e7 Q^1.75/D^4.75 per 100 m (from memory) is Blasius with 0.32; Swamee and
    Jain run up to 4 % beside it from Re 6000 to 30000."""
    handbook = 7.89e7 * litres_second**1.75 / millimetres**4.75 / 100
    law = PipeLaw(millimetres / 1000, kinematic_viscosity(20))
    assert law.gradient(litres_second / 1000) == pytest.approx(handbook, rel=0.04)
    gallons, inches = litres_second / 1000 / 3.785412e-3 * 60, millimetres / 25.4
    assert 0.133 * gallons**1.75 / inches**4.75 / 100 == pytest.approx(handbook, rel=0.01)


def example_line(inputs):
    """The line of a C row: first emitter one spacing in, no loss at the tap."""
    return Line(
        LineShape(
            emitters=int(number(inputs, "N=")),
            spacing=number(inputs, "spacing"),
            barb=number(inputs, "equivalent length per emitter"),
            slope=number(inputs, "slope +" if "slope +" in inputs else "slope") / 100,
            bore=number(inputs, "bore") / 1000,
            viscosity=kinematic_viscosity(float(re.search(r"(\d+) C$", inputs)[1])),
            tap_k=0.0,
            law=EmitterLaw(number(inputs, "k=") / LPH, number(inputs, "x=")),
            first_at=1.0,
        ),
        highest=2.0,
    )


def test_single_lines(vectors):
    """C01 to C09: heads within 1 mm, flow within 0.05 L/h as the file asks."""
    found = rows(vectors, "C0[1-9]")
    assert len(found) == 9
    for row in found:
        line, answer = example_line(row["inputs"]), row["answer"]
        flow, heads = line.solved(number(row["inputs"], "inlet head") - line.lowest)
        flows = [line.shape.law.flow(head) * LPH for head in heads]
        assert flow * LPH == pytest.approx(number(answer, "Q="), abs=0.05), row["id"]
        assert heads[0] == pytest.approx(number(answer, "h_first="), abs=1e-3)
        assert heads[-1] == pytest.approx(number(answer, "h_last="), abs=1e-3)
        variation = flow_variation(min(flows), max(flows))
        assert variation == pytest.approx(number(answer, "qvar="), abs=0.03)
        assert low_quarter_uniformity(flows) == pytest.approx(number(answer, "DUlq="), abs=0.05)
        assert christiansen_uniformity(flows) == pytest.approx(number(answer, "CU="), abs=0.05)


def example_network(taps, bore, sides, slope=0.0):
    """Taps 1 m apart and 1 m from the inlet, each line as C01."""
    viscosity = kinematic_viscosity(20)
    law = PipeLaw(bore, viscosity)
    lines = [
        Line(
            LineShape(
                emitters=50,
                spacing=0.3,
                barb=0.0,
                slope=rise,
                bore=0.0136,
                viscosity=viscosity,
                tap_k=0.0,
                law=EmitterLaw(0.632 / LPH, 0.5),
                first_at=1.0,
            ),
            highest=2.0,
        )
        for rise in (slope, -slope)[:sides]
    ]
    return Network(
        position="mid_side",
        lines_run="length",
        line_length=15.0,
        spacing=1.0,
        taps=tuple(float(i + 1) for i in range(taps)),
        ground=(0.0,) * taps,
        rises=(0.0,) * taps,
        pieces=tuple(Piece(1.0, law) for _ in range(taps)),
        sides=tuple(lines),
        down=Piece(0.0, law),
        stand=0.0,
        bore=bore,
    )


@pytest.mark.parametrize(
    ("row_id", "taps", "bore", "sides", "head"),
    [
        ("C10", 10, 0.0218, 2, 1.0),
        ("C11", 10, 0.0282, 2, 1.0),
        ("C12", 10, 0.0218, 1, 1.0),
        ("C13", 20, 0.0282, 2, 1.5),
    ],
)
def test_submains_with_lines(vectors, row_id, taps, bore, sides, head):
    answer = rows(vectors, row_id)[0]["answer"]
    state = solve(example_network(taps, bore, sides), head)
    flows = [flow * LPH for line in state.emitter_flows for flow in line]
    first, last = re.search(r"first ([\d.]+) last ([\d.]+)", answer).groups()
    assert state.flow * LPH == pytest.approx(number(answer, "Q="), rel=1e-3)
    assert state.tap_heads[0] == pytest.approx(float(first), abs=0.002)
    assert state.tap_heads[-1] == pytest.approx(float(last), abs=0.002)
    assert flow_variation(min(flows), max(flows)) == pytest.approx(number(answer, "qvar"), abs=0.05)
    assert low_quarter_uniformity(flows) == pytest.approx(number(answer, "DUlq"), abs=0.05)


@pytest.mark.parametrize(("row_id", "head"), [("C14", 1.0), ("C15", 0.5), ("C16", 2.0)])
def test_cross_slope(vectors, row_id, head):
    """C14 to C16, from EPANET: 0.1 point as the file asks."""
    answer = rows(vectors, row_id)[0]["answer"]
    state = solve(example_network(10, 0.0218, 2, slope=0.01), head)
    flows = [flow for line in state.emitter_flows for flow in line]
    variation = flow_variation(min(flows), max(flows))
    assert variation == pytest.approx(number(answer, "qvar"), abs=0.1)
    assert low_quarter_uniformity(flows) == pytest.approx(number(answer, "DUlq"), abs=0.1)
    assert christiansen_uniformity(flows) == pytest.approx(number(answer, "CU"), abs=0.1)


def open_tank(flow, fall_from, fall_to, area):
    """Emptying with heads counted from where flow would end."""
    body = TankBody("upright", area * fall_from, fall_from, fall_to)
    return emptying(flow, 0.0, body).minutes[-1] * 60


@pytest.mark.parametrize(("row_id", "exponent"), [("C17", 0.5), ("C18", 0.7), ("C19", 1.0)])
def test_emptying_by_closed_form(vectors, row_id, exponent):
    """0.1 % as the file asks."""
    hours = float(rows(vectors, row_id)[0]["answer"].split()[0])
    seconds = open_tank(lambda head: 0.632 / 3600 * head**exponent, 2.0, 1.0, 1.0)
    assert seconds / 3600 == pytest.approx(hours, rel=1e-3)


@pytest.mark.parametrize("row_id", ["C20", "C21", "C22", "C23"])
def test_emptying_through_filter_and_pipe(vectors, row_id):
    """0.5 % as the file asks."""
    row = rows(vectors, row_id)[0]
    screen, law = number(row["inputs"], "K_f="), PipeLaw(0.0218, kinematic_viscosity(20))

    def flow(head):
        low, high = 0.0, 0.632 / 3600 * math.sqrt(head)
        for _ in range(60):
            middle = 0.5 * (low + high)
            lost = law.loss(middle, 10.0) + screen * (3600 * middle) ** 2
            used = (3600 * middle / 0.632) ** 2
            low, high = (middle, high) if lost + used < head else (low, middle)
        return 0.5 * (low + high)

    assert 3600 * flow(2.0) == pytest.approx(number(row["answer"], "Q at 2 m"), rel=5e-3)
    seconds = open_tank(flow, 2.0, 1.0, 1.0)
    assert seconds / 3600 == pytest.approx(number(row["answer"], "t="), rel=5e-3)


def test_textbook_tanks_with_a_hole():
    """P10: 16 m2, 10 m, 5 cm2, c 0.62: 7.37e4 s. P11: 4 m bore, 2 m, hole radius 0.03 m: 831.4 s to
    half depth, 2838.5 s to empty (0.1 %)."""
    seconds = open_tank(lambda h: 0.62 * 5e-4 * math.sqrt(2 * 9.81 * h), 10.0, 0.0, 16.0)
    assert seconds == pytest.approx(7.37e4, rel=1e-3)

    def hole(head):
        return math.pi * 0.03**2 * math.sqrt(2 * 9.80665 * head)

    assert open_tank(hole, 2.0, 1.0, 4 * math.pi) == pytest.approx(831.4, rel=1e-3)
    assert open_tank(hole, 2.0, 0.0, 4 * math.pi) == pytest.approx(2838.5, rel=1e-3)


def test_field_sheet():
    """C24: sixteen catches of six minutes."""
    caught = [62, 60, 61, 59, 60, 58, 57, 56, 58, 57, 55, 54, 57, 55, 52, 41]
    assert catch_flow(sum(caught) / 16, 6) == pytest.approx(0.564, abs=5e-4)
    assert low_quarter_uniformity(caught) == pytest.approx(89.6, abs=0.1)
    assert christiansen_uniformity(caught) == pytest.approx(94.4, abs=0.1)
    assert statistical_uniformity(caught) == pytest.approx(91.3, abs=0.1)
    assert absolute_uniformity(caught) == pytest.approx(90.6, abs=0.1)
    assert flow_variation(min(caught), max(caught)) == pytest.approx(33.9, abs=0.1)


def test_catches_of_one_and_two_minutes():
    """P12: 17 mL in 1 min is 1.02 L/h, 34 mL in 2 min as well (Western Australia DPIRD, read)."""
    assert catch_flow(17, 1) == pytest.approx(1.02)
    assert catch_flow(34, 2) == pytest.approx(1.02)


def test_design_uniformity(vectors):
    """C30 to C34: EP405.1's formula, arithmetic."""
    found = rows(vectors, "C3[0-4]")
    assert len(found) == 5
    for row in found:
        inputs = row["inputs"]
        computed = emission_uniformity(
            number(inputs, "Cv="), number(inputs, "qmin/qavg="), 1.0, number(inputs, "e'=")
        )
        assert computed == pytest.approx(float(row["answer"].split()[0]), abs=0.01)


def test_allowed_head_difference():
    """C35: EU 90 %, Cv 0.05, x 0.5, 1 m: 0.191 m."""
    assert allowed_head_difference(90, 0.05, 0.5, 1.0) == pytest.approx(0.191, abs=1e-3)
