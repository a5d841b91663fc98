"""The officer's pages in Chromium: each job by mouse or keyboard, and no page shuts people out."""

from __future__ import annotations

import io
from typing import Any

import pytest
from pypdf import PdfReader

from service.records import Consent, Ticket
from service.settings import read_settings
from service.wiring.outreach import make_outreach

pytestmark = pytest.mark.browser

LISTS = ("farmers", "farmers/list", "import", "visits", "rain", "calendar", "seasonal",
         "seasonal/new", "enrol", "enrol/paper")  # fmt: skip
GOOD = "number,name,district,crop,consent\n+10005550301,Uma Rell,Kotsindo,tomato,yes\n"
BAD = GOOD + "12,Vito Gan,Moon,onion,perhaps\n"


@pytest.fixture
def farmers(desk: Any) -> list[Any]:
    """Five who agreed to reminders: one with a danger, three with the same fault."""
    found = []
    for n, name in enumerate(("Asha", "Ben", "Cara", "Dina", "Esi")):
        seen = {"fault_seen": "far_end_dry", "fault_seen_on": "2026-11-23"} if n > 1 else {}
        phone, plot = desk.caller(f"+1000555010{n}", name, **seen)
        desk.keep("consents", Consent(desk.new_id(), phone.id, desk.now, True, "yes", "paper"))
        found.append((phone, plot))
    danger = Ticket(desk.new_id(), found[0][0].id, "call_back", "d", desk.now, danger="stand_leans")
    desk.keep("tickets", danger)
    return found


def write(page: Any, address: str, follow: Any) -> str:
    page.goto(f"{address}/desk/field/seasonal/new")
    page.fill("#title", "Rain is near")
    page.get_by_label("Kotsindo").check()
    page.fill("#text_en", "Rain is near, {name}. Water {minutes} min today.")
    follow(page.get_by_role("button", name="Keep as a draft"))
    return str(page.url.rsplit("/", 1)[1])


@pytest.fixture
def go_on(desk: Any) -> Any:
    """Do what `litreline work` does for a message, a step."""
    settings = read_settings({"LITRELINE_DATA_DIR": str(desk.data_dir), "LITRELINE_REGION": "KE"})
    outreach = make_outreach(settings, desk.app.extensions["litreline"])

    def step(key: str) -> None:
        with desk.unit_of_work() as work:
            cursor = work.seasonals.get(key).cursor
        outreach.seasonal.continue_batch(key, cursor, desk.now)

    return step


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [1280, 360])
def test_no_page_shuts_anybody_out(
    desk: Any, open_as: Any, address: str, faults_of: Any, farmers: list[Any], width: int,
    scheme: str, follow: Any,
) -> None:  # fmt: skip
    page = open_as("officer", "/desk/", width=width, color_scheme=scheme)
    for path in LISTS:
        page.goto(f"{address}/desk/field/{path}")
        assert faults_of(page) == [], path
    for text in (BAD, GOOD):
        page.goto(f"{address}/desk/field/import")
        file = {"name": "mine.csv", "mimeType": "text/csv", "buffer": text.encode()}
        page.set_input_files("#file", file)
        follow(page.get_by_role("button", name="Look at it"))
        assert faults_of(page) == [], text
    for path in ("handover", "record"):
        page.goto(f"{address}/desk/field/plots/{farmers[0][1].id}/{path}")
        assert faults_of(page) == [], path


@pytest.mark.parametrize("width", [1280, 360])
def test_a_seasonal_message_from_the_first_word_to_the_results(
    desk: Any, open_as: Any, address: str, faults_of: Any, farmers: list[Any], go_on: Any,
    width: int, follow: Any,
) -> None:  # fmt: skip
    page = open_as("officer", "/desk/", width=width)
    key = write(page, address, follow)
    assert faults_of(page) == []
    follow(page.get_by_role("link", name="Look at it on real recipients"))
    assert "Rain is near, " in page.locator(".screen").first.inner_text()
    assert faults_of(page) == []
    follow(page.get_by_role("button", name="Send it to my own phone"))
    assert "On its way" in page.locator(".notice").inner_text()
    page.goto(f"{address}/desk/field/seasonal/{key}")
    follow(page.get_by_role("button", name="It is ready"))
    assert faults_of(page) == []
    follow(page.get_by_role("button", name="Start"))
    assert faults_of(page) == []
    go_on(key)
    # The page's own script puts the news in; nobody presses anything.
    page.get_by_text("5 of 5 plots").wait_for(timeout=15_000)
    follow(page.get_by_role("button", name="Pause"))
    assert faults_of(page) == []
    follow(page.get_by_role("button", name="Go on"))
    page.get_by_text("Cancel this message").click()
    page.get_by_label("I am sure").check()
    follow(page.get_by_role("button", name="Cancel it"))
    assert "5 texts were still taken back" in page.locator(".notice").inner_text()
    with page.expect_download() as download:
        page.get_by_role("link", name="Results as CSV").click()
    assert download.value.suggested_filename == "seasonal-results.csv"


