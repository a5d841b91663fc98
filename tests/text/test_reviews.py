"""A catalogue says who has read it, and the service can tell."""

from datetime import date

import pytest

from service.text import checks, reviews
from service.text.catalogues import Catalogues, read_catalogue
from service.text.languages import language_of

FILE = "locales/sw/LC_MESSAGES/litreline.po"
DRAFT = "# Unreviewed first draft: no speaker has checked it yet.\n"
READ = "# Reviewed by Asha Mwangi, Kotsindo on 2026-11-20.\n"
BODY = r"""msgid ""
msgstr ""
"Content-Type: text/plain; charset=utf-8\n"
"Plural-Forms: nplurals=2; plural=(n != 1);\n"

msgid "Close the valve."
msgstr "Funga vali."

# unreviewed
msgid "Open the valve."
msgstr "Fungua vali."

# unreviewed
msgid "Not said"
msgstr ""
"""


def catalogue(header):
    return read_catalogue(header + BODY, "sw", FILE)


def problems(header):
    return [str(problem) for problem in reviews.header_problems(catalogue(header), FILE)]


def test_a_review_is_a_name_and_a_day():
    told = reviews.review_of(catalogue(READ))
    assert told == reviews.Review("Asha Mwangi, Kotsindo", date(2026, 11, 20))
    assert reviews.review_of(catalogue(DRAFT)) is None


def test_of_several_reviews_the_last_counts():
    later = "# Reviewed by Juma on 2027-02-01\n"
    assert reviews.review_of(catalogue(later + READ)) == ("Juma", date(2027, 2, 1))


@pytest.mark.parametrize(
    ("header", "problem"),
    [
        ("", "does not say who reviewed it"),
        ("# Swahili texts.\n", "does not say who reviewed it"),
        (DRAFT + READ, "both unreviewed and reviewed"),
        ("# Reviewed by Asha in spring\n", "say it so"),
        ("# Reviewed by Asha on 2026-02-30.\n", "say it so"),
        ("# Reviewed by on 2026-11-20.\n", "say it so"),
    ],
)
def test_a_header_that_does_not_tell_is_a_problem(header, problem):
    assert any(f"{FILE}:1: " in each and problem in each for each in problems(header))


@pytest.mark.parametrize("header", [DRAFT, READ])
def test_a_header_that_tells_is_none(header):
    assert problems(header) == []


def test_the_check_of_a_catalogue_looks_at_its_header():
    found = checks.all_problems(catalogue(DRAFT), catalogue("# Texts.\n"), FILE, language_of("sw"))
    assert any("does not say who reviewed it" in problem.message for problem in found)


def test_in_a_draft_nothing_is_reviewed_and_later_only_what_is_marked():
    said = [message.id for message in reviews.unreviewed(catalogue(DRAFT))]
    assert said == ["Close the valve.", "Open the valve."]
    assert [message.id for message in reviews.unreviewed(catalogue(READ))] == ["Open the valve."]


def test_the_service_knows_who_reviewed_a_language_it_speaks():
    spoken = Catalogues({"sw": READ + BODY, "fr": DRAFT + BODY.replace("n != 1", "n > 1")})
    review = spoken.reviewed("sw")
    assert review is not None
    assert (review.who, review.when) == ("Asha Mwangi, Kotsindo", date(2026, 11, 20))
    assert spoken.reviewed("fr") is spoken.reviewed("en") is spoken.reviewed("hi") is None
    with pytest.raises(ValueError, match="'xx' is not one of"):
        spoken.reviewed("xx")


def test_a_catalogue_of_a_language_not_spoken_yet_stops_nobody():
    assert Catalogues({"xx": BODY}).reviewed("en") is None
