"""The handset page in a real browser: by keyboard alone, without scripts, at 1280 and 360 px."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from flask import Flask
from playwright.sync_api import Browser, Page

from service.channels import cost_of

pytestmark = pytest.mark.browser


@pytest.fixture
def address(app: Flask, serve: Any) -> Iterator[str]:
    with serve(app) as address:
        yield f"{address}/"


@pytest.fixture(params=[1280, 360])
def page(request: pytest.FixtureRequest, browser: Browser) -> Iterator[Page]:
    context = browser.new_context(
        viewport={"width": request.param, "height": 800}, java_script_enabled=True
    )
    page = context.new_page()
    page.set_default_timeout(10_000)
    yield page
    context.close()


def keyboard(page: Page, text: str) -> None:
    """Type an answer into whatever has the focus, and send it by Enter."""
    page.wait_for_function("() => document.activeElement !== document.body")
    page.keyboard.type(text)
    with page.expect_navigation():
        page.keyboard.press("Enter")


def sideways(page: Page) -> Any:
    return page.evaluate("document.documentElement.scrollWidth - window.innerWidth")


def test_a_plan_is_begun_by_keyboard_alone(page: Page, address: str) -> None:
    faults: list[str] = []
    page.on("console", lambda message: faults.append(message.text))
    page.on("requestfailed", lambda request: faults.append(request.url))
    page.goto(address)
    keyboard(page, "")
    for _ in range(8):
        screen = page.locator("#a-screen").inner_text()
        if "Plan a drip plot" in screen:
            break
        keyboard(page, "1" if "\n1 " in screen else "aru")
    keyboard(page, "plan a drip plot")
    keyboard(page, "25 paces")
    assert "How wide is the plot?" in page.locator("#a-screen").inner_text()
    assert sideways(page) <= 0
    assert faults == []


def test_it_works_with_scripts_switched_off(browser: Browser, address: str, follow: Any) -> None:
    context = browser.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto(address)
    follow(page.get_by_role("button", name="Begin").first)
    page.get_by_label("Your answer").fill("1")
    follow(page.get_by_role("button", name="Send"))
    assert page.locator("#a-screen").inner_text()
    page.locator("#a-language").select_option("hi")
    follow(page.locator("form", has=page.locator("#a-language")).get_by_role("button"))
    assert page.locator("html").get_attribute("lang") == "hi"
    context.close()


def test_every_control_shows_when_it_has_the_focus(page: Page, address: str) -> None:
    page.goto(address)
    keyboard(page, "")
    page.wait_for_selector("#a-text")
    seen = []
    for _ in range(7):
        focused = page.evaluate(
            "() => { const e = document.activeElement, s = getComputedStyle(e);"
            " return [e.tagName, s.outlineStyle, parseFloat(s.outlineWidth)]; }"
        )
        seen.append(focused)
        page.keyboard.press("Tab")
    assert [tag for tag, _, _ in seen] == [
        "INPUT",
        "BUTTON",
        "BUTTON",
        "SELECT",
        "BUTTON",
        "SELECT",
        "BUTTON",
    ]
    assert all(style == "solid" and width >= 2 for _, style, width in seen)


CONTRAST = """() => {
  const light = c => { const v = c.match(/[\\d.]+/g).slice(0, 3).map(x => x / 255)
      .map(x => x <= 0.03928 ? x / 12.92 : ((x + 0.055) / 1.055) ** 2.4);
    return 0.2126 * v[0] + 0.7152 * v[1] + 0.0722 * v[2]; };
  const ground = e => { for (; e; e = e.parentElement) {
      const c = getComputedStyle(e).backgroundColor;
      if (!c.endsWith(', 0)') && c !== 'transparent') return c; } return 'rgb(255,255,255)'; };
  const out = [];
  for (const e of document.querySelectorAll('h1,h2,p,label,input,select,button,q,span')) {
    if (!e.textContent.trim() && e.tagName !== 'INPUT') continue;
    const a = light(getComputedStyle(e).color), b = light(ground(e));
    out.push([e.tagName + '.' + e.className, (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05)]);
  }
  return out;
}"""


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_all_text_stands_out_from_its_ground(
    browser: Browser, address: str, scheme: Any, follow: Any
) -> None:
    """Contrast of 4.5:1 and more, as WCAG 2 asks of text at level AA (from memory)."""
    context = browser.new_context(color_scheme=scheme)
    page = context.new_page()
    page.goto(address)
    follow(page.get_by_role("button", name="Begin").first)
    page.get_by_label("Your answer").fill("1")
    follow(page.get_by_role("button", name="Send"))
    ratios = page.evaluate(CONTRAST)
    assert len(ratios) > 10
    assert [one for one in ratios if one[1] < 4.5] == []
    context.close()


def faults(page: Page) -> list[str]:
    found = Axe().run(page).response["violations"]
    return [f"{one['id']}: {node['html'][:120]}" for one in found for node in one["nodes"]]


def test_two_phones_one_of_which_texts_in_arabic(page: Page, address: str, follow: Any) -> None:
    page.goto(address)
    assert faults(page) == []
    follow(page.locator("#a button.first"))
    page.locator("#b-channel").select_option("sms")
    follow(page.locator("form", has=page.locator("#b-channel")).get_by_role("button"))
    page.locator("#b-language").select_option("ar")
    follow(page.locator("form", has=page.locator("#b-language")).get_by_role("button"))
    assert page.locator("#b").get_attribute("dir") == "rtl"
    assert page.locator("#a").get_attribute("dir") == "ltr"
    page.wait_for_function("() => document.activeElement.id === 'b-text'")
    page.keyboard.type("20 15 tomato 500")
    assert page.locator("#b-typed").inner_text() == "16 / 160"
    with page.expect_navigation():
        page.keyboard.press("Enter")
    assert page.locator("#b-screen").inner_text()
    assert faults(page) == []
    assert sideways(page) <= 0


@pytest.mark.parametrize(
    "typed",
    ["1", "[20]", "x" * 161, "x" * 307, "नमस्ते", "न" * 71, "€" * 80, "😀" * 36, "ñ" * 160],
    ids=["one", "brackets", "two", "three", "hindi", "long_hindi", "euro", "face", "tilde"],
)
def test_what_is_typed_is_counted_as_the_service_counts(
    browser: Browser, address: str, typed: str, follow: Any
) -> None:
    page = browser.new_page()
    page.goto(address)
    page.locator("#a-channel").select_option("sms")
    follow(page.locator("form", has=page.locator("#a-channel")).get_by_role("button"))
    page.locator("#a-text").fill(typed)
    cost = cost_of(typed)
    more = f" × {cost.parts}" if cost.parts > 1 else ""
    assert page.locator("#a-typed").inner_text() == f"{cost.units} / {cost.room}{more}"
    page.close()
