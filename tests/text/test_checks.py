"""What the checks find in a catalogue, and what they let pass."""

import pytest
from babel.messages.catalog import Catalog

from service.text import checks
from service.text.catalogues import read_catalogue
from service.text.languages import language_of

FILE = checks.catalogue_file("fr")
HEADER = (
    'msgid ""\nmsgstr ""\n"Content-Type: text/plain; charset=utf-8\\n"\n'
    '"Plural-Forms: nplurals=2; plural=(n > 1);\\n"\n\n'
)


def template(*messages):
    """A template of (sentence or pair, note) rows."""
    catalogue = Catalog()
    for place, (sentence, *notes) in enumerate(messages, 1):
        catalogue.add(sentence, None, [("flows/plan.yaml", place)], auto_comments=notes)
    return catalogue


def catalogue(body, header=HEADER):
    return read_catalogue(header + body, "fr", FILE)


def entry(sentence, said):
    return f'msgid "{sentence}"\nmsgstr "{said}"\n\n'


def plural(one, many, *said):
    forms = "".join(f'msgstr[{place}] "{text}"\n' for place, text in enumerate(said))
    return f'msgid "{one}"\nmsgid_plural "{many}"\n{forms}\n'


GOOD = entry("Send {low} to {high} m.", "Envoyez de {low} a {high} m.") + plural(
    "{n} line", "{n} lines", "{n} ligne", "{n} lignes"
)
GOOD_TEMPLATE = template(("Send {low} to {high} m.",), (("{n} line", "{n} lines"),))


def test_a_good_catalogue_passes_every_check():
    header = "# Unreviewed first draft: no speaker has checked it yet.\n" + HEADER
    found = checks.all_problems(GOOD_TEMPLATE, catalogue(GOOD, header), FILE, language_of("fr"))
    assert found == []


@pytest.mark.parametrize(
    ("sentence", "said", "problem"),
    [
        ("Depth {low} m", "Fond m", f"{FILE}:6: lost placeholder {{low}}: 'Fond m'"),
        ("Depth {low} m", "Fond {lo} {low} m", f"{FILE}:6: unknown placeholder {{lo}}"),
        ("Depth {low} m", "Fond {low} {Low} m", f"{FILE}:6: stray brace"),
        ("Example: 20", "Exemple: 25", f"{FILE}:6: numbers differ from 20"),
        ("Example: 20", "Exemple", f"{FILE}:6: numbers differ from 20"),
        ("Tank", "Citerne à côté", f"{FILE}:6: not in the 7-bit alphabet: ô"),
        ("Tank", "citerne " * 40, f"{FILE}:6: too long: 320 of 306 gsm7 units"),
        ("Tank", "", f"{FILE}:6: text missing: 'Tank'"),
    ],
)
def test_each_fault_is_found_with_its_line(sentence, said, problem):
    found = checks.all_problems(
        template((sentence,)), catalogue(entry(sentence, said)), FILE, language_of("fr")
    )
    assert any(str(each).startswith(problem) for each in found), found


def test_a_decimal_comma_is_the_same_number():
    assert not checks.numbers_differ(catalogue(entry("Knee 0.5", "Genou 0,5")), FILE)


@pytest.mark.parametrize("forms", [("une ligne", "{n} lignes"), ("{n} ligne", "lignes")])
def test_a_plural_form_that_lost_its_placeholder_is_found(forms):
    """Also the first: in French it is said for none as well as for one."""
    found = checks.lost_placeholders(catalogue(plural("{n} line", "{n} lines", *forms)), FILE)
    assert len(found) == 1
    assert str(found[0]).startswith(f"{FILE}:6: lost placeholder {{n}}: ")


def test_an_english_singular_without_a_number_needs_none_in_translation():
    body = plural("One line", "{n} lines", "Une ligne", "{n} lignes")
    assert not checks.lost_placeholders(catalogue(body), FILE)
    assert not checks.unknown_placeholders(catalogue(body), FILE)


def test_a_missing_caution_is_called_one():
    wanted = template(("Never climb with acid.", "Caution: keep the order."), ("Yes",))
    found = checks.missing(wanted, catalogue(""), FILE)
    assert [each.message.split(":")[0] for each in found] == ["caution missing", "text missing"]
    # A doubtful (fuzzy) translation would be left out of the service: it is missing too.
    doubtful = catalogue("#, fuzzy\n" + entry("Never climb with acid.", "Peut-on monter ?"))
    assert "caution missing: 'Never climb" in str(checks.missing(wanted, doubtful, FILE)[0])


def test_one_empty_plural_form_is_a_missing_text():
    wanted = template((("{n} line", "{n} lines"),))
    body = plural("{n} line", "{n} lines", "{n} ligne", "")
    assert len(checks.missing(wanted, catalogue(body), FILE)) == 1


def test_a_sentence_nobody_says_is_found():
    found = checks.unknown_messages(template(("Yes",)), catalogue(entry("No", "Non")), FILE)
    assert "nobody says this any more: 'No'" in str(found[0])


def test_the_room_of_a_note_is_what_counts():
    wanted = template(("Yes", "budget: 5 septets or 4 units"))
    assert not checks.over_budget(wanted, catalogue(entry("Yes", "Oui")), FILE)
    found = checks.over_budget(wanted, catalogue(entry("Yes", "D'accord")), FILE)
    assert "too long: 8 of 5 gsm7 units" in str(found[0])
    # The same sentence in two places has the smaller of its rooms.
    wanted.add("Yes", auto_comments=["budget: 2 septets or 4 units"])
    assert "of 2 gsm7 units" in str(
        checks.over_budget(wanted, catalogue(entry("Yes", "Oui")), FILE)[0]
    )


def test_a_placeholder_takes_room_before_it_has_a_value():
    wanted = template(("{n} m", "budget: 5 septets or 5 units"))
    assert checks.over_budget(wanted, catalogue(entry("{n} m", "{n} metres")), FILE)
    assert not checks.over_budget(wanted, catalogue(entry("{n} m", "{n}m")), FILE)


def test_hindi_may_leave_the_alphabet_and_french_may_not():
    said = catalogue(entry("Tank", "टंकी"))
    assert checks.not_gsm7(said, FILE, language_of("fr"))
    assert not checks.not_gsm7(said, FILE, language_of("hi"))


def test_the_plural_rule_of_the_header_must_be_the_languages_own():
    wrong = HEADER.replace("n > 1", "n != 1")
    assert checks.wrong_plural_rule(catalogue("", wrong), FILE, language_of("fr"))
    assert not checks.wrong_plural_rule(catalogue(""), FILE, language_of("fr"))


def test_english_sentences_are_checked_where_they_are_said():
    wanted = template(("Flush – then close",), ("Send {Low}",), ("x" * 400,), ("Fine",))
    found = [str(each) for each in checks.source_problems(wanted)]
    assert [each.split(": ")[0] for each in found] == [f"flows/plan.yaml:{n}" for n in (1, 2, 3)]
    assert "7-bit alphabet: –" in found[0]
    assert "stray brace" in found[1]
    assert "too long: 400 of 306" in found[2]
