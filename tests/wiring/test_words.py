"""The command for translators, on a small checkout of its own."""

import ast
import subprocess
import sys
from pathlib import Path

import pytest

from service.phrases import say_n
from service.text.catalogues import Catalogues
from service.wiring import words

CHECKOUT = Path(__file__).parents[2]
CODE = """
from service.phrases import N_, say, say_n

LATER = N_("Close the valve.")


def lines(n):
    # Translators: caution. budget: 30 septets or 20 units
    say("Never climb with acid.")
    return say_n("{n} line", "{n} lines", count="n", n=n)
"""
FLOW = 'flow: plan\nstates:\n  a:\n    say: "Send {low} m. Example: 20"\n'
SWAHILI = {
    "Close the valve.": "Funga vali.",
    "Never climb with acid.": "Usipande na asidi.",
    "Send {low} m. Example: 20": "Tuma mita {low}. Mfano: 20",
}


@pytest.fixture
def checkout(tmp_path, monkeypatch):
    (tmp_path / "pyproject.toml").write_bytes((CHECKOUT / "pyproject.toml").read_bytes())
    (tmp_path / "service").mkdir()
    (tmp_path / "flows").mkdir()
    (tmp_path / "service" / "lines.py").write_text(CODE, encoding="utf-8")
    (tmp_path / "flows" / "plan.yaml").write_text(FLOW, encoding="utf-8")
    only = (words.language_of("sw"),)
    monkeypatch.setattr(words, "translated", lambda: only)
    return tmp_path


@pytest.fixture
def complete(checkout):
    assert words.main(["update"], checkout) == 0
    for english, swahili in SWAHILI.items():
        edit(checkout, f'msgid "{english}"\nmsgstr ""', f'msgid "{english}"\nmsgstr "{swahili}"')
    edit(checkout, 'msgstr[0] ""\nmsgstr[1] ""', 'msgstr[0] "laini {n}"\nmsgstr[1] "laini {n}"')
    return checkout


def edit(checkout, old, new, file="locales/sw/LC_MESSAGES/litreline.po"):
    text = (checkout / file).read_text(encoding="utf-8")
    assert old in text
    (checkout / file).write_text(text.replace(old, new), encoding="utf-8")


def test_the_template_holds_code_and_conversations_with_their_notes(checkout):
    text = words.extract(checkout)
    assert 'msgid "Close the valve."' in text
    assert 'msgid_plural "{n} lines"' in text
    assert "#. caution. budget: 30 septets or 20 units\n#: service/lines.py\n" in text
    assert "#. where: plan/a\n" in text
    assert "#: flows/plan.yaml\n" in text


def test_extracting_twice_writes_the_same(checkout):
    assert words.main(["extract"], checkout) == 0
    first = (checkout / words.TEMPLATE).read_bytes()
    assert words.main(["extract"], checkout) == 0
    assert (checkout / words.TEMPLATE).read_bytes() == first


def test_a_complete_checkout_passes(complete, capsys):
    assert words.main(["check"], complete) == 0
    assert capsys.readouterr().err == ""


def test_updating_keeps_translations_and_adds_what_is_new(complete):
    text = FLOW + '    help: "Ask a neighbour."\n'
    (complete / "flows" / "plan.yaml").write_text(text, encoding="utf-8")
    assert words.main(["update"], complete) == 0
    found = (complete / "locales/sw/LC_MESSAGES/litreline.po").read_text(encoding="utf-8")
    assert all(swahili in found for swahili in SWAHILI.values())
    assert 'msgid "Ask a neighbour."\nmsgstr ""' in found
    assert "Unreviewed first draft" in found


PO = "locales/sw/LC_MESSAGES/litreline.po"


@pytest.mark.parametrize(
    ("old", "new", "file", "problem"),
    [
        ("valve", "tap", "service/lines.py", "locales/litreline.pot:10: out of date; run: "),
        ("Funga vali.", "", PO, ": text missing: 'Close the valve.'"),
        ("Usipande na asidi.", "", PO, ": caution missing: 'Never climb with acid.'"),
        ("mita {low}", "mita", PO, ": lost placeholder {low}: "),
        ("mita {low}", "mita {low} {up}", PO, ": unknown placeholder {up}: "),
        ('msgstr[1] "laini {n}"', 'msgstr[1] "laini"', PO, ": lost placeholder {n}: 'laini'"),
        ("Usipande na", "Usipande kamwe ngazi na", PO, ": too long: 30 of 30"),
        ("n != 1", "n > 1", PO, ":1: Plural-Forms must be"),
        ('msgstr "Funga', "msgstr Funga", PO, "/litreline.po:14: "),
        ("# Unreviewed first draft: no", "# No", PO, ":1: the header does not say who reviewed it"),
        ('msgid "Close the valve."', '#, fuzzy\nmsgid "Close the valve."', PO, ": text missing: "),
        ('msgid "Close the valve."', 'msgid "Close it."', PO, ": nobody says this any more: "),
        ("20", "20°", "flows/plan.yaml", "flows/plan.yaml:4: not in the 7-bit alphabet: °"),
        ('"Send', '"Send" x: "', "flows/plan.yaml", "plan.yaml:4: "),
    ],
)
def test_the_check_fails_with_file_and_line(complete, capsys, old, new, file, problem):
    edit(complete, old, new, file)
    if "too long" in problem:
        edit(complete, "ngazi na asidi", "ngazi ndefu na asidi")
        problem = ": too long: "
    assert words.main(["check"], complete) == 1
    assert problem in capsys.readouterr().err


