"""The chain of one day's number: every step follows from those before it."""

import datetime
import importlib.resources

import pytest

import service.scenario
from service.sizing.climate import card_climate, read_districts, unknown_climate
from service.sizing.explain import (
    Quantity,
    Step,
    explain_day,
    explain_uniformity,
    explain_valve,
    steps_as_text,
)
from service.sizing.tables import standard_tables
from service.sizing.watering import Case, day_need, kc_curve

TABLES = standard_tables()
FOLDER = importlib.resources.files(service.scenario)
DISTRICTS = read_districts((FOLDER / "districts.csv").read_text(encoding="utf-8"), "districts.csv")
TODAY = datetime.date(2026, 11, 25)


def case(climate, **changes):
    usual = {
        "crop": TABLES.crop("tomato"),
        "soil": TABLES.soil("loam"),
        "climate": climate,
        "area_m2": 400.0,
        "emission_uniformity": 0.85,
        "planted": datetime.date(2026, 9, 1),
    }
    return Case(**(usual | changes))


def values(step):
    return {quantity.name: quantity.value for quantity in step.inputs}


@pytest.mark.parametrize("key", DISTRICTS)
@pytest.mark.parametrize("salt", [0.0, 5.0])
def test_the_last_step_is_the_days_answer(key, salt):
    plot = case(DISTRICTS[key].climate, water_ec_ds_m=salt)
    steps = explain_day(plot, TODAY, DISTRICTS[key])
    assert steps[-1].result.value == day_need(plot, kc_curve(plot), TODAY).gross_l_day
    last = values(steps[-1])
    by_hand = last["net"] * last["area"] / (last["EU"] * (1 - last["LR used"]))
    assert steps[-1].result.value == pytest.approx(by_hand)


def test_each_input_that_has_a_step_of_its_own_is_its_result():
    plot = case(DISTRICTS["velmora"].climate, water_ec_ds_m=5.0)
    known = {}
    for step in explain_day(plot, TODAY, DISTRICTS["velmora"]):
        for name, value in values(step).items():
            if name in known:
                assert value == pytest.approx(known[name]), (step.name, name)
        known[step.result.name] = step.result.value
    assert {"Ra", "Rn", "ETo", "Kc", "ETc", "rain counted", "net", "LR", "gross"} <= set(known)


def test_every_step_has_units_an_equation_and_a_source():
    for key, district in DISTRICTS.items():
        for step in explain_day(case(district.climate), TODAY, district):
            assert step.equation, key
            assert step.source, key
            assert all(quantity.unit for quantity in (*step.inputs, step.result)), key


@pytest.mark.parametrize(
    ("key", "equation"),
    [("velmora", "eq. 6"), ("aruneth", "eq. 52"), ("kotsindo", "given in the table")],
)
def test_how_eto_was_obtained_is_told(key, equation):
    steps = explain_day(case(DISTRICTS[key].climate), TODAY, DISTRICTS[key])
    (month,) = [step for step in steps if step.name == "ETo of the month"]
    assert month.equation == equation
    assert month.result.value == DISTRICTS[key].climate.eto_mm_day[10]


def test_without_a_district_the_chain_begins_at_the_figures_given():
    steps = explain_day(case(card_climate(5)), TODAY)
    assert steps[0].note == "figures given on the card"
    assert [step.name for step in steps[-2:]] == ["net need", "litres at the valve"]


def test_before_planting_there_is_only_weather():
    steps = explain_day(case(card_climate(5), planted=datetime.date(2027, 1, 1)), TODAY)
    assert [step.name for step in steps] == ["ETo of the day"]


def test_growing_weeks_name_the_sum_of_plant_and_strip():
    steps = explain_day(case(card_climate(5), planted=datetime.date(2026, 10, 5)), TODAY)
    names = {step.name: step for step in steps}
    assert names["crop coefficient, development stage"].equation == "eqs 69, 75, 76"
    assert names["wetted strip under seedlings"].result.value == pytest.approx(0.46)


def test_every_factor_is_named_even_one_that_is_not_used():
    steps = explain_day(case(card_climate(5), water_ec_ds_m=3.0), TODAY)
    named = {quantity.name for step in steps for quantity in (*step.inputs, step.result)}
    assert {"wetted share", "cover factor used", "EU", "LR used", "share reached"} <= named


def test_uniformity_by_hand():
    """(1 - 1.27 x 0.05) 0.9 / 1.0 = 0.84285."""
    step = explain_uniformity(0.9, 1.0, 0.05, 0.84285)
    inputs = values(step)
    by_hand = (1 - 1.27 * inputs["cv of new emitters"]) * inputs["q_min"] / inputs["q_mean"]
    assert step.result.value == pytest.approx(by_hand)


