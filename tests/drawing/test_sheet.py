"""The installer's sheet, its text read back out of the PDF by pypdf."""

import io
import re

import pytest
from pypdf import PdfReader

from service.drawing.sheet import SheetError, SheetFonts, installer_sheet_pdf
from service.phrases import say
from service.sizing.parts_rules import not_to_buy
from service.sizing.plain import plain_english

NAMES = ["corner", "two_blocks", "small", "big", "tall", "starving"]


def pages(pdf):
    """Text of each page, every run of blanks and line ends as one blank."""
    return [re.sub(r"\s+", " ", page.extract_text()) for page in PdfReader(io.BytesIO(pdf)).pages]


@pytest.fixture
def sheet(drawn_card, plan_of):
    def made(name, **options):
        card = drawn_card(name)
        return installer_sheet_pdf(card, plan_of(card), **options)

    return made


@pytest.mark.parametrize("name", NAMES)
def test_plan_parts_and_schedule_stand_on_one_a4_page_and_the_shop_on_its_back(
    sheet, drawn_card, plan_of, name
):
    pdf = sheet(name)
    size = PdfReader(io.BytesIO(pdf)).pages[0].mediabox
    assert (float(size.width), float(size.height)) == pytest.approx((595.3, 841.9), abs=0.1)
    front, back = pages(pdf)
    for line in plan_of(drawn_card(name)).parts:
        assert line.name in front
        assert line.name in back
        assert not line.note or line.note in front
    for told in ("First, so that nobody is hurt", "What to lay", "Watering, month by month"):
        assert told in front
    for phrase in not_to_buy():
        assert phrase.text in back


def test_cautions_come_before_all_else(sheet):
    front = pages(sheet("two_blocks"))[0]
    assert "holds 1000 kg of water" in front
    order = ["holds 1000 kg", "builder makes and checks the stand", "tank 1000 L", "Parts"]
    found = [front.index(words) for words in order]
    assert found == sorted(found)


def test_the_shop_side_can_be_left_out(sheet):
    assert len(pages(sheet("corner", shop_side=False))) == 1


def test_quantities_costs_and_total(sheet, drawn_card, plan_of):
    plan = plan_of(drawn_card("corner"))
    front = pages(sheet("corner", currency="QVL"))[0]
    assert "500 m 16 mm dripline" in front
    total = sum(line.cost for line in plan.parts)
    assert f"Together: {total:g} QVL" in front


def test_a_price_that_is_missing_is_named_and_no_total_told(drawn_card, plan_of):
    card = drawn_card("corner")
    plan = plan_of(card)
    lacking = tuple(
        line.model_copy(update={"cost": None}) if line.item == "elbow_25" else line
        for line in plan.parts
    )
    told = installer_sheet_pdf(card, plan.model_copy(update={"parts": lacking}))
    front = pages(told)[0]
    assert "No total: no price for elbow for 25 mm pipe." in front
    assert "Together" not in front


def test_the_schedule_has_the_months_in_which_something_grows(sheet):
    front = pages(sheet("corner"))[0]
    assert "Mar Apr May Jun" in front
    assert "Feb" not in front
    assert "young growing full ripening" in front
    # 812 and 1234 L in two figures; 400/450, 812/450, 1234/450 and 900/450 fills.
    assert "litres a day 400 810 1200 900" in front
    assert "tank fills a day 0.9 1.8 2.7 2" in front
    assert "Most water: May." in front


def test_a_season_longer_than_a_year_has_its_years(drawn_card, plan_of):
    card = drawn_card("two_blocks")
    plan = plan_of(card)
    one = plan.watering[2]
    long = tuple(
        one.model_copy(update={"month": n % 12 + 1, "year": 2027 + n // 12}) for n in range(26)
    )
    told = pages(installer_sheet_pdf(card, plan.model_copy(update={"watering": long})))
    for month in ("Jan 2027", "Dec 2027", "Jan 2028", "Feb 2029"):
        assert month in told[0]
    assert len(told) == 2


def test_a_plan_that_is_not_even_enough_says_so_in_bold_words(sheet):
    front = pages(sheet("starving"))[0]
    assert "NOT even enough" in front
    assert front.index("NOT even enough") < front.index("tank 1000 L")
    assert "NOT even enough" not in pages(sheet("corner"))[0]


def test_slopes_and_blocks_are_told(sheet):
    front = pages(sheet("big"))[0]
    assert "rises 1 % along the length" in front
    assert "slopes 0.5 % along the lines" in front
    assert "Block 4: taps from 75.5 m to 99.5 m." in front


def test_long_lists_go_on_to_another_page_and_nothing_is_lost(sheet):
    notes = [say(f"Remark number {n}: " + "it goes on for a while " * 8) for n in range(60)]
    told = pages(sheet("two_blocks", notes=notes))
    assert len(told) > 2
    together = " ".join(told)
    for n in range(60):
        assert f"Remark number {n}:" in together


def test_words_from_outside_are_never_read_as_markup(sheet):
    odd = '#panic("x") *b* _i_ $1+1$ = <a> @ref \\ [c] `d` https://e // f /* g */ "h" – -- ~'
    front = pages(sheet("corner", title=say(odd.replace("{", "{{"))))[0]
    for piece in ('#panic("x")', "*b*", "$1+1$", "<a>", "@ref", "`d`", "/* g */", "--"):
        assert piece in front


def test_every_word_can_be_translated(sheet):
    told = pages(sheet("two_blocks", labels=lambda phrase: plain_english(phrase).upper()))
    assert re.findall(r"[a-z]", " ".join(told)) == []


def test_a_letter_without_a_typeface_is_refused_by_name(sheet):
    with pytest.raises(SheetError, match="ጠ"):
        sheet("corner", labels=lambda phrase: "ጠ" + plain_english(phrase))


def test_typefaces_can_be_handed_in(sheet):
    fonts = SheetFonts(families=("New Computer Modern",))
    assert "Parts" in pages(sheet("corner", fonts=fonts))[0]


def test_the_same_plan_gives_the_same_bytes(sheet):
    assert sheet("corner") == sheet("corner")
