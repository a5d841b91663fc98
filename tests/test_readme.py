"""README and the other pages are held to what is really there."""

import re
from pathlib import Path

import pytest

from service.text.render import render

ROOT = Path(__file__).parent.parent
README = (ROOT / "README.md").read_text(encoding="utf-8")
PAGES = [ROOT / "README.md", ROOT / "DEVELOPERS.md", *sorted((ROOT / "docs").rglob("*.md"))]
KNOWN = {"language": "en", "district": "kotsindo"}


def blocks():
    return re.findall(r"```text\n(.*?)```", README, re.DOTALL)


def screens_of(block):
    """Screens and the answers between them."""
    parts = re.split(r"^> (.*)\n", block, flags=re.MULTILINE)
    return [part.strip("\n") for part in parts[::2]], parts[1::2]


def said(outcome, catalogues):
    pages = render(outcome.screen, "en", catalogues)
    return "\n".join(page.removesuffix("\n# More") for page in pages)


def test_the_first_text_of_the_readme_is_the_job_in_one_paragraph():
    first = README.split("\n\n")[1]
    assert len(first.split()) > 60
    assert "tank on a stand" in first


def test_the_conversation_of_the_readme_is_what_the_service_says(hold, catalogues):
    (question, taken), answers = (lambda found: (found[0][:2], found[1]))(screens_of(blocks()[0]))
    assert said(hold("1", known=KNOWN), catalogues) == question
    assert said(hold("1", answers[0], known=KNOWN), catalogues) == taken
    more = ("1", answers[0], *"2 1 4 1 1 2 2 1 2 30 1".split(), "1")
    screens, _ = screens_of(blocks()[1])
    for count, screen in enumerate(screens):
        assert said(hold(*more, *("1",) * count, known=KNOWN), catalogues) == screen


@pytest.mark.parametrize("page", PAGES, ids=lambda page: str(page.relative_to(ROOT)))
def test_every_link_leads_somewhere(page):
    for target in re.findall(r"\]\(([^)#]+)", page.read_text(encoding="utf-8")):
        if "://" not in target:
            assert (page.parent / target).exists(), target


def test_the_two_commands_of_the_readme_are_in_the_makefile():
    makefile = (ROOT / "Makefile").read_text(encoding="utf-8")
    for command in re.findall(r"^    make (\w+)", README, re.MULTILINE):
        assert re.search(rf"^{command}:", makefile, re.MULTILINE)