def test_fills_and_minutes_follow_from_the_litres():
    fills, minutes = explain_valve(900.0, 450.0, 80.0)
    assert fills.result.value == 2
    assert minutes.result.value == 80
    assert len(explain_valve(900.0, 450.0, None)) == 1
    assert len(explain_valve(900.0, 0.5, None)) == 1
    assert explain_valve(900.0, 0.0, None) == ()


def test_text_numbers_the_steps_and_names_their_sources():
    text = steps_as_text(explain_day(case(card_climate(5)), TODAY))
    assert text.startswith(" 1. ETo of the day: ETo 5 mm/day\n    by six waves")
    assert text.count("source: ") == text.count("\n    by ")


# --- the figures of each step, by name and unit --------------------------------------------------

BANGKOK = {
    "district_id": "bkk", "district_name": "Bangkok", "country": "TH", "lat": "13.73",
    "lon": "100.5", "elev_m": "2", "coast": "yes", "tmin_c": "25.6", "tmax_c": "34.8",
    "ea_kpa": "2.85", "sun_h": "8.5", "wind_m_s": "2", "wind_height_m": "2", "rain_mm": "60",
    "eto_mm_day": "", "source": "FAO-56 example 17",
}  # fmt: skip
APRIL = datetime.date(2027, 4, 15)


def bangkok(**changes):
    """April of FAO-56 example 17, March at its 29.2 °C.

    May at 31.2 makes eq. 43 (months on both sides) give the 0.14 that the paper has by eq. 44.
    """
    rows = [BANGKOK | {"month": str(month)} | changes for month in range(1, 13)]
    rows[2] |= {"tmin_c": "24.6", "tmax_c": "33.8"}
    rows[4] |= {"tmin_c": "26.6", "tmax_c": "35.8"}
    lines = [",".join(rows[0]), *(",".join(row.values()) for row in rows)]
    return read_districts("\n".join(lines), "bangkok.csv")["bkk"]


def told(step):
    return {quantity.name: (quantity.value, quantity.unit) for quantity in step.inputs}


def result(step):
    return step.result.name, step.result.value, step.result.unit


def about(value, unit, within=0.01):
    return pytest.approx(value, abs=within), unit


def test_the_weather_of_a_worked_example_is_told_as_the_handbook_prints_it():
    """FAO-56 example 17, p. 70 and 71: Ra 38.06, Rs 22.65, Rn 14.33, es 4.42, G 0.14, ETo 5.72."""
    place = bangkok()
    above, net, month, *_ = explain_day(case(place.climate), APRIL, place)
    assert above.name == "radiation above the air"
    assert told(above) == {"latitude": about(13.73, "degrees"), "day of the year": (105, "-")}
    assert result(above) == ("Ra", *about(38.06, "MJ/m2/day"))
    assert net.name == "net radiation"
    assert told(net) == {
        "Ra": about(38.06, "MJ/m2/day"),
        "Rs": about(22.65, "MJ/m2/day"),
        "ea": (2.85, "kPa"),
    }
    assert result(net) == ("Rn", *about(14.33, "MJ/m2/day", 0.02))
    assert told(month) == {
        "Tmin": (25.6, "°C"),
        "Tmax": (34.8, "°C"),
        "es": about(4.42, "kPa"),
        "ea": (2.85, "kPa"),
        "wind at 2 m": about(2.0, "m/s"),
        "Rn": about(14.33, "MJ/m2/day", 0.02),
        "G": about(0.14, "MJ/m2/day"),
        "elevation": (2.0, "m"),
    }
    assert result(month) == ("ETo of the month", *about(5.72, "mm/day"))
    assert month.note == ""


def test_wind_that_eq_6_raises_is_told_as_raised():
    """FAO-56 p. 63: under 0.5 m/s counts as 0.5. What was filled in is told too."""
    still = bangkok(wind_m_s="0.2", wind_height_m="")
    month = explain_day(case(still.climate), APRIL, still)[2]
    assert told(month)["wind at 2 m"] == (0.5, "m/s")
    assert month.note == "height of the wind: taken as 2 m"


def test_eto_from_temperature_alone_by_hand():
    """0.0023 (30.2 + 17.8) sqrt(9.2) 0.408 x 38.06 = 5.20 mm/day; April's own temperatures."""
    place = bangkok(ea_kpa="", sun_h="", wind_m_s="", wind_height_m="")
    month = explain_day(case(place.climate), APRIL, place)[0]
    assert told(month) == {"Tmin": (25.6, "°C"), "Tmax": (34.8, "°C")}
    assert result(month) == ("ETo of the month", *about(5.20, "mm/day"))
    assert month.note == "only temperature known"


