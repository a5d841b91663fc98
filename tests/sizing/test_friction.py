import math

import fluids
import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.sizing.friction import (
    ROUGHNESS_M,
    PipeLaw,
    christiansen_factor,
    friction_factor,
    reynolds_number,
)
from service.sizing.water import GRAVITY, kinematic_viscosity

SMOOTH = ROUGHNESS_M / 0.0136
NU_20 = kinematic_viscosity(20)


@pytest.mark.parametrize("reynolds", [1, 128, 500, 1999])
def test_laminar_factor_is_that_of_fluids(reynolds):
    assert friction_factor(reynolds, SMOOTH) == pytest.approx(
        fluids.friction.friction_laminar(reynolds), rel=1e-12
    )


@pytest.mark.parametrize("reynolds", [4001, 6000, 1e4, 5e4, 1e5])
def test_turbulent_factor_is_swamee_jain_in_fluids(reynolds):
    """fluids prints Swamee and Jain as (6.97/Re)^0.9; EPANET rounds it to 5.74/Re^0.9: 0.1 %."""
    theirs = fluids.friction.Swamee_Jain_1976(reynolds, SMOOTH)
    assert friction_factor(reynolds, SMOOTH) == pytest.approx(theirs, rel=1e-3)


@pytest.mark.parametrize("reynolds", [5000, 1e4, 1e5])
def test_turbulent_factor_is_near_colebrook(reynolds):
    """Swamee and Jain give 1 % on Colebrook's equation within their range, 3 % at its low end."""
    theirs = fluids.friction.Colebrook(reynolds, SMOOTH)
    assert friction_factor(reynolds, SMOOTH) == pytest.approx(theirs, rel=0.03)


def test_transition_meets_both_ends_and_dips():
    """P09: EPANET 2.2 User Manual, Analysis Algorithms: 0.032 at Re 2000; dips near Re 2400."""
    assert friction_factor(2000.0001, SMOOTH) == pytest.approx(0.032, rel=1e-4)
    assert friction_factor(3999.999, SMOOTH) == pytest.approx(
        friction_factor(4000.001, SMOOTH), rel=1e-4
    )
    assert friction_factor(2400, SMOOTH) == pytest.approx(0.0291, abs=2e-4)


def test_factor_by_regime_as_tabulated(vectors):
    """Column of the EPANET law at 1.5 micrometres and 13.6 mm; computed apart, four digits."""
    for row in vectors("hydraulics_friction_factor.csv"):
        expected = float(row["EPANET22_regime_eps1.5um_D13.6mm"])
        assert friction_factor(float(row["Re"]), SMOOTH) == pytest.approx(expected, abs=2e-5)


def test_gradient_as_tabulated(vectors):
    """Metres per 100 m by bore and flow at 20 and 30 °C; viscosities differ by 0.02 %."""
    for row in vectors("hydraulics_friction_gradient.csv"):
        flow = float(row["flow_L_h"]) / 3.6e6
        for column, celsius in (
            ("J_m_per_100m_EPANET_regime_20C", 20),
            ("J_m_per_100m_EPANET_regime_30C", 30),
        ):
            law = PipeLaw(float(row["bore_mm"]) / 1000, kinematic_viscosity(celsius))
            assert 100 * law.gradient(flow) == pytest.approx(float(row[column]), rel=2e-3, abs=1e-4)


def test_law_agrees_with_the_factor_in_every_regime():
    law = PipeLaw(0.0136, NU_20)
    for reynolds in (100, 1999, 2001, 3000, 3999, 4001, 30_000):
        flow = reynolds * math.pi * 0.0136 * NU_20 / 4
        assert reynolds_number(flow, 0.0136, NU_20) == pytest.approx(reynolds)
        speed = law.speed(flow)
        head = friction_factor(reynolds, SMOOTH) / 0.0136 * speed**2 / (2 * GRAVITY)
        assert law.gradient(flow) == pytest.approx(head, rel=1e-9)


@given(
    st.floats(0.004, 0.06),
    st.floats(1e-9, 2e-3),
    st.floats(1e-4, 0.5),
    st.floats(5, 45),
)
def test_more_flow_always_loses_more(bore, flow, more, celsius):
    law = PipeLaw(bore, kinematic_viscosity(celsius))
    assert law.gradient(flow * (1 + more)) > law.gradient(flow)


def test_microtube_of_a_metre():
    """C40: 1.2 mm x 1.0 m gives 1.76 L/h at 1 m, with 1.5 velocity heads (own solver, 1 %)."""
    law = PipeLaw(0.0012, NU_20)
    assert law.loss(1.76 / 3.6e6, 1.0, 1.5) == pytest.approx(1.0, rel=0.015)


@pytest.mark.parametrize(("inches", "gallons"), [(5 / 8, 1), (7 / 8, 2)])
def test_flushing_flow_at_a_foot_a_second(inches, gallons):
    """P15, P16: 1 and 2 US gal/min at 1 ft/s (University of California, Maintenance of
    Microirrigation Systems, read; printed to whole gallons, so 10 %)."""
    law = PipeLaw(inches * 0.0254, NU_20)
    assert law.speed(gallons * 3.785e-3 / 60) == pytest.approx(0.3048, rel=0.10)


def test_christiansen_factor_as_tabulated(vectors):
    """Exact sums computed apart; the two-digit column is printed in handbooks (from memory)."""
    for row in vectors("hydraulics_f_factor.csv"):
        outlets = int(row["n_outlets"])
        for m in ("1.00", "1.75", "1.852", "2.00"):
            exact = christiansen_factor(outlets, float(m))
            half = christiansen_factor(outlets, float(m), first_at_half=True)
            assert exact == pytest.approx(float(row[f"F_exact_m{m}"]), abs=6e-5)
            assert half == pytest.approx(float(row[f"F_first_outlet_half_spacing_m{m}"]), abs=6e-5)
        printed = row["F_printed_two_digit_m1.75_MEMORY"]
        if printed:
            assert christiansen_factor(outlets, 1.75) == pytest.approx(float(printed), abs=0.01)


def test_a_line_without_outlets_has_no_factor():
    with pytest.raises(ValueError, match="one outlet or more"):
        christiansen_factor(0, 1.75)
