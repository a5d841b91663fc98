import pytest

from service.errors import OutOfRange
from service.sizing.water import GRAVITY, density, dynamic_viscosity, kinematic_viscosity


def test_viscosity_and_density_agree_with_the_steam_tables(vectors):
    """IAPWS values evaluated with iapws 1.5.5: 0.5 % from 10 to 45 °C, 1.2 % at 5 °C."""
    for row in vectors("hydraulics_viscosity.csv"):
        celsius = float(row["temp_C"])
        close = 0.005 if celsius >= 10 else 0.012
        assert dynamic_viscosity(celsius) == pytest.approx(
            float(row["dyn_visc_Pa_s_IAPWS"]), rel=close
        )
        assert kinematic_viscosity(celsius) == pytest.approx(
            float(row["kin_visc_m2_s_IAPWS"]), rel=close
        )
        assert density(celsius) == pytest.approx(float(row["density_kg_m3"]), rel=3e-4)


def test_one_metre_of_water_in_other_units():
    """C39: 9.79 kPa, 0.0979 bar, 1.42 psi at 20 °C (arithmetic, 0.5 %)."""
    pascals = density(20) * GRAVITY * 1.0
    assert pascals / 1000 == pytest.approx(9.79, rel=0.005)
    assert pascals / 6894.757 == pytest.approx(1.42, rel=0.005)


@pytest.mark.parametrize("celsius", [4.9, 45.1, float("nan")])
def test_outside_liquid_field_water(celsius):
    with pytest.raises(OutOfRange, match="water temperature"):
        kinematic_viscosity(celsius)