@pytest.mark.parametrize(
    ("source", "shown"), [("the ministry", "the ministry"), ("", "the district's table")]
)
def test_a_figure_of_the_table_names_the_tables_own_source(source, shown):
    place = bangkok(eto_mm_day="5.7", source=source)
    month = explain_day(case(place.climate), APRIL, place)[0]
    assert month.source == shown
    assert result(month) == ("ETo of the month", 5.7, "mm/day")


def test_the_first_weeks_wetting_is_of_the_middle_of_the_stage():
    """Tomato: 30 days of first stage (FAO-56 Table 11), so the 15th day after planting.

    Loam holds 19 mm that can evaporate, 9 of them readily (Table 19, the middle of the ranges).
    """
    climate = card_climate([3, 3, 4, 5, 6, 7, 8, 7, 6, 5, 4, 3])
    names = {step.name: step for step in explain_day(case(climate), datetime.date(2026, 9, 9))}
    assert told(names["wetted strip under seedlings"]) == {
        "wetted share": (0.4, "-"),
        "ETo half way through the stage": (climate.eto_on(datetime.date(2026, 9, 16)), "mm/day"),
        "days between waterings": (1.0, "days"),
        "TEW": (19.0, "mm"),
        "REW": (9.0, "mm"),
    }
    assert names["wetted strip under seedlings"].result.name == "Kc initial, drip"


def coefficient(plot, day):
    (step,) = [s for s in explain_day(plot, day) if s.name.startswith("crop coefficient")]
    return step


def test_a_coefficient_says_from_which_points_of_the_curve_it_comes():
    """Tomato, FAO-56 Table 12: Kc mid 1.15, Kc end 0.80; 25 November is day 86 of 1 September."""
    step = coefficient(case(card_climate(5)), TODAY)
    curve = told(step)
    assert list(curve) == ["day since planting", "Kc initial, drip", "Kc mid", "Kc end"]
    assert curve["day since planting"] == (86, "-")
    assert curve["Kc mid"] == (1.15, "-")
    assert curve["Kc end"] == (0.8, "-")
    assert step.equation == "eq. 66"
    assert "tomato: FAO-56 Table 12 (p.110-113) (read)" in step.source
    # A tree that is the same all year has one coefficient and no days to count.
    tree = case(card_climate(5), crop=TABLES.crop("citrus"), planted=datetime.date(2020, 5, 5))
    steps = explain_day(tree, TODAY)
    assert list(told(coefficient(tree, TODAY))) == ["Kc mid"]
    assert "wetted strip under seedlings" not in {step.name for step in steps}


def test_a_coefficient_corrected_for_the_wind_says_so():
    """FAO-56 eqs 62 and 65 need wind and humidity, which the district has and the card has not."""
    assert coefficient(case(bangkok().climate), TODAY).equation == "eq. 66, 62, 65"


def test_only_a_full_crop_is_told_to_be_on_the_low_side():
    low = "under daily drip the dual form gives up to a tenth more"
    grown = coefficient(case(card_climate(5)), TODAY).note
    assert grown == f"{TABLES.crop('tomato').sources['kc'].note}; {low}"
    late = case(card_climate(5), planted=TODAY - datetime.timedelta(days=125))
    assert coefficient(late, TODAY).name == "crop coefficient, late stage"
    assert coefficient(late, TODAY).note == grown
    young = case(card_climate(5), planted=datetime.date(2026, 10, 5))
    assert coefficient(young, TODAY).note == TABLES.crop("tomato").sources["kc"].note


def test_rain_that_counts_by_hand():
    """November's 4 mm a day: 121.75 mm a month, 0.8 P - 24 = 73.4 mm dependable, 2.4115 a day.

    Mid-November, so no other month's rain; day 76 of a tomato is of its mid stage (from day 71),
    whose roots reach all of it.
    """
    climate = card_climate(5, [*[0.0] * 10, 4.0, 0.0])
    middle = datetime.date(2026, 11, 15)
    names = {step.name: step for step in explain_day(case(climate), middle)}
    rain = names["rain that counts"]
    # Noon of the 15th is half a day before the middle of a month of 30 days.
    dependable = 2.4115 * (1 - 0.5 / 30)
    assert told(rain) == {
        "rain of a mean month": (4.0, "mm/day"),
        "dependable rain": about(dependable, "mm/day", 0.0001),
        "share reached": (1.0, "-"),
    }
    assert result(rain) == ("rain counted", *about(dependable, "mm/day", 0.0001))
    assert told(names["crop evapotranspiration"]) == {
        "Kc": (1.15, "-"),
        "ETo": about(5.0, "mm/day", 1e-9),
    }
    assert told(names["net need"]) == {
        "ETc": about(5.75, "mm/day", 1e-9),
        "rain counted": about(dependable, "mm/day", 0.0001),
    }
    assert result(names["net need"]) == ("net", *about(5.75 - dependable, "mm/day", 0.0001))


