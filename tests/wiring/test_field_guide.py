"""The field guide cannot disagree with the conversations: it is written from them."""

import re

import pytest

from service.dialogue import walk
from service.wiring import field_guide as guide
from service.wiring.build import flow_book

OURS = ("install", "upkeep", "season", "helpline")


@pytest.fixture(scope="module")
def made():
    return guide.field_guide()


@pytest.fixture(scope="module")
def text(made):
    return made.text()


def test_the_committed_guide_is_what_the_conversations_say(capsys):
    assert guide.main(["check"]) == 0, capsys.readouterr().err


def test_an_old_or_missing_guide_fails_the_check_and_says_what_to_run(tmp_path, capsys):
    (tmp_path / "docs").mkdir()
    assert guide.main(["check"], tmp_path) == 1
    (tmp_path / guide.GUIDE).write_text("old", encoding="utf-8")
    assert guide.main(["check"], tmp_path) == 1
    assert f"run: {guide.COMMAND}" in capsys.readouterr().err
    assert guide.main([], tmp_path) == 0
    assert guide.main(["check"], tmp_path) == 0


def test_every_screen_is_on_one_page_or_known_to_be_for_the_phone_only(made):
    told = [(page.flow, name) for page in guide.PAGES for name in made.states(page)]
    assert len(told) == len(set(told))
    for step in walk(flow_book()):
        if step.flow in OURS and step.state.kind != "branch":
            phone = step.state.name in guide.ONLY_ON_THE_PHONE[step.flow]
            assert ((step.flow, step.state.name) in told) is not phone, step.place


def test_every_constant_sentence_of_a_page_stands_in_the_guide(made, text):
    book = flow_book()
    for page in guide.PAGES:
        for name in made.states(page):
            say = book.flows[page.flow].states[name].say
            assert not say or name in page.left_out or say in text, (page.title, name)


def test_no_amount_of_acid_or_chlorine_is_in_it(text):
    assert guide.NO_AMOUNT in text
    chapters = dict(re.findall(r"^## (.+?)\n(.*?)(?=^## |\Z)", text, re.MULTILINE | re.DOTALL))
    for title in ("Acid against white crust", "Chlorine against slime"):
        assert not re.search(r"\d+ (?:mL|g)\b", chapters[title])
        first = chapters[title].strip().splitlines()[0]
        assert "burns eyes and skin" in first


def test_danger_is_the_first_page(text):
    assert text.index("## Somebody hurt or in danger") < text.index("## Lay a plot")


def test_every_link_leads_to_a_heading(text):
    anchors = {guide._anchor(title) for title in re.findall(r"^## (.+)$", text, re.MULTILINE)}
    assert set(re.findall(r"\]\(#([^)]+)\)", text)) <= anchors


def test_every_step_that_is_gone_to_exists_on_its_page(text):
    for chapter in re.split(r"^## ", text, flags=re.MULTILINE)[1:]:
        steps = set(re.findall(r"^(\d+)\. ", chapter, re.MULTILINE))
        assert set(re.findall(r"go to (\d+)", chapter)) <= steps
