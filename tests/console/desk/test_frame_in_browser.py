"""The frame and the admin's pages in Chromium: keyboard, axe, narrow, dark, right to left."""

from __future__ import annotations

from typing import Any

import pytest

pytestmark = pytest.mark.browser

PASSWORD = "a short sentence to keep"
ADMIN_PAGES = (
    "/desk/",
    "/desk/own",
    "/desk/office/accounts",
    "/desk/office/accounts/new",
    "/desk/office/prices",
    "/desk/office/tables",
    "/desk/office/tables/crops/tomato",
    "/desk/office/tables/districts/velmora",
    "/desk/office/sending",
    "/desk/office/log",
    "/desk/office/nothing",
)


@pytest.mark.parametrize("width", [1280, 360])
def test_nothing_is_wrong_with_the_pages_for_people(
    open_as: Any, faults_of: Any, address: str, width: int, follow: Any
) -> None:
    page = open_as("admin", width=width)
    told: list[str] = []
    page.on("console", lambda message: told.append(f"{message.type}: {message.text}"))
    for path in ADMIN_PAGES:
        page.goto(f"{address}{path}")
        assert faults_of(page) == [], path
    page.goto(f"{address}/desk/office/accounts")
    follow(page.get_by_role("link", name="bound"))
    assert faults_of(page) == []
    assert [one for one in told if "error" in one and "404" not in one] == []


@pytest.mark.parametrize(
    "more", [{"color_scheme": "dark"}, {"locale": "ar"}], ids=["dark", "right_to_left"]
)
def test_nothing_is_wrong_in_the_dark_or_right_to_left(
    open_as: Any, faults_of: Any, address: str, more: Any, follow: Any
) -> None:
    page = open_as("", "/desk/sign-in", width=360, **more)
    assert faults_of(page) == []
    page.fill("#name", "admin")
    page.fill("#password", "a wrong one, and long")
    follow(page.locator("main button.first"))
    assert page.get_by_role("alert").is_visible()
    assert faults_of(page) == []


def test_signing_in_and_making_an_account_by_keyboard_alone(open_as: Any) -> None:
    page = open_as("", "/desk/office/accounts/new")
    page.wait_for_function("() => document.activeElement.id === 'name'")
    page.keyboard.type("admin")
    page.keyboard.press("Tab")
    page.keyboard.type(PASSWORD)
    with page.expect_navigation():
        page.keyboard.press("Enter")
    assert page.locator("h1").inner_text() == "Make an account"
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.className") == "skip"
    with page.expect_event("framenavigated"):
        page.keyboard.press("Enter")
    page.keyboard.press("Tab")
    page.keyboard.type("Neema")
    page.keyboard.press("Tab")
    page.keyboard.press("Space")
    with page.expect_navigation():
        page.keyboard.press("Enter")
    assert len(page.locator("#password").inner_text()) == 19


def test_every_control_shows_when_it_has_the_focus(open_as: Any) -> None:
    page = open_as("admin", "/desk/office/accounts/new")
    page.wait_for_selector("h1")
    seen = set()
    for _ in range(25):
        page.keyboard.press("Tab")
        tag, style, width = page.evaluate(
            "() => { const e = document.activeElement, s = getComputedStyle(e);"
            " return [e.tagName, s.outlineStyle, parseFloat(s.outlineWidth)]; }"
        )
        if tag != "BODY":
            seen.add(tag)
            assert style == "solid", tag
            assert width >= 2, tag
    assert {"A", "BUTTON", "INPUT", "SELECT"} <= seen


def test_it_works_without_scripts(open_as: Any, follow: Any) -> None:
    page = open_as("admin", "/desk/own", java_script_enabled=False)
    page.get_by_label("Language of your pages").select_option("sw")
    follow(page.locator("form", has=page.locator("#language")).get_by_role("button"))
    assert page.locator("html").get_attribute("lang") == "sw"


def test_a_price_list_is_loaded(open_as: Any, faults_of: Any, tmp_path: Any, follow: Any) -> None:
    page = open_as("admin", "/desk/office/prices")
    file = tmp_path / "mine.csv"
    file.write_text("item,price,currency\nvalve_dn20,1,5,QVL\nnothing,2.00,QVL\n")
    page.get_by_label("File (CSV, UTF-8)").set_input_files(file)
    follow(page.get_by_role("button", name="Look at it"))
    assert "2 rows must be put right" in page.get_by_role("alert").inner_text()
    assert faults_of(page) == []
    page.get_by_label("Put it right here").fill("item,price,currency\nvalve_dn20,1.50,QVL\n")
    follow(page.get_by_role("button", name="Look at it again"))
    assert faults_of(page) == []
    follow(page.get_by_role("button", name="Keep these prices"))
    assert "in use from the next start" in page.get_by_role("status").inner_text()
