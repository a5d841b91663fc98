"""Crops, yes and no and other choices, as people of each language type them.

The names are those of the catalogues as they are, the misspellings from memory.
"""

from dataclasses import dataclass
from pathlib import Path

import pytest

from service.advice.crop_names import CROP_NAMES
from service.phrases import Phrase, say
from service.text.catalogues import Catalogues
from service.text.checks import catalogue_file
from service.text.languages import LANGUAGES, SOURCE_LANGUAGE
from service.text.lexicon import LEXICONS, words_of
from service.text.vocabulary import WordVocabulary

CHECKOUT = Path(__file__).parents[2]


@dataclass(frozen=True)
class Named:
    label: Phrase
    names: tuple[str, ...] = ()


CROPS = {name: Named(say(label), others) for name, (label, others) in CROP_NAMES.items()}
TYPED = {
    "en": "tomatos=tomato onnion=onion cabage=cabbage sukuma= okraa=okra aubergin=eggplant"
    " water-melon=watermelon cucumbre=cucumber spinich=spinach carot=carrot peanuts=groundnut",
    "sw": "nyania=tomato kitungu=onion kabichii=cabbage sukumawiki=kale bamya=okra mahindi=maize"
    " bilinganya=eggplant tikiti_maji=watermelon maindi=maize karot=carrot kalanga=groundnut"
    " viazi_mvilingo=potato",
    "fr": "tomatte=tomato ognon=onion choux=cabbage poivrons=sweet_pepper gombos=okra"
    " obergine=eggplant pasteque=watermelon concombe=cucumber epinards=spinach carote=carrot"
    " pommes_de_terre=potato arachides=groundnut",
    "pt": "tomates=tomato sebola=onion repolo=cabbage coube=kale kiabo=okra berinjela=eggplant"
    " melansia=watermelon pepinos=cucumber senoura=carrot amendoin=groundnut espinafres=spinach",
    "es": "tomates=tomato sebolla=onion repoyo=cabbage berengena=eggplant sandía=watermelon"
    " pepinos=cucumber sanaoria=carrot maíz=maize ajo=garlic espinacas=spinach",
    "hi": "टमाटार=tomato प्याज़=onion पयाज=onion पत्तागोभी=cabbage शिमला_मिरच=sweet_pepper भिन्डी=okra"
    " बेंगन=eggplant तरबुज=watermelon खिरा=cucumber गाजार=carrot मुंगफली=groundnut लहसून=garlic",
    "bn": "টমাটো=tomato পেয়াজ=onion বাধাকপি=cabbage ক্যাপসিকম=sweet_pepper মরীচ=chilli"
    " ঢেঁড়শ=okra বেগুণ=eggplant তরমুয=watermelon পালংশাক=spinach রশুন=garlic চীনাবাদাম=groundnut",
    "am": "ቲማትም=tomato ሽንኵርት=onion ጥቅልጎመን=cabbage ጎመን=kale ባምያ=okra ደብርጃን=eggplant"
    " ሀብሀብ=watermelon ስፕናች=spinach ድንች=potato በቆሎ=maize ነጭሽንኩርት=garlic",
    "ar": "الطماطم=tomato البصل=onion ملفوفة=cabbage فلفل_حلوه=sweet_pepper باميه=okra"
    " بادنجان=eggplant البطيخ=watermelon السبانخ=spinach البطاطس=potato الثوم=garlic",
    "id": "tomad=tomato bawang_bombay=onion kobis=cabbage cabay=chilli terong=eggplant"
    " semanka=watermelon mentimon=cucumber jagong=maize wortle=carrot manga=mango"
    " kacangtanah=groundnut",
}
"""What is sent, and the crop meant: none when it is left open."""
ROWS = [
    (code, *typed.replace("_", " ", typed.split("=")[0].count("_")).rsplit("=", 1))
    for code, line in TYPED.items()
    for typed in line.split()
]


@pytest.fixture(scope="module")
def catalogues():
    return Catalogues(
        {
            code: (CHECKOUT / catalogue_file(code)).read_text(encoding="utf-8")
            for code in LANGUAGES
            if code != SOURCE_LANGUAGE
        }
    )


@pytest.fixture(scope="module")
def choosing(catalogues):
    def chosen(code, text, options):
        place = WordVocabulary(code, catalogues).choose(text, list(options.values()))
        return None if place is None else list(options)[place]

    return chosen


@pytest.mark.parametrize(("code", "typed", "crop"), ROWS)
def test_a_crop_is_known_by_its_local_name_misspelt_or_not(choosing, code, typed, crop):
    assert (choosing(code, typed, CROPS) or "") == crop


def test_every_language_has_ten_crops_to_misspell():
    assert set(TYPED) == set(LANGUAGES)
    assert min(len(line.split()) for line in TYPED.values()) >= 10


@pytest.mark.parametrize("code", LANGUAGES)
def test_every_crop_is_known_by_its_name_in_the_language(choosing, catalogues, code):
    said = {
        name: choosing(code, catalogues.translate(crop.label, code), CROPS)
        for name, crop in CROPS.items()
    }
    assert {name: found for name, found in said.items() if found != name} == {}


MENUS = {
    "yes or no": ("Yes", "No"),
    "soil": ("Dry", "Wet on top only", "Wet a finger deep", "Wet a hand deep"),
    "a handful of wet soil": ("falls apart", "makes a ball that cracks", "rolls into a ring"),
    "fall": ("About level", "A hand lower", "A knee lower", "A hand higher", "A knee higher"),
    "filling": ("Buckets", "Hand pump", "Motor pump", "Pipe or tap"),
    "main menu": ("Water today", "Plan a plot", "Something is wrong", "Feed the crop", "Helpline"),
    "when": ("Done today", "Not now"),
}


def test_between_two_crops_that_are_as_near_nobody_guesses(choosing):
    # "papas" is one slip from Papa and two from Papaya, "smangka" is as near to Mangga.
    assert choosing("es", "papas", CROPS) is None
    assert choosing("id", "smangka", CROPS) is None


@pytest.mark.parametrize("code", [code for code in LANGUAGES if code != SOURCE_LANGUAGE])
def test_every_line_of_these_menus_is_translated(catalogues, code):
    labels = [label for menu in MENUS.values() for label in menu]
    same = [label for label in labels if catalogues.translate(say(label), code) == label]
    # "No" is Spanish too.
    assert same == (["No"] if code == "es" else [])


@pytest.mark.parametrize("code", LANGUAGES)
@pytest.mark.parametrize("menu", MENUS)
def test_a_line_of_a_menu_may_be_sent_by_name(choosing, catalogues, code, menu):
    options = {label: Named(say(label)) for label in MENUS[menu]}
    for label, option in options.items():
        said = catalogues.translate(option.label, code)
        assert choosing(code, said, options) == label, said
        assert choosing(code, f"  {said.upper()}. ", options) == label, said


@pytest.mark.parametrize("code", LANGUAGES)
def test_yes_and_no_are_known_in_every_spelling_of_the_lexicon(code):
    words = WordVocabulary(code)
    for line, meaning in ((LEXICONS[code].yes, True), (LEXICONS[code].no, False)):
        for word in words_of(line):
            assert words.yes_no(word) is meaning, word


@pytest.mark.parametrize("code", LANGUAGES)
def test_the_words_of_the_menu_for_yes_and_no_are_in_the_lexicon(catalogues, code):
    words = WordVocabulary(code)
    assert words.yes_no(catalogues.translate(say("Yes"), code)) is True
    assert words.yes_no(catalogues.translate(say("No"), code)) is False
