"""Sheet and drawing in scripts beyond Latin, and from right to left.

The words are those of the catalogues where there are any; the fonts those of the machine.
"""

import io
import os
import re
from functools import partial
from pathlib import Path
from xml.etree import ElementTree

import pytest
from pypdf import PdfReader

from service.drawing import SheetError, installer_sheet_pdf, plan_svg
from service.drawing.scripts import SCRIPTS
from service.phrases import say
from service.settings import read_settings
from service.text.catalogues import Catalogues
from service.text.checks import catalogue_file
from service.text.languages import LANGUAGES, SOURCE_LANGUAGE
from service.wiring.fonts import FontMissing, sheet_fonts

CHECKOUT = Path(__file__).parents[2]
SVG = "{http://www.w3.org/2000/svg}"
SCRIPT = {"hi": "Devanagari", "bn": "Bengali", "am": "Ethiopic", "ar": "Arabic"}


@pytest.fixture(scope="module")
def catalogues():
    return Catalogues(
        {
            code: (CHECKOUT / catalogue_file(code)).read_text(encoding="utf-8")
            for code in LANGUAGES
            if code != SOURCE_LANGUAGE
        }
    )


@pytest.fixture
def sheet(drawn_card, plan_of, catalogues):
    def made(code, name="two_blocks", **options):
        card = drawn_card(name)
        labels = partial(catalogues.translate, language=code)
        try:
            fonts = sheet_fonts(read_settings(os.environ).fonts_dir, LANGUAGES[code])
        except FontMissing as error:
            if os.environ.get("CI"):
                raise
            pytest.skip(str(error))
        return installer_sheet_pdf(
            card, plan_of(card), labels, language=code, fonts=fonts, **options
        )

    return made


def page_number_at(pdf):
    """Where the number of the first page stands [pt from the left]: at the foot, alone."""
    found = {}

    def visit(text, moved, at, *rest):
        if moved[5] < 30 and re.fullmatch(r"1( / \d)?", text.strip()):
            found[text] = moved[0] * at[4] + moved[4]

    PdfReader(io.BytesIO(pdf)).pages[0].extract_text(visitor_text=visit)
    (place,) = found.values()
    return place


@pytest.mark.parametrize("code", LANGUAGES)
@pytest.mark.parametrize("name", ["two_blocks", "starving"])
def test_the_sheet_is_two_pages_in_every_language(sheet, code, name):
    # Every letter has a sign, or the sheet would have been refused.
    assert len(PdfReader(io.BytesIO(sheet(code, name))).pages) == 2


@pytest.mark.parametrize("code", SCRIPT)
def test_the_sheet_is_in_the_letters_of_the_language(sheet, code):
    (script,) = (each for each in SCRIPTS if each.name == SCRIPT[code])
    for page in PdfReader(io.BytesIO(sheet(code))).pages:
        text = page.extract_text()
        own = sum(script.has(letter) for letter in text)
        latin = len(re.findall("[A-Za-z]", text))
        assert own > 5 * latin


def test_columns_run_from_the_right_in_arabic_and_from_the_left_elsewhere(sheet):
    """The page's number stands at the end of the foot: 12 mm, 34 pt, from the edge of the paper."""
    assert page_number_at(sheet("en")) > 500
    assert page_number_at(sheet("hi")) > 500
    assert page_number_at(sheet("ar")) == pytest.approx(34, abs=1)


def test_the_direction_can_be_given(sheet):
    assert sheet("en", direction="rtl") != sheet("en")
    assert sheet("en", direction="ltr") == sheet("en")


@pytest.mark.parametrize("direction", ["ltr", "rtl"])
def test_the_drawing_is_not_mirrored_but_its_words_know_their_direction(
    drawn_card, plan_of, direction
):
    card = drawn_card("two_blocks")
    plan = plan_of(card)
    root = ElementTree.fromstring(plan_svg(card, plan, direction=direction))
    plain = ElementTree.fromstring(plan_svg(card, plan))
    (group,) = (each for each in root.iter(f"{SVG}g") if each.get("font-family"))
    assert group.get("direction") == direction
    assert [dict(line.attrib) for line in root.iter(f"{SVG}line")] == [
        dict(line.attrib) for line in plain.iter(f"{SVG}line")
    ]
    (tank,) = (text for text in root.iter(f"{SVG}text") if text.text == "tank 1000 L")
    # In SVG a text from right to left starts at its right end.
    assert tank.get("text-anchor") == ("start" if direction == "ltr" else "end")


@pytest.mark.parametrize("code", SCRIPT)
def test_without_its_font_a_letter_is_refused_with_the_package_to_install(
    drawn_card, plan_of, catalogues, code
):
    card = drawn_card("corner")
    labels = partial(catalogues.translate, language=code)
    with pytest.raises(SheetError, match=f"{SCRIPT[code]} letters are in the package fonts-noto"):
        installer_sheet_pdf(card, plan_of(card), labels, title=say("A"), language=code)