def test_progress_is_seen_without_scripts_too(
    desk: Any, open_as: Any, address: str, farmers: list[Any], go_on: Any, follow: Any
) -> None:
    page = open_as("officer", "/desk/", java_script_enabled=False)
    key = write(page, address, follow)
    follow(page.get_by_role("button", name="It is ready"))
    follow(page.get_by_role("button", name="Start"))
    go_on(key)
    follow(page.get_by_role("link", name="Look again"))
    assert "5 of 5 plots" in page.locator("main").inner_text()


def test_a_message_that_ends_elsewhere_loses_its_buttons_by_itself(
    desk: Any, open_as: Any, address: str, farmers: list[Any], follow: Any
) -> None:
    page = open_as("officer", "/desk/")
    key = write(page, address, follow)
    follow(page.get_by_role("button", name="It is ready"))
    follow(page.get_by_role("button", name="Start"))
    other = open_as("admin", f"/desk/field/seasonal/{key}")
    follow(other.get_by_role("button", name="Pause"))
    page.get_by_role("button", name="Go on").wait_for(timeout=15_000)


def test_a_list_is_taken_in_by_keyboard_alone(desk: Any, open_as: Any, address: str) -> None:
    page = open_as("officer", "/desk/field/import")
    # A file dialog is the browser's own; what is around it is ours.
    file = {"name": "mine.csv", "mimeType": "text/csv", "buffer": GOOD.encode()}
    page.set_input_files("#file", file)
    page.focus("#file")
    page.keyboard.press("Tab")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.innerText") == "Look at it"
    page.keyboard.press("Enter")
    page.get_by_role("button", name="Take in 1 farmer").wait_for()
    page.get_by_role("button", name="Take in 1 farmer").focus()
    page.keyboard.press("Enter")
    page.locator(".notice").wait_for()
    assert page.locator(".notice").inner_text() == "1 farmer is taken in."


def test_rain_is_reported_by_keyboard_alone(desk: Any, open_as: Any) -> None:
    page = open_as("officer", "/desk/field/rain")
    page.focus("#district")
    page.keyboard.type("Kots")
    page.keyboard.press("Tab")
    # A date has three parts in this browser, each a stop of its own.
    for _ in range(4):
        page.keyboard.press("Tab")
        if page.evaluate("document.activeElement.id") == "mm":
            break
    page.keyboard.type("7.5")
    page.keyboard.press("Enter")
    page.locator(".notice").wait_for()
    assert "Kotsindo" in page.locator(".notice").inner_text()
    assert "7.5" in page.locator("table").inner_text()


def test_the_visits_lead_to_the_plot_and_warn_of_a_cluster(
    desk: Any, open_as: Any, farmers: list[Any], follow: Any
) -> None:
    page = open_as("officer", "/desk/field/visits")
    assert "3 phones told of it" in page.locator(".cluster").inner_text()
    first = page.locator("tbody tr").first
    assert "danger" in first.inner_text()
    follow(first.get_by_role("link", name="Asha").first)
    assert "/plots/" in page.url
    assert page.locator("h1").is_visible()


def test_the_paper_form_fits_two_pages_and_shows_no_menu(open_as: Any) -> None:
    page = open_as("officer", "/desk/field/enrol/paper")
    printed = PdfReader(io.BytesIO(page.pdf(prefer_css_page_size=True)))
    assert len(printed.pages) == 2
    text = " ".join(one.extract_text() for one in printed.pages)
    assert "New farmer and plot" in text
    assert "Sign out" not in text
    assert "signature" in text


def test_a_paper_form_is_typed_in_and_its_record_printed(
    desk: Any, open_as: Any, follow: Any
) -> None:
    page = open_as("officer", "/desk/field/enrol", width=360)
    typed = {"number": "0712345678", "name": "Amina", "laid_lines": "15", "tank_volume_l": "500",
             "laid_line_length_m": "20", "weeks_since_planting": "5", "stand_height_m": "1.5",
             "cups": "48 47 49 46\n" * 4}  # fmt: skip
    for name, value in typed.items():
        page.fill(f"#{name}", value)
    page.select_option("#district", "kotsindo")
    page.select_option("#crop", index=1)
    page.get_by_label("Yes, send reminders").check()
    follow(page.get_by_role("button", name="Keep and show the record"))
    assert page.locator("h1").inner_text() == "Handover record"
    assert "cup test with 16 cups" in page.locator("main").inner_text()
    printed = PdfReader(io.BytesIO(page.pdf(prefer_css_page_size=True)))
    assert len(printed.pages) == 1
