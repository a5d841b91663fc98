"""Fonts found in a folder by the letters they have, and a clear word when there are none.

The machine's fonts are Debian's fonts-noto-core or others with these scripts; without them these
tests are left out on a laptop and fail when CI is set.
"""

import io
import os
import shutil
from pathlib import Path

import pytest
import typst
from pypdf import PdfReader

from service.drawing.scripts import SCRIPTS, best_family, scripts_of
from service.drawing.sheet import LATIN, SheetError
from service.settings import read_settings
from service.text.languages import LANGUAGES
from service.wiring.font_letters import has_letters
from service.wiring.fonts import FontMissing, fonts_for, sheet_fonts

FOLDER = read_settings(os.environ).fonts_dir
BY_NAME = {script.name: script for script in SCRIPTS}
OF_LANGUAGE = {"hi": "Devanagari", "bn": "Bengali", "am": "Ethiopic", "ar": "Arabic"}


@pytest.fixture(scope="module")
def found():
    """The fonts of every script on this machine."""
    try:
        return {script.name: fonts_for(FOLDER, (script,)) for script in SCRIPTS}
    except FontMissing as error:
        if os.environ.get("CI"):
            raise
        pytest.skip(str(error))


@pytest.mark.parametrize("code", LANGUAGES)
def test_a_language_needs_the_script_of_its_own_name(code):
    names = [script.name for script in scripts_of(LANGUAGES[code].own_name)]
    assert names == [name for known, name in OF_LANGUAGE.items() if known == code]


@pytest.mark.parametrize("code", ["en", "sw", "fr", "pt", "es", "id"])
def test_latin_letters_need_no_folder(tmp_path, code):
    assert sheet_fonts(tmp_path / "nowhere", LANGUAGES[code]) is None


@pytest.mark.parametrize("code", OF_LANGUAGE)
def test_a_missing_font_is_told_by_script_folder_and_package(tmp_path, code):
    with pytest.raises(FontMissing) as refused:
        sheet_fonts(tmp_path, LANGUAGES[code])
    told = str(refused.value)
    assert f"no font with {OF_LANGUAGE[code]} letters in {tmp_path}" in told
    assert "install the package fonts-noto-core" in told
    assert "LITRELINE_FONTS_DIR" in told
    assert isinstance(refused.value, SheetError)


def test_a_folder_that_is_not_there_has_no_fonts(tmp_path):
    with pytest.raises(FontMissing):
        sheet_fonts(tmp_path / "nowhere", LANGUAGES["hi"])


def test_the_machine_has_a_font_for_every_script(found):
    for name, fonts in found.items():
        assert fonts.families[-1] == LATIN
        assert fonts.families[0] in fonts.fonts.families(), name


@pytest.mark.parametrize("name", BY_NAME)
def test_what_was_found_sets_every_letter_of_the_script(found, name):
    fonts, script = found[name], BY_NAME[name]
    page = f'#set text(font: "{fonts.families[0]}", fallback: false)\n{script.letters}'
    # By this standard typst refuses a letter for which no font has a sign.
    pdf = typst.compile(
        page.encode("utf-8"), font_paths=fonts.fonts, format="pdf", pdf_standards="a-2b"
    )
    read = PdfReader(io.BytesIO(pdf)).pages[0].extract_text()
    assert set(script.letters) <= set(read)


def test_another_font_of_the_script_will_do(found, tmp_path):
    fonts = found["Devanagari"].fonts.fonts()
    usual = [font for font in fonts if font.style == "normal" and font.weight == 400 and font.path]
    others = [font for font in usual if "Devanagari" in font.family and "Serif" in font.family]
    if not others:
        pytest.skip("this machine has one Devanagari font only")
    shutil.copy(others[0].path, tmp_path)
    assert fonts_for(tmp_path, (BY_NAME["Devanagari"],)).families == (others[0].family, LATIN)


def test_a_known_family_goes_first_and_else_the_plainest_name():
    script = BY_NAME["Ethiopic"]
    assert best_family(script, ["Aa", "Noto Sans Ethiopic"]) == "Noto Sans Ethiopic"
    assert best_family(script, ["Noto Serif Ethiopic", "Jiret"]) == "Jiret"
    assert best_family(script, []) is None


@pytest.mark.parametrize("content", [b"", b"true", b"\0\1\0\0" + bytes(40), b"ttcf\0\0", b"x" * 99])
def test_a_file_that_is_no_font_has_no_letters(content):
    assert not has_letters(io.BytesIO(content), "a")


def test_a_font_has_what_it_has_and_no_more(found):
    for font in found["Arabic"].fonts.fonts():
        if font.path and font.family == found["Arabic"].families[0]:
            with Path(font.path).open("rb") as file:
                assert has_letters(file, BY_NAME["Arabic"].letters)
                assert not has_letters(file, BY_NAME["Ethiopic"].letters)
