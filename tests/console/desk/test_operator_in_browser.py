"""The operator's jobs in Chromium: by keyboard alone, narrow and wide, with and without scripts."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest

from service.channels import Incoming
from service.records import Consent, Person, Plot, Review, Ticket

pytestmark = pytest.mark.browser
HELPLINE = "/desk/helpline"


@pytest.fixture
def full(desk: Any) -> dict[str, str]:
    """Keep a bit of everything; return the addresses of the operator's pages by name."""
    phone, plot = desk.caller()
    person = desk.keep("people", Person(desk.new_id(), phone.id, "Juma", desk.now, ("hill",)))
    bare = Plot(desk.new_id(), phone.id, desk.now, desk.now, "River side", current=False)
    desk.keep("plots", bare)
    desk.keep("consents", Consent(desk.new_id(), phone.id, desk.now, True, "yes", "call"))
    ago = desk.now - timedelta(hours=3)
    so_far = {"flow": "fault", "state": "see", "answers": {"fault_seen": "dry"}}
    ticket = Ticket(
        desk.new_id(), phone.id, "call_back", "a", ago, "dry", "gas", plot.id, so_far=so_far
    )  # fmt: skip
    desk.keep("tickets", ticket)
    desk.keep("tickets", Ticket(desk.new_id(), phone.id, "missed_call", "b", ago))
    with desk.unit_of_work() as work:
        work.consents.add_review(Review(desk.new_id(), phone.id, desk.now, "stp", "sms"))
        work.commit()
    turns = desk.app.extensions["litreline"].turns
    turns.take(Incoming("ussd", "+10005550100", "c", 0, "*100#", phase="begin"), desk.now)
    turns.take(Incoming("ussd", "+10005550100", "c", 1, "3"), desk.now)
    with desk.unit_of_work() as work:
        session = work.sessions.open_of_phone(phone.id)[0]
    caller = f"{HELPLINE}/callers/{phone.id}"
    here = f"{caller}/plots/{plot.id}"
    assert person.name == "Juma"
    return {
        "find": f"{HELPLINE}/find",
        "caller": caller,
        "plot": here,
        "bare plot": f"{caller}/plots/{bare.id}",
        "why": f"{here}/why",
        "send": f"{here}/send",
        "plan": f"{here}/form/plan",
        "fault": f"{here}/form/fault",
        "treatment": f"{here}/treatment",
        "acid": f"{here}/treatment?which=acid",
        "look": f"{HELPLINE}/walks/{session.id}?look=1",
        "queue": f"{HELPLINE}/tickets",
        "missed": f"{HELPLINE}/missed-calls",
        "ticket": f"{HELPLINE}/tickets/{ticket.id}",
        "stops": f"{HELPLINE}/near-stops",
        "kept": f"{caller}/kept",
    }


@pytest.mark.parametrize("width", [1280, 360])
def test_no_page_has_a_fault_for_people(
    full: Any, open_as: Any, faults_of: Any, address: str, width: int
) -> None:
    page, told = open_as("admin", full["find"], width=width), []
    page.on("console", lambda message: told.append(f"{page.url}: {message.text}"))
    for name, path in full.items():
        page.goto(address + path)
        page.evaluate("document.querySelectorAll('details').forEach(one => one.open = true)")
        told += [f"{name}: {fault}" for fault in faults_of(page)]
    assert told == []


def test_a_page_that_is_read_from_right_to_left_fits_too(
    desk: Any, full: Any, open_as: Any, faults_of: Any, address: str
) -> None:
    desk.account("mudir", "operator", language="ar")
    page = open_as("mudir", full["caller"], width=360)
    assert page.locator("html").get_attribute("dir") == "rtl"
    for name in ("caller", "plot", "plan", "look", "ticket"):
        page.goto(address + full[name])
        assert faults_of(page) == [], name


def press(page: Any, text: str = "") -> None:
    """Type into whatever has the focus, and send it by Enter."""
    page.wait_for_function("() => document.activeElement !== document.body")
    page.keyboard.type(text)
    with page.expect_navigation():
        page.keyboard.press("Enter")


NAMED = """() => {
  const at = document.activeElement;
  return (at.labels?.length ? at.labels[0] : at).textContent.trim();
}"""
"""What the control that has the focus is called."""


def tab_to(page: Any, name: str) -> None:
    """Press the tab key until a control of that name has the focus."""
    for _ in range(40):
        page.keyboard.press("Tab")
        if page.evaluate(NAMED) == name:
            return
    pytest.fail(f"{name} is not reached by the tab key")


