"""Take the pictures of docs/desk.md from the invented valley: `python take_pictures.py [folder]`.

Not a test: run it when the pages look different. Needs Debian's Chromium.
"""

from __future__ import annotations

import io
import sys
import tempfile
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from PIL import Image
from playwright.sync_api import Browser, Page, sync_playwright
from werkzeug.serving import make_server

from service.settings import Settings, read_settings
from service.wiring.app import create_app
from service.wiring.build import Service, build
from service.wiring.demo import prepare_demo
from service.wiring.desk import make_jobs_of_desk
from service.wiring.outreach import make_outreach

NOW = datetime(2026, 11, 25, 9, 0, tzinfo=UTC)
FOLDER = Path(__file__).parents[3] / "docs" / "pictures"
CHROMIUM = "/usr/bin/chromium"
ARGUMENTS = ["--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-background-networking"]
WIDTH, HEIGHT = 960, 640
MOST_OCTETS = 60_000
TEXT = "Dear {name}, rain is short in {district}. {crop}: water {minutes} min a day this week."
BAD_LIST = (
    "number,name,district,crop,weeks,consent\n"
    "+10005550301,Uma Rell,Kotsindo,tomato,3,yes\n"
    "12,Vito Gan,Moon,onion,many,perhaps\n"
    "+10005550303,,Velmora,okra,2,no\n"
)


class Valley:
    """The demo on a server of its own, with a signed-in page for each role."""

    def __init__(self, browser: Browser, address: str, passwords: Any, parts: Any) -> None:
        self.browser, self.address, self.passwords = browser, address, passwords
        self.service, self.settings = parts

    def page(self, role: str, width: int = WIDTH, height: int = HEIGHT, **more: Any) -> Page:
        context = self.browser.new_context(viewport={"width": width, "height": height}, **more)
        page = context.new_page()
        page.set_default_timeout(15_000)
        page.goto(f"{self.address}/desk/sign-in")
        page.fill("#name", role)
        page.fill("#password", self.passwords[role])
        page.click("main button.first")
        return page

    def go(self, page: Page, path: str) -> Page:
        page.goto(f"{self.address}/desk/{path}")
        return page

    def caller(self, page: Page, name: str) -> None:
        """Open a caller's page by the name."""
        self.go(page, "helpline/find")
        page.fill("#find", name)
        page.keyboard.press("Enter")
        page.wait_for_url("**/callers/**")

    def message(self, page: Page) -> str:
        """Write a seasonal message; return its id."""
        self.go(page, "field/seasonal/new")
        page.fill("#title", "Rain is short")
        page.fill("#text_en", TEXT)
        page.click("main form button.first")
        return page.url.rsplit("/", 1)[1]

    def step(self, key: str) -> None:
        """Do what `litreline work` does for a message."""
        outreach = make_outreach(self.settings, self.service)
        with self.service.database.unit_of_work() as work:
            message = work.seasonals.get(key)
        assert message is not None
        outreach.seasonal.continue_batch(key, message.cursor, NOW)


@contextmanager
def valley() -> Iterator[Valley]:
    """Serve the demo from a folder that is thrown away."""
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
        settings: Settings = read_settings({"LITRELINE_DATA_DIR": folder})
        service: Service = build(settings, clock=lambda: NOW)
        service.database.migrate()
        passwords = prepare_demo(service, make_jobs_of_desk(service, settings)).passwords
        app = create_app(settings, service)
        server = make_server("127.0.0.1", 0, app, threaded=True)
        thread = threading.Thread(target=server.serve_forever)
        thread.start()
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=ARGUMENTS)
        address = f"http://127.0.0.1:{server.port}"
        try:
            yield Valley(browser, address, passwords, (service, settings))
        finally:
            browser.close()
            server.shutdown()
            thread.join()
            service.database.close()


# --- what is shown --------------------------------------------------------------------------------


def operator_pictures(valley: Valley, take: Callable[[Page, str], None]) -> None:
    """From the queue to the advice that leaves."""
    page = valley.page("operator")
    take(valley.go(page, "helpline/tickets"), "operator-tickets")
    valley.caller(page, "Asha")
    take(page, "operator-caller")
    page.get_by_role("button", name="Screen by screen").click()
    take(page, "operator-walk")
    valley.caller(page, "Asha")
    page.click(".tiles li:has(.tag.good) a")
    take(page, "operator-plot")
    plot = page.url
    page.goto(f"{plot}/form/plan")
    take(page, "operator-form")
    page.goto(f"{plot}/send")
    take(page, "operator-send")


def officer_pictures(valley: Valley, take: Callable[[Page, str], None]) -> None:
    """Lists, a message that goes out, visits, a paper form."""
    page = valley.page("officer")
    take(valley.go(page, "field/farmers"), "officer-farmers")
    valley.go(page, "field/import")
    file: Any = {"name": "mine.csv", "mimeType": "text/csv", "buffer": BAD_LIST.encode()}
    page.set_input_files("#file", file)
    page.click("main form button.first")
    take(page, "officer-import")
    take(valley.go(page, "field/visits"), "officer-visits")
    take(valley.go(page, "field/rain"), "officer-rain")
    key = valley.message(page)
    take(valley.go(page, f"field/seasonal/{key}/look"), "officer-look")
    valley.go(page, f"field/seasonal/{key}")
    page.click("main form button.first")
    page.click("main form button.first")
    valley.step(key)
    take(valley.go(page, f"field/seasonal/{key}"), "officer-progress")
    take(valley.go(page, "field/calendar"), "officer-calendar")
    take(valley.go(page, "field/enrol"), "officer-enrol")


def admin_pictures(valley: Valley, take: Callable[[Page, str], None]) -> None:
    """Accounts, prices, how sending stands."""
    page = valley.page("admin")
    take(valley.go(page, "office/accounts"), "admin-accounts")
    take(valley.go(page, "office/prices"), "admin-prices")
    take(valley.go(page, "office/sending"), "admin-sending")


# --- small PNGs -----------------------------------------------------------------------------------


def small_png(raw: bytes) -> bytes:
    """Return a PNG of at most 256 colours: a page has few, and a palette is a third of the size."""
    out = io.BytesIO()
    few = Image.open(io.BytesIO(raw)).convert("RGB").quantize(256, dither=Image.Dither.NONE)
    few.save(out, "PNG", optimize=True)
    return out.getvalue()


def main(folder: Path = FOLDER) -> None:
    """Take all pictures."""

    def take(page: Page, name: str) -> None:
        raw = small_png(page.screenshot(animations="disabled"))
        if len(raw) > MOST_OCTETS:
            raise SystemExit(f"{name} has {len(raw)} octets, more than {MOST_OCTETS}")
        (folder / f"desk-{name}.png").write_bytes(raw)
        sys.stdout.write(f"{name} {len(raw)}\n")

    with valley() as shown:
        for pictures in (operator_pictures, officer_pictures, admin_pictures):
            pictures(shown, take)


if __name__ == "__main__":
    main(*map(Path, sys.argv[1:2]))
