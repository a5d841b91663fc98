"""Every warning has its sentence, and every sentence its evidence."""

import re
from pathlib import Path

import pytest

import service
from service.advice import plan
from service.advice.warning_words import WORDS, warning_phrases
from service.phrases import Phrase
from service.sizing.plain import plain_english

CODE = re.compile(
    r'(?:code="|"code": "|_warning\(\s*"|"(?=flow_variation_too_high|flow_variation_high))(\w+)"'
)


def codes_in_the_source():
    root = Path(service.__file__).parent
    files = [*(root / "sizing").glob("*.py"), *(root / "advice").glob("*.py")]
    return {
        code
        for file in files
        if file.name != "warning_words.py"
        for code in CODE.findall(file.read_text(encoding="utf-8"))
        if not code.startswith(("only_one", "cheapest", "least_bad"))
    }


def test_every_warning_has_its_sentence():
    assert codes_in_the_source() - {"fed_from_middle"} == set(WORDS)


@pytest.mark.parametrize(
    "changes",
    [
        {},
        {"stand_height_m": 0.2, "submain": {"inner_diameter_mm": 10}},
        {"plot": {"length_m": 60, "width_m": 20, "slope_length_pct": 4}, "stand_height_m": 0.5},
        {"filter": False, "water_ec_ds_m": 4.0, "tank": {"volume_l": 50, "outlet_height_m": 0.0}},
        {"dripline": {"exponent": 0.1}, "supply": {"litres_per_day": 100}},
        {"tank": {"volume_l": 500, "inflow_lph": 5000}},
        {"crop": None},
        {"climate": None, "planting_date": "2020-01-01"},
    ],
)
def test_warnings_of_odd_plots_become_sentences(card, tables, changes):
    found = plan(card(**changes), tables)
    for phrase in warning_phrases(found.warnings):
        assert isinstance(phrase, Phrase)
        assert "{" not in plain_english(phrase)


def test_the_same_sentence_is_said_once(card, tables):
    found = plan(card(supply={"litres_per_day": 100}), tables)
    said = [plain_english(phrase) for phrase in warning_phrases(found.warnings)]
    assert len(said) == len(set(said))