@pytest.mark.parametrize("width", [1280, 360])
def test_sign_in_find_a_caller_and_answer_by_keyboard_alone(
    desk: Any, open_as: Any, address: str, width: int
) -> None:
    _, plot = desk.caller()
    page = open_as("", "/desk/sign-in?next=/desk/helpline/find", width=width)
    page.wait_for_function("() => document.activeElement.id === 'name'")
    page.keyboard.type("operator")
    page.keyboard.press("Tab")
    press(page, "a short sentence to keep")
    press(page, "550100")
    assert page.locator("h1").inner_text() == "Asha"
    page.keyboard.type("My plot")
    tab_to(page, "Screen by screen")
    press(page)
    # "Something on it": the minutes of a full tank, told by number.
    press(page, "4")
    press(page, "90")
    with desk.unit_of_work() as work:
        assert work.plots.get(plot.id).answers["laid_minutes"] == 90


def test_the_next_ticket_is_taken_and_closed_by_keyboard_alone(
    desk: Any, full: Any, open_as: Any
) -> None:
    page = open_as("operator", full["queue"])
    press(page)
    assert "Danger" in page.locator(".alert").inner_text()
    tab_to(page, "A note")
    page.keyboard.type("Is out in fresh air, sits up.")
    tab_to(page, "Keep the note")
    press(page)
    assert "Is out in fresh air" in page.locator("main").inner_text()
    page.get_by_label("What came of it").focus()
    page.keyboard.type("A nurse is with them.")
    tab_to(page, "Close the ticket")
    press(page)
    assert "The ticket is closed." in page.locator("[role=status]").inner_text()


def test_a_form_is_reckoned_while_one_types(
    desk: Any, full: Any, open_as: Any, follow: Any
) -> None:
    page = open_as("operator", full["plan"])
    before = page.locator("#result").inner_text()
    with page.expect_response(lambda answer: answer.url.find("/result") > 0) as answer:
        page.fill("#stand_height_m", "0.4")
    assert answer.value.status == 200
    page.wait_for_function("() => document.getElementById('result').ariaBusy === 'false'")
    assert page.locator("#result").inner_text() != before
    with page.expect_response(lambda answer: answer.url.find("/result") > 0):
        page.fill("#stand_height_m", "high")
    page.wait_for_selector("#result .alert")
    follow(page.locator("#result .alert a"))
    assert page.evaluate("location.hash") == "#stand_height_m"


def test_without_scripts_a_button_reckons(desk: Any, full: Any, open_as: Any, follow: Any) -> None:
    page = open_as("operator", full["plan"], java_script_enabled=False)
    before = page.locator("#result").inner_text()
    page.fill("#stand_height_m", "0.4")
    follow(page.get_by_role("button", name="Reckon"))
    assert page.locator("#result").inner_text() != before
    assert page.locator("#stand_height_m").input_value() == "0.4"


def test_pictures_and_numbers_of_a_plot_are_there(full: Any, open_as: Any) -> None:
    page = open_as("operator", full["plot"])
    page.evaluate("document.querySelectorAll('img').forEach(one => one.loading = 'eager')")
    page.wait_for_function("() => [...document.images].every(one => one.complete)")
    widths = page.evaluate("[...document.images].map(one => one.naturalWidth)")
    assert len(widths) == 4
    assert min(widths) > 100


@pytest.mark.parametrize("width", [1280, 360])
def test_the_callers_conversation_is_taken_over_and_handed_back(
    full: Any, open_as: Any, faults_of: Any, width: int, follow: Any
) -> None:
    page = open_as("operator", full["caller"], width=width)
    follow(page.get_by_role("button", name="Take over"))
    page.wait_for_function("() => document.activeElement.id === 'text'")
    assert faults_of(page) == []
    press(page, "9")
    assert "Not understood" in page.locator("h2").first.inner_text()
    follow(page.get_by_role("button", name="1 Dry", exact=True))
    follow(page.get_by_role("button", name="Hand back to the caller"))
    assert "The caller goes on alone now." in page.locator("[role=status]").inner_text()


def test_of_several_callers_found_the_first_is_one_key_away(
    desk: Any, open_as: Any, faults_of: Any
) -> None:
    desk.caller()
    desk.caller("+10005550101", "Ashok")
    page = open_as("operator", f"{HELPLINE}/find", width=360)
    press(page, "ash")
    assert faults_of(page) == []
    press(page)
    assert page.locator("h1").inner_text() == "Asha"


@pytest.mark.parametrize("width", [1280, 360])
def test_what_has_the_focus_is_not_hidden_by_the_buttons_at_the_foot(
    full: Any, open_as: Any, width: int
) -> None:
    page = open_as("operator", full["plan"], width=width)
    for _ in range(16):
        page.keyboard.press("Tab")
        hidden = page.evaluate(
            "() => { const one = document.activeElement, foot = document.querySelector('.sticky');"
            " if (foot.contains(one)) return false;"
            " return one.getBoundingClientRect().bottom > foot.getBoundingClientRect().top + 1; }"
        )
        assert not hidden