def test_a_catalogue_of_no_language_fails_the_check(complete, capsys):
    stray = complete / "locales/zz/LC_MESSAGES"
    stray.mkdir(parents=True)
    (stray / "litreline.po").write_text("", encoding="utf-8")
    assert words.main(["check"], complete) == 1
    assert "locales/zz/LC_MESSAGES/litreline.po:1: no language" in capsys.readouterr().err


def test_a_missing_catalogue_fails_the_check(checkout, capsys):
    words.main(["extract"], checkout)
    assert words.main(["check"], checkout) == 1
    assert f"{PO}:1: no catalogue" in capsys.readouterr().err


def test_what_was_written_is_what_the_service_speaks(complete):
    text = (complete / PO).read_text(encoding="utf-8")
    spoken = Catalogues({"sw": text})
    phrase = say_n("{n} line", "{n} lines", count="n", n=3)
    assert spoken.translate(phrase, "sw") == "laini 3"


def test_the_report_counts_texts_and_says_they_are_unreviewed(complete, capsys):
    assert words.main(["report", "sw"], complete) == 0
    said = capsys.readouterr().out
    assert "Swahili (sw): 4 of 4 texts\nunreviewed first draft\n" in said
    assert "missing: 0\ntoo long: 0\n" in said
    assert "unreviewed: 4\n" in said
    assert words.main(["sw"], complete) == 0
    assert capsys.readouterr().out == said


def test_the_report_names_what_is_missing_and_what_is_too_long(complete, capsys):
    edit(complete, "Funga vali.", "")
    edit(complete, "Usipande na", "Usipande kamwe ngazi ndefu na")
    assert words.main(["sw"], complete) == 0
    said = capsys.readouterr().out
    assert "missing: 1\ntoo long: 1\n" in said
    assert f"{PO}:13: text missing: 'Close the valve.'" in said
    assert f"{PO}:18: too long: " in said


DRAFT = "# Unreviewed first draft: no speaker has checked it yet."
READ = "# Reviewed by Asha Mwangi on 2026-11-20."


def test_what_comes_after_a_review_is_marked_and_reported(complete, capsys):
    edit(complete, DRAFT, READ)
    assert words.main(["sw"], complete) == 0
    said = capsys.readouterr().out
    assert "reviewed by Asha Mwangi on 2026-11-20\n" in said
    assert "unreviewed: 0\n" in said
    text = FLOW + '    help: "Ask a neighbour."\n'
    (complete / "flows" / "plan.yaml").write_text(text, encoding="utf-8")
    assert words.main(["update"], complete) == 0
    assert words.main(["update"], complete) == 0
    found = (complete / PO).read_text(encoding="utf-8")
    assert found.count("# unreviewed\n") == 1
    edit(complete, 'msgid "Ask a neighbour."\nmsgstr ""', 'msgid "Ask a neighbour."\nmsgstr "x"')
    assert words.main(["check"], complete) == 0
    assert words.main(["sw"], complete) == 0
    said = capsys.readouterr().out
    assert "reviewed by Asha Mwangi on 2026-11-20; unreviewed since: 1\n" in said
    assert ": unreviewed: 'Ask a neighbour.'\n" in said


def test_a_draft_marks_nothing_one_by_one(complete):
    assert words.main(["update"], complete) == 0
    assert "# unreviewed" not in (complete / PO).read_text(encoding="utf-8")


def test_a_place_that_is_no_checkout_is_refused(tmp_path, capsys):
    assert words.main(["check"], tmp_path) == 2
    assert "no checkout" in capsys.readouterr().err


def test_the_module_runs_as_a_command():
    done = subprocess.run(
        [sys.executable, "-m", "service.wiring.words", "--help"],
        capture_output=True,
        text=True,
        check=True,
        cwd=CHECKOUT,
    )
    assert "extract" in done.stdout
    assert "check" in done.stdout


@pytest.mark.parametrize("code", [each.code for each in words.translated()])
def test_the_projects_catalogues_can_be_compiled(code):
    path = CHECKOUT / "locales" / code / "LC_MESSAGES" / "litreline.po"
    Catalogues({code: path.read_text(encoding="utf-8")})


def literals(path):
    """Sentences that the code of a file says, by its syntax and not by Babel's reading of it."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
            if node.func.id not in ("say", "say_n", "N_"):
                continue
            for argument in node.args:
                if isinstance(argument, ast.Constant):
                    yield argument.value


def test_no_sentence_of_the_code_escapes_the_template():
    # Before Python 3.12 Babel does not look into the braces of an f-string.
    forms = (message.id for message in words.template(CHECKOUT) if message.id)
    known = {form for each in forms for form in ([each] if isinstance(each, str) else each)}
    files = (CHECKOUT / "service").rglob("*.py")
    said = {sentence for path in files for sentence in literals(path)}
    assert len(said) > 500
    assert said - known == set()