@pytest.mark.parametrize(("salt", "share"), [(0.5, 0.02081), (2.0, 0.08326), (5.0, 0.20814)])
def test_salt_is_washed_down_from_a_tenth_on(salt, share):
    """Tomato (0.9 dS/m, the lower of Table 23, and 9 %) gives nothing at 0.9 + 100 / 9 = 12.01.

    LR = ECw / 24.02. A tenth or less is told, and that it is covered, but not added:
    400 m2 x 5.75 mm / 0.85 is all that leaves the valve.
    """
    names = {s.name: s for s in explain_day(case(card_climate(5), water_ec_ds_m=salt), TODAY)}
    leaching = names["water to wash salt down"]
    assert told(leaching) == {"ECw": (salt, "dS/m"), "maxECe": about(12.01, "dS/m")}
    assert result(leaching) == ("LR", *about(share, "-", 0.00002))
    small = share <= 0.1
    assert leaching.note == ("a tenth or less is covered by uneven watering" if small else "")
    litres = names["litres at the valve"]
    used = 0.0 if small else share
    assert told(litres)["LR used"] == about(used, "-", 0.00002)
    assert result(litres) == (
        "gross", *about(400 * 5.75 / (0.85 * (1 - used)), "L/day", 0.1)
    )  # fmt: skip


def test_cover_is_told_to_change_nothing():
    (cover,) = [s for s in explain_day(case(card_climate(5)), TODAY) if s.name == "ground cover"]
    assert told(cover) == {"cover factor": (1.0, "-")}
    assert result(cover) == ("cover factor used", 1.0, "-")


def test_flows_and_litres_are_told_with_their_units():
    evenness = explain_uniformity(0.9, 1.0, 0.05, 0.84285)
    assert told(evenness) == {
        "q_min": (0.9, "L/h"),
        "q_mean": (1.0, "L/h"),
        "cv of new emitters": (0.05, "-"),
    }
    assert result(evenness) == ("EU", 0.84285, "-")
    fills, minutes = explain_valve(900.0, 450.0, 80.0)
    assert told(fills) == {"gross": (900.0, "L/day"), "one full tank": (450.0, "L")}
    assert result(fills) == ("fills", 2.0, "a day")
    assert told(minutes) == {"gross": (900.0, "L/day"), "fills": (2.0, "a day")}
    assert result(minutes) == ("minutes", 80.0, "min/day")


def test_every_step_of_a_chain_with_its_layout_can_be_checked():
    """No step without a name, equation, source, or a value and unit for each of its figures."""
    place = bangkok()
    steps = (
        *explain_day(case(place.climate, water_ec_ds_m=5.0), APRIL, place),
        explain_uniformity(0.9, 1.0, 0.05, 0.84285),
        *explain_valve(900.0, 450.0, 80.0),
    )
    for step in steps:
        assert all(isinstance(word, str) and word for word in (step.name, step.equation))
        assert isinstance(step.source, str)
        assert step.source
        assert isinstance(step.note, str)


def test_text_leaves_out_what_a_step_does_not_have():
    two, eu = Quantity("ETo", 4.56789, "mm/day"), Quantity("EU", 0.85, "-")
    full = Step("net need", "eq. 58", (two, eu), Quantity("net", 12.5, "mm/day"), "here", "mind")
    bare = Step("as given", "given", (), eu, "there")
    assert steps_as_text((full, bare)).split("\n") == [
        " 1. net need: net 12.5 mm/day",
        "    by eq. 58; from ETo 4.568 mm/day, EU 0.85",
        "    source: here",
        "    note: mind",
        " 2. as given: EU 0.85",
        "    by given",
        "    source: there",
    ]


# --- the words and units of every step -----------------------------------------------------------

