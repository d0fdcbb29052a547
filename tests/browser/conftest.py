"""A real browser, pages at the width of a phone and of a desk, and the check every page has to pass."""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable, Iterator
from datetime import datetime
from pathlib import Path

import pytest
from flask import Flask
from playwright.sync_api import Browser, ConsoleMessage, Error, Page, Request, ViewportSize, sync_playwright

from tests.browser.live_server import served
from tests.needed import CHROMIUM_SETTING, needed
from tests.small_service import SmallService
from tests.web_app import COOKIE, signed_in_cookie

HERE = Path(__file__).resolve().parent
SHOTS = HERE / "shots"
AXE = HERE / "vendor" / "axe.min.js"
PHONE = ViewportSize(width=390, height=844)
DESK = ViewportSize(width=1280, height=900)
SWITCHES = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
RUN_AXE = """() => axe.run(document, {resultTypes: ['violations']}).then(found => found.violations.map(
    fault => `${fault.id} (${fault.impact}): ${fault.nodes.map(node => node.target.join(' ')).join(', ')}`))"""
OVERHANG = "() => document.documentElement.scrollWidth - document.documentElement.clientWidth"


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Everything below this folder needs the browser."""
    for item in items:
        if item.path.is_relative_to(HERE):
            item.add_marker(pytest.mark.browser)


def chromium_program() -> str:
    """The browser to run."""
    return os.environ.get(CHROMIUM_SETTING, shutil.which("chromium")) or needed(CHROMIUM_SETTING, "Chromium")


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """One Chromium for all tests; each test opens its own clean context in it."""
    program = chromium_program()
    with sync_playwright() as playwright:
        opened = playwright.chromium.launch(executable_path=program, args=SWITCHES)
        yield opened
        opened.close()


class Window:
    """One clean browser context with one page, and all it complained about."""

    def __init__(self, browser: Browser, size: ViewportSize) -> None:
        self.context = browser.new_context(viewport=size, reduced_motion="reduce", locale="en-GB")
        self.size = size
        self.complaints: list[str] = []
        self.page = self.context.new_page()
        self.page.set_default_timeout(10_000)
        self.page.on("console", self._note_console)
        self.page.on("pageerror", lambda error: self.complaints.append(f"script error: {error}"))
        self.page.on("requestfailed", self._note_failed_request)

    def _note_console(self, message: ConsoleMessage) -> None:
        self.complaints.append(f"console {message.type}: {message.text}")

    def _note_failed_request(self, request: Request) -> None:
        if request.failure != "net::ERR_ABORTED":
            self.complaints.append(f"request failed: {request.url} {request.failure}")


OpenWindow = Callable[[ViewportSize], Page]
CheckPage = Callable[..., None]


@pytest.fixture
def windows() -> Iterator[dict[Page, Window]]:
    """The windows this test opened, by their page; closed at its end."""
    opened: dict[Page, Window] = {}
    yield opened
    for window in opened.values():
        window.context.close()


@pytest.fixture
def open_page(browser: Browser, windows: dict[Page, Window]) -> OpenWindow:
    """Opens a page of the given size in a context of its own: `open_page(PHONE)`."""

    def make(size: ViewportSize) -> Page:
        window = Window(browser, size)
        windows[window.page] = window
        return window.page

    return make


@pytest.fixture
def phone(open_page: OpenWindow) -> Page:
    """A page as wide as a phone."""
    return open_page(PHONE)


@pytest.fixture
def desk(open_page: OpenWindow) -> Page:
    """A page as wide as a desk screen."""
    return open_page(DESK)


@pytest.fixture(params=[PHONE, DESK], ids=["phone", "desk"])
def page(request: pytest.FixtureRequest, open_page: OpenWindow) -> Page:
    """A page, once as wide as a phone and once as a desk screen."""
    return open_page(request.param)


@pytest.fixture
def live_server(app: Flask) -> Iterator[str]:
    """The address of `app`, served as in service; its data is that of `small_sqlite`."""
    with served(app) as address:
        yield address


@pytest.fixture
def sign_in_as(
    live_server: str, small_sqlite: SmallService, clock: Callable[[], datetime]
) -> Callable[[Page, str], None]:
    """Signs a person of the small service in on a page: `sign_in_as(phone, "mira")`."""

    def sign_in(page: Page, name: str) -> None:
        value = signed_in_cookie(small_sqlite, name, clock)
        page.context.add_cookies([{"name": COOKIE, "value": value, "url": live_server}])

    return sign_in


def picture(page: Page, path: Path, *, tries: int = 3) -> None:
    """Keep a picture of the whole page; a browser busy with other windows is asked again, since nothing depends on it.

    What the page has to pass is checked apart from its picture.
    """
    for left in reversed(range(tries)):
        try:
            page.screenshot(path=path, full_page=True)
        except Error:
            if left == 0:
                raise
            page.wait_for_timeout(500)
        else:
            return


@pytest.fixture
def check_page(windows: dict[Page, Window]) -> CheckPage:
    """The check every page has to pass: `check_page(page, "name of its picture")`.

    No accessibility violation, nothing in the console, nothing wider than the window; a picture is kept in shots/.
    `refused` names the status of an answer that was meant to be refused (422 for a form with errors), which the
    browser itself reports in the console.
    """

    def check(page: Page, name: str, *, refused: int | None = None) -> None:
        window = windows[page]
        SHOTS.mkdir(exist_ok=True)
        unexpected = [line for line in window.complaints if f"responded with a status of {refused} " not in line]
        picture(page, SHOTS / f"{name}-{window.size['width']}.png")
        page.evaluate(AXE.read_text(encoding="utf-8"))
        violations: list[str] = page.evaluate(RUN_AXE)
        overhang: int = page.evaluate(OVERHANG)
        # Picture and check bring scripts and styles of their own; what the browser says to those is not the page's.
        window.complaints.clear()
        assert (violations, unexpected, overhang) == ([], [], 0)

    return check
