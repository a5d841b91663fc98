"""Finding a caller, the caller's page, people and plots, and what is kept about somebody."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from typing import Any

import pytest

from service.records import Consent, Person, Phone, Plot

HELPLINE = "/desk/helpline"


def page_of(phone: Any) -> str:
    return f"{HELPLINE}/callers/{phone.id}"


@pytest.fixture
def operator(desk: Any) -> Any:
    return desk.sitter("operator")


def find(operator: Any, text: str) -> str:
    operator.get(f"{HELPLINE}/find")
    return operator.post(f"{HELPLINE}/find", find=text)


@pytest.mark.parametrize("text", ["+10005550100", "1000 555 0100", "550100", "Ash", "asha"])
def test_one_caller_found_opens_at_once(desk: Any, operator: Any, text: str) -> None:
    desk.caller()
    assert "<h1>Asha</h1>" in find(operator, text)


def test_several_found_are_listed_with_masked_numbers(desk: Any, operator: Any) -> None:
    desk.caller()
    desk.caller("+10005550101", "Ashok")
    page = find(operator, "ash")
    assert "2 callers found" in page
    assert "*** 100" in page
    assert "+10005550100" not in page


def test_no_address_holds_what_was_looked_for(desk: Any) -> None:
    client = desk.sitter("operator")
    client.get(f"{HELPLINE}/find")
    form = {"token": client.token, "find": "+10005550100"}
    sent = client.client.post(f"{HELPLINE}/find", data=form)
    assert sent.status_code == 303
    assert sent.headers["Location"] == f"{HELPLINE}/found"


@pytest.mark.parametrize(
    ("text", "why"), [("0100", "at least its last 6 digits"), ("x", "at least two letters")]
)
def test_too_little_is_refused_and_stays_in_the_field(operator: Any, text: str, why: str) -> None:
    page = find(operator, text)
    assert operator.status == 422
    assert why in operator.alert
    assert f'value="{text}"' in page


def test_nobody_found_can_be_kept_as_a_new_caller(desk: Any, operator: Any) -> None:
    page = find(operator, "+254 711 000 111")
    assert "0 callers found" in page
    assert 'value="+254 711 000 111"' in page
    operator.post(f"{HELPLINE}/callers", number="+254 711 000 111", language="sw")
    with desk.unit_of_work() as work:
        assert work.phones.find("+254711000111").language == "sw"
    assert "None is known yet" in operator.page


def test_a_new_caller_without_a_number_is_refused(operator: Any) -> None:
    find(operator, "nobody at all")
    operator.post(f"{HELPLINE}/callers", number="twelve")
    assert operator.status == 422
    assert "That is no phone number" in operator.alert


def test_the_callers_page_shows_who_what_and_which_words(desk: Any, operator: Any) -> None:
    phone, plot = desk.caller()
    desk.keep(
        "consents", Consent(desk.new_id(), phone.id, desk.now, True, "yes please", "call")
    )  # fmt: skip
    plot_page = f"{page_of(phone)}/plots/{plot.id}"
    operator.get(f"{plot_page}/send")
    operator.post(f"{plot_page}/send", what="plan/short")
    page = operator.get(page_of(phone))
    for words in ("Tomato", "Kotsindo", "yes please", "Waits to be sent", "To the caller"):
        assert words in page
    assert "Weakest dripper" in page


def test_a_draft_language_is_said_to_the_operator(desk: Any, operator: Any) -> None:
    phone, plot = desk.caller()
    assert "no speaker has read" not in operator.get(page_of(phone))
    with desk.unit_of_work() as work:
        work.phones.set_language(phone.id, "hi")
        work.commit()
    addresses = ("", f"/plots/{plot.id}", f"/plots/{plot.id}/send", f"/plots/{plot.id}/form/plan")
    for address in addresses:
        page = operator.get(page_of(phone) + address)
        assert "no speaker has read the हिन्दी texts yet" in page, address


def test_people_are_added_and_changed(desk: Any, operator: Any) -> None:
    phone, _ = desk.caller()
    operator.get(page_of(phone))
    operator.post(f"{page_of(phone)}/people", new_name=" Juma ", new_groups="hill, river")
    with desk.unit_of_work() as work:
        juma = work.people.of_phone(phone.id)[-1]
    assert (juma.name, juma.groups) == ("Juma", ("hill", "river"))
    changed = {f"name-{juma.id}": "Juma O", f"groups-{juma.id}": "", f"note-{juma.id}": "evenings"}
    page = operator.post(f"{page_of(phone)}/people/{juma.id}", **changed)
    assert "The change is kept." in operator.notice
    assert "Juma O" in page
    assert "evenings" in page


def test_a_refused_name_keeps_what_was_typed(desk: Any, operator: Any) -> None:
    phone, _ = desk.caller()
    operator.get(page_of(phone))
    page = operator.post(f"{page_of(phone)}/people", new_name=" ", new_groups="hill")
    assert operator.status == 422
    assert "A name has 1 to 80 letters." in operator.alert
    assert 'value="hill"' in page


def test_several_plots_are_added_named_and_turned_to(desk: Any, operator: Any) -> None:
    phone, first = desk.caller()
    operator.get(page_of(phone))
    operator.post(f"{page_of(phone)}/plots", plot_name="River side", plot_district="velmora")
    with desk.unit_of_work() as work:
        second = next(one for one in work.plots.of_phone(phone.id) if one.id != first.id)
    assert (second.name, second.district, second.current) == ("River side", "velmora", True)
    name = {f"plot-{first.id}": "Hill", f"whose-{first.id}": ""}
    operator.post(f"{page_of(phone)}/plots/{first.id}/name", **name)
    operator.post(f"{page_of(phone)}/plots/{first.id}/turn-to")
    with desk.unit_of_work() as work:
        kept = {one.name: one.current for one in work.plots.of_phone(phone.id)}
    assert kept == {"Hill": True, "River side": False}


def test_a_plot_goes_to_a_person_of_the_phone_only(desk: Any, operator: Any) -> None:
    phone, plot = desk.caller()
    other = desk.keep("phones", Phone(desk.new_id(), "+10005550101", "en", desk.now))
    stranger = desk.keep("people", Person(desk.new_id(), other.id, "X", desk.now))
    operator.get(page_of(phone))
    form = {f"plot-{plot.id}": "Hill", f"whose-{plot.id}": stranger.id}
    operator.post(f"{page_of(phone)}/plots/{plot.id}/name", **form)
    assert operator.status == 422
    assert "does not belong to this phone" in operator.alert


def test_the_language_and_the_ledger(desk: Any, operator: Any) -> None:
    phone, _ = desk.caller()
    operator.get(page_of(phone))
    operator.post(f"{page_of(phone)}/language", language="sw")
    operator.post(f"{page_of(phone)}/consent", said="ndiyo, nitumie", given="yes", how="call")
    assert "It is in the ledger." in operator.notice
    with desk.unit_of_work() as work:
        line = work.consents.latest(phone.id)
        assert work.phones.get(phone.id).language == "sw"
    assert (line.given, line.words, line.by) == (True, "ndiyo, nitumie", "operator")


@pytest.mark.parametrize("form", [{}, {"given": "yes", "how": "rumour"}, {"how": "call"}])
def test_no_consent_without_a_choice(desk: Any, operator: Any, form: dict[str, str]) -> None:
    phone, _ = desk.caller()
    operator.get(page_of(phone))
    page = operator.post(f"{page_of(phone)}/consent", said="yes yes", **form)
    assert operator.status == 422
    assert 'value="yes yes"' in page
    with desk.unit_of_work() as work:
        assert work.consents.latest(phone.id) is None


def test_a_plot_of_another_phone_is_not_found(desk: Any, operator: Any) -> None:
    phone, _ = desk.caller()
    _, other_plot = desk.caller("+10005550101", "Ashok")
    operator.get(f"{page_of(phone)}/plots/{other_plot.id}")
    assert operator.status == 404


def test_a_bound_officer_sees_only_their_district(desk: Any) -> None:
    phone, plot = desk.caller()
    bound = desk.sitter("bound")
    for address in ("", f"/plots/{plot.id}", f"/plots/{plot.id}/form/plan"):
        bound.get(page_of(phone) + address)
        assert bound.status == 403, address


def test_a_name_cannot_bring_markup_into_the_page(desk: Any, operator: Any) -> None:
    phone, _ = desk.caller(name='<img src=x onerror="1">')
    assert "<img src=x" not in operator.get(page_of(phone))


# --- given out and erased -------------------------------------------------------------------------


def test_only_an_admin_gives_out_what_is_kept(desk: Any, operator: Any) -> None:
    phone, _ = desk.caller()
    operator.get(f"{page_of(phone)}/kept")
    assert operator.status == 403
    admin = desk.sitter("admin")
    admin.get(f"{page_of(phone)}/kept")
    form = {"token": admin.token}
    file = admin.client.post(f"{page_of(phone)}/kept/export", data=form)
    assert file.headers["Content-Disposition"].startswith("attachment")
    assert json.loads(file.text)["phone"]["number"] == "+10005550100"
    assert "caller.exported" in desk.actions()


@pytest.mark.parametrize(
    ("typed", "erased"),
    [("+1 000-555 0100", True), ("0100", False), ("", False), ("+10005550101", False)],
)
def test_erasing_needs_the_whole_number_typed(desk: Any, typed: str, erased: bool) -> None:
    phone, _ = desk.caller()
    admin = desk.sitter("admin")
    admin.get(f"{page_of(phone)}/kept")
    page = admin.post(f"{page_of(phone)}/kept/erase", number=typed, why="asked on the telephone")
    with desk.unit_of_work() as work:
        assert (work.phones.get(phone.id) is None) == erased
    if not erased:
        assert admin.status == 422
        assert 'value="asked on the telephone"' in page


def test_erasing_needs_a_word_on_who_asked(desk: Any) -> None:
    phone, _ = desk.caller()
    admin = desk.sitter("admin")
    admin.get(f"{page_of(phone)}/kept")
    admin.post(f"{page_of(phone)}/kept/erase", number="+10005550100", why="")
    assert admin.alert == "Write down who asked for it, and how."


def test_no_page_of_a_caller_is_heavy(desk: Any, operator: Any) -> None:
    """60 kB is what a page may weigh without its pictures: our own bound, for weak links."""
    phone, plot = desk.caller()
    for number in range(8):
        copy = Plot(desk.new_id(), phone.id, desk.now, desk.now, current=False)
        desk.keep("plots", replace(copy, name=f"Plot with a long name {number}"))
    for address in ("", f"/plots/{plot.id}", f"/plots/{plot.id}/form/plan"):
        assert len(operator.get(page_of(phone) + address).encode()) < 60_000


def test_forms_of_a_page_have_no_two_fields_of_one_id(desk: Any, operator: Any) -> None:
    phone, _ = desk.caller()
    desk.keep("people", Person(desk.new_id(), phone.id, "Juma", desk.now))
    found = re.findall(r'\bid="([^"]+)"', operator.get(page_of(phone)))
    assert len(found) == len(set(found))