CHAIN = """\
radiation above the air: Ra [MJ/m2/day]
  eqs 21 to 25
  latitude [degrees], day of the year [-]
  FAO-56 (1998), read
net radiation: Rn [MJ/m2/day]
  eqs 37 to 40
  Ra [MJ/m2/day], Rs [MJ/m2/day], ea [kPa]
  FAO-56 (1998), read
ETo of the month: ETo of the month [mm/day]
  eq. 6
  Tmin [°C], Tmax [°C], es [kPa], ea [kPa], wind at 2 m [m/s], Rn [MJ/m2/day], G
    [MJ/m2/day], elevation [m]
  FAO-56 (1998), read
ETo of the day: ETo [mm/day]
  six waves through twelve months
  ETo of the month [mm/day]
  after Epstein 1991, from memory, not verified
  months of the district
wetted strip under seedlings: Kc initial, drip [-]
  eqs 60, 7-1 to 7-4
  wetted share [-], ETo half way through the stage [mm/day], days between waterings
    [days], TEW [mm], REW [mm]
  FAO-56 (1998), read; wetted share: Table 20, upper end
crop coefficient, mid stage: Kc [-]
  eq. 66, 62, 65
  day since planting [-], Kc initial, drip [-], Kc mid [-], Kc end [-]
  FAO-56 (1998), read; tomato: FAO-56 Table 12 (p.110-113) (read)
  Kc ini is the group value; Kc end printed 0.70-0.90, 0.80 is the group value; staked
    1.5-2 m: Kc mid 1.20 (note 2); under daily drip the dual form gives up to a tenth more
ground cover: cover factor used [-]
  none applied
  cover factor [-]
  FAO-56 ch. 9 (1998), read, is for sparse stands
  seedlings' and growing plants' Kc already mean small cover; young trees have rows of
    their own in the table
crop evapotranspiration: ETc [mm/day]
  eq. 58
  Kc [-], ETo [mm/day]
  FAO-56 (1998), read
rain that counts: rain counted [mm/day]
  dependable rain x share of the ground that roots reach
  rain of a mean month [mm/day], dependable rain [mm/day], share reached [-]
  FAO/AGLW form, or the table's dependable rain by the SCS form, from memory, not
    verified; share: our reasoning, no source
net need: net [mm/day]
  ETc - rain counted, not below 0
  ETc [mm/day], rain counted [mm/day]
  FAO-56 (1998), read
water to wash salt down: LR [-]
  ECw / (2 maxECe)
  ECw [dS/m], maxECe [dS/m]
  Keller and Bliesner 1990, from memory, not verified; maxECe by FAO-56 eq. 89
  a tenth or less is covered by uneven watering
litres at the valve: gross [L/day]
  net x area / (EU (1 - LR))
  net [mm/day], area [m2], EU [-], LR used [-]
  1 mm on 1 m2 is 1 litre: FAO-56 Table 1, read; Keller and Bliesner 1990, from memory,
    not verified
emission uniformity: EU [-]
  (1 - 1.27 cv) q_min / q_mean
  q_min [L/h], q_mean [L/h], cv of new emitters [-]
  ASAE EP405.1 after Keller and Karmeli 1974, from memory, not verified; flows: network of
    the plan: docs/network.md
  worst block, tank full
tank fills: fills [a day]
  gross / litres of one full tank down to its outlet
  gross [L/day], one full tank [L]
  network of the plan: docs/network.md
open valve: minutes [min/day]
  integral of tank area x dH / Q(H), from full, filled again when empty
  gross [L/day], fills [a day]
  network of the plan: docs/network.md
  all blocks and sets together
"""
"""The whole chain of a salty plot of the invented valley: of each step its result, its equation,
what goes in, on whose word, and a note. A line indented further goes on with the one before.
"""


def in_words(step):
    def named(quantity):
        return f"{quantity.name} [{quantity.unit}]"

    yield f"{step.name}: {named(step.result)}"
    inputs = ", ".join(named(quantity) for quantity in step.inputs)
    yield from (f"  {line}" for line in (step.equation, inputs, step.source, step.note) if line)


def test_every_step_in_its_words_and_units():
    district = DISTRICTS["velmora"]
    steps = (
        *explain_day(case(district.climate, water_ec_ds_m=2.0), TODAY, district),
        explain_uniformity(1.0, 1.2, 0.05, 0.8),
        *explain_valve(100.0, 50.0, 30.0),
    )
    told = [line for step in steps for line in in_words(step)]
    assert told == CHAIN.replace("\n    ", " ").splitlines()


def test_a_place_of_which_nothing_is_known_says_where_its_figures_are_from():
    first, *_ = explain_day(case(unknown_climate()), TODAY)
    assert first.note == "nothing known of the place: upper end of FAO-56 Table 2"
