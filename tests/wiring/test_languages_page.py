"""The page about languages is written from the catalogues and cannot disagree with them."""

import re

import pytest

from service.text.languages import LANGUAGES
from service.wiring import languages_page as page


@pytest.fixture(scope="module")
def text():
    return page.page_text() + "\n"


def test_the_committed_page_is_what_the_catalogues_say(text):
    committed = (page.CHECKOUT / page.PAGE).read_text(encoding="utf-8")
    assert committed == text, f"run: {page.COMMAND}"


def test_an_old_or_missing_page_fails_and_says_what_to_run(tmp_path, monkeypatch, capsys):
    monkeypatch.setattr(page, "page_text", lambda root: "# Languages")
    (tmp_path / "docs").mkdir()
    assert page.main(["check"], tmp_path) == 1
    assert f"run: {page.COMMAND}" in capsys.readouterr().err
    assert page.main([], tmp_path) == 0
    assert page.main(["check"], tmp_path) == 0
    (tmp_path / page.PAGE).write_text("old", encoding="utf-8")
    assert page.main(["check"], tmp_path) == 1


def test_every_language_has_a_row_and_a_column(text):
    rows = re.findall(r"^\| \w+ \((\w\w)\) \| \d+ of \d+ \| \d+ \|", text, re.MULTILINE)
    assert rows == list(LANGUAGES)
    assert f"| answer | {' | '.join(LANGUAGES)} |" in text


def test_english_costs_itself_and_no_language_less_than_nothing(text):
    costs = dict(re.findall(r"\((\w\w)\) .* \| ([\d.]+) \| [^|]+ \|$", text, re.MULTILINE))
    assert costs["en"] == "1.0"
    assert set(costs) == set(LANGUAGES)
    assert all(0.7 <= float(share) <= 4 for share in costs.values())


def test_a_seven_bit_language_has_no_text_in_ucs2(text):
    ucs2 = dict(re.findall(r"\((\w\w)\) \| \d+ of \d+ \| (\d+) \|", text))
    for code, language in LANGUAGES.items():
        assert (int(ucs2[code]) == 0) is language.gsm7, code


def test_every_answer_says_something(text):
    for name in (*page.RESULTS, page.WEEKLY):
        row = re.search(rf"^\| {re.escape(name)} \|(.*)\|$", text, re.MULTILINE)
        assert row, name
        assert all(int(parts) >= 1 for parts in row[1].split("|"))


def test_the_answers_are_those_of_a_plot_and_not_a_word_that_it_is_unknown():
    # A screen that only says "plan the plot first" would make every language cheap.
    context = page.Context(page.Planner(page.load_tables(None, None).tables), page.DAY)
    dialogue = page.Dialogue(page.flow_book())
    for place in page.RESULTS.values():
        screen = dialogue.show(dialogue.place("en", *place, page.PLANNED), context)
        said = page.one_text(screen, "en", page.Catalogues({}))
        assert "do not know" not in said, said


def test_spellings_come_from_where_a_person_chose_them(text):
    assert "**French.**" in text
    assert "août = aout" in text
    assert "**Spanish.** Spelt plain" in text
    assert "**Hindi.**" not in text
