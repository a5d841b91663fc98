"""Callers whose plot lies already, and what leads to screens that only a measurement opens."""

import pytest

PLACE = {"language": "en", "district": "kotsindo"}
LAID = {
    **PLACE,
    "laid": "told",
    "laid_lines": 15,
    "laid_line_length_m": 20,
    "laid_minutes": 0,
    "crop": "tomato",
    "weeks_since_planting": 5,
    "tank_volume_l": 500,
    "stand_height_m": 1.5,
}
"""15 lines of 20 m, never timed: about 64 min for a full tank, 48 mL in 6 min, 44 s for 5 L."""
STEEP = {**LAID, "stand_height_m": 0, "rise_along_length_m": 5, "rise_along_width_m": 0}
CLIMBING = {**LAID, "stand_height_m": 0.5, "rise_along_length_m": 1.2, "rise_along_width_m": 0}
TINY = {**LAID, "laid_lines": 1, "laid_line_length_m": 1}
FULL = {"more_crops": [{"crop": "onion", "lines": 4, "planted": "2026-11-01"}]}
WRONG, CHECK, MY_PLOT = "Something is wrong", "Check the evenness", "My plot is laid"

LAID_FAULTS = """
2 2 1 1 48 | 2 2 1 1 90 | 2 2 1 1 20 5 41 | 2 2 1 1 20 5 170 | 2 2 1 1 20 5 170 45
2 2 1 1 20 5 170 168 | 2 2 1 1 20 5 85 84 | 2 2 1 4
2 3 1 1 4 50 48 | 2 3 1 1 4 50 20 5 44 | 2 3 1 1 4 50 20 5 300 | 2 3 1 1 4 50 20 5 108
2 3 1 1 4 0 0 5 0 | 2 4 1 16 | 2 4 1 4 5 0 | 2 5 9 | 2 5 1 | 2 1 1 | 2 1 1 2 2 1 | 2 1 4
3 1 1 4 | 3 1 1 4 8 | 3 1 1 4 8 300 | 3 1 1 4 8 48 | 3 4 5 | 3 4 0
4 1 20 1 0 | 4 1 20 1 5 | 4 1 64 | 4 2 1 150 | 4 2 1 150 1 | 4 2 1 150 1 1
"""
"""What is seen, looked at and measured on this plot, one way to a screen."""
FAULTS = [
    *((way, LAID) for way in LAID_FAULTS.replace("\n", "|").split("|") if way.strip()),
    ("2 3 1 1 4 50 33", CLIMBING),
    ("2 1 1", STEEP),
    ("2 2 1 1", PLACE),
]
FOUR, THREE = "50 50 50 50", "50 50 50"
SIXTEEN, EIGHTEEN = ("1", "2", "1", "1", "1"), ("1", "3", "1", "1", "1")
CHECKS = [
    *((*SIXTEEN, *[FOUR] * row, THREE) for row in range(4)),
    (*SIXTEEN, *[FOUR] * 4),
    (*SIXTEEN, *["0 0 0 0"] * 4),
    *((*EIGHTEEN, *[THREE] * row) for row in range(6)),
    (*EIGHTEEN, *[THREE] * 4, "50 50"),
    (*EIGHTEEN, *[THREE] * 5, "50"),
    (*EIGHTEEN, *[THREE] * 5, "50 50"),
]


@pytest.fixture(scope="session")
def laid():
    """Answers of a caller whose plot lies already."""
    return LAID


@pytest.fixture(scope="session")
def laid_ways(planted):
    """What is known of a caller, and the answers that lead to one screen each."""
    return [
        *((known, (WRONG, *way.split())) for way, known in FAULTS),
        (planted, (WRONG, "2", "2", "1", "1")),
        *((LAID, (CHECK, *way)) for way in CHECKS),
        (TINY, (CHECK,)),
        (planted, (CHECK,)),
        (PLACE, (CHECK,)),
        (LAID, (MY_PLOT,)),
        (planted, (MY_PLOT,)),
        (LAID, (MY_PLOT, "4", "60")),
        (LAID, (MY_PLOT, "5", "1", "onion", "15")),
        ({**TINY, **FULL}, (MY_PLOT, "5", "1")),
        ({**LAID, **FULL}, ("3",)),
        (LAID, (MY_PLOT, "4", "5")),
        (LAID, ("1",)),
    ]


# --- upkeep, season, install and helpline --------------------------------------------------------

TENDED = {**LAID, "water_source": "clear", "water_sign": "crust"}
RELEASED = {**TENDED, "treatment_released": "2026-11-25"}
ACID_RELEASED = {**RELEASED, "treatment_released_for": "acid:hydrochloric:32"}
CHLORINE_RELEASED = {**RELEASED, "treatment_released_for": "chlorine::3.5"}
"""A person at the helpline has released an amount for this phone and this day."""
UPKEEP, INSTALL, SEASON, HELPLINE = "Upkeep", "Install", "Season", "Helpline"
TO_ACID = (UPKEEP, "5", "1", "1", "1", "2", "3")
"""Crust, flushed already, harvest over, no metal, hydrochloric acid; its strength is asked."""
TO_CHLORINE = (UPKEEP, "5", "2", "1", "1", "1")
"""Slime, cleaned already, harvest over, plain bleach; its strength is asked."""


@pytest.fixture(scope="session")
def tended():
    """Answers of a caller who looks after a laid plot with water that leaves crust."""
    return TENDED


@pytest.fixture(scope="session")
def to_acid():
    """Answers from the main menu to the strength of an acid."""
    return TO_ACID


@pytest.fixture(scope="session")
def to_chlorine():
    """Answers from the main menu to the strength of a bleach."""
    return TO_CHLORINE


@pytest.fixture(scope="session")
def kept_ways(planted):
    """The same for upkeep, season, install and helpline: what is known, and what is sent."""
    lately = {"upkeep_acid_done": "2026-11-20", "upkeep_chlorine_done": "2026-11-20"}
    asked = {**TENDED, "ticket_matter": "last line dry", "ticket_wanted": "yes"}
    planted = {**PLACE, **planted}
    return [
        (TENDED, (*TO_ACID, "32")),
        *((known, (*TO_ACID, "32", "1")) for known in (TENDED, ACID_RELEASED)),
        *((known, (*TO_CHLORINE, "3.5", "1")) for known in (TENDED, CHLORINE_RELEASED)),
        (TENDED, (*TO_ACID, "5")),
        (TENDED, (*TO_ACID, "32", "2")),
        (TENDED, (*TO_ACID[:-1], "5")),
        (TENDED, (*TO_CHLORINE, "60")),
        (TENDED, (*TO_CHLORINE, "3.5", "2")),
        (TENDED, (*TO_CHLORINE[:-1], "2")),
        ({**TENDED, "water_sign": "brown"}, TO_CHLORINE[:-2]),
        ({**TENDED, **lately, "upkeep_chlorine_done": ""}, TO_ACID[:4]),
        ({**TENDED, **lately, "upkeep_acid_done": ""}, TO_ACID[:4]),
        ({**TENDED, **lately}, TO_CHLORINE[:4]),
        (asked, (HELPLINE, "6")),
        ({**LAID, "install_step": "marks"}, (INSTALL,)),
        ({**LAID, "season_step": "roll"}, (SEASON, "1")),
        (planted, (SEASON, "3")),
        (PLACE, (SEASON, "3")),
        (PLACE, (INSTALL,)),
        ({**planted, "install_step": "spares"}, (INSTALL, "1", "1")),
        (PLACE, (UPKEEP,)),
    ]
