"""A day without a network: the sheet survives a reload, a killed browser and a sign-out, and sends by itself later."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, expect

from tests.browser.conftest import PHONE, SWITCHES, chromium_program
from tests.browser.observing_in_browser import expect_sent, made_ready, row, stored_kinds
from tests.observing import opened
from tests.small_service import SmallService

SignIn = Callable[[Page, str], None]
OpenProfile = Callable[[], BrowserContext]


@pytest.fixture
def ready(small_sqlite: SmallService) -> SmallService:
    return made_ready(small_sqlite)


@pytest.fixture
def open_profile(browser: Browser, tmp_path: Path) -> Iterator[OpenProfile]:
    """Opens a browser on one and the same device: what it kept is there again after it was closed or killed."""
    contexts: list[BrowserContext] = []

    def make() -> BrowserContext:
        context = browser.browser_type.launch_persistent_context(
            tmp_path / "device", executable_path=chromium_program(), args=SWITCHES, viewport=PHONE, locale="en-GB"
        )
        context.set_default_timeout(10_000)
        contexts.append(context)
        return context

    yield make
    for context in contexts:
        context.close()


def kept_paths(page: Page) -> list[str]:
    return page.evaluate(
        """async () => {
            const names = (await caches.keys()).filter(name => name.startsWith('kept-'));
            const paths = [];
            for (const name of names)
                for (const request of await (await caches.open(name)).keys()) paths.push(new URL(request.url).pathname);
            return paths.sort();
        }"""
    )


def wait_until_kept(page: Page, path: str) -> None:
    for _ in range(100):
        if path in kept_paths(page):
            page.wait_for_function("() => navigator.serviceWorker.controller")
            page.wait_for_timeout(300)
            return
        page.wait_for_timeout(100)
    pytest.fail(f"{path} was not kept; kept are {kept_paths(page)}")


@pytest.fixture
def sheet_path(ready: SmallService) -> str:
    return f"/observe/{opened(ready, 'k')}"


def test_a_sheet_survives_a_reload_and_a_closed_browser_without_a_network(
    open_profile: OpenProfile, live_server: str, ready: SmallService, sheet_path: str, sign_in_as: SignIn
) -> None:
    device = open_profile()
    page = device.new_page()
    sign_in_as(page, "tor")
    page.goto(live_server + sheet_path)
    page.locator(row(page, "b")).click()
    expect_sent(page, 1)
    wait_until_kept(page, sheet_path)
    device.set_offline(True)
    page.locator(row(page, "c")).click()
    page.reload()
    expect(page.get_by_text("No network, or too slow a one: this is the copy kept on this device")).to_be_visible()
    expect(page.locator("#step-b .step-ord")).to_have_text("1")
    expect(page.locator("#step-c .step-ord")).to_have_text("2")
    expect(page.locator(".under-thumb .state")).to_contain_text("1 mark not sent yet")
    page.locator(row(page, "d")).click()
    device.close()
    again = open_profile()
    again.set_offline(True)
    page = again.new_page()
    page.goto(live_server + sheet_path)
    expect(page.locator("#step-d .step-ord")).to_have_text("3")
    expect(page.locator(".under-thumb .state")).to_contain_text("2 marks not sent yet")
    page.locator(row(page, "a")).click()
    sign_in_as(page, "tor")
    again.set_offline(False)
    expect_sent(page, 4)
    assert stored_kinds(ready) == ["mark"] * 4


def test_sheets_opened_for_the_day_open_without_a_network_though_none_was_looked_at(
    open_profile: OpenProfile, live_server: str, ready: SmallService, sheet_path: str, sign_in_as: SignIn
) -> None:
    page = open_profile().new_page()
    sign_in_as(page, "tor")
    page.goto(f"{live_server}/observe")
    wait_until_kept(page, sheet_path)
    page.context.set_offline(True)
    page.goto(live_server + sheet_path)
    page.locator(row(page, "b")).click()
    expect(page.locator(".under-thumb .state")).to_contain_text("1 mark not sent yet")
    page.goto(f"{live_server}/observe")
    expect(page.get_by_text("1 mark is kept on this device and not sent yet.")).to_be_visible()
    page.goto(f"{live_server}/observe/new")
    expect(page.get_by_role("heading", level=1)).to_contain_text("There is no network")


def test_only_what_is_allowed_is_kept(
    open_profile: OpenProfile, live_server: str, ready: SmallService, sheet_path: str, sign_in_as: SignIn
) -> None:
    page = open_profile().new_page()
    sign_in_as(page, "tor")
    for path in ("/", "/procedures/P06", "/account", "/observe/new", "/about", "/my-evidence", sheet_path):
        page.goto(live_server + path)
        page.wait_for_timeout(200)
    wait_until_kept(page, sheet_path)
    page.goto(f"{live_server}/procedures/P06")
    wait_until_kept(page, "/procedures/P06")
    assert set(kept_paths(page)) <= {"/", "/procedures/P06", sheet_path}


def test_signing_out_says_what_waits_then_clears_and_the_next_person_sends_nothing(
    open_profile: OpenProfile, live_server: str, ready: SmallService, sheet_path: str, sign_in_as: SignIn
) -> None:
    device = open_profile()
    page = device.new_page()
    sign_in_as(page, "tor")
    page.goto(live_server + sheet_path)
    wait_until_kept(page, sheet_path)
    device.set_offline(True)
    page.locator(row(page, "b")).click()
    expect(page.locator(".under-thumb .state")).to_contain_text("1 mark not sent yet")
    page.context.route("**/events", lambda route: route.abort())
    device.set_offline(False)
    page.get_by_role("button", name="Sign out").click()
    expect(page.get_by_role("alert")).to_contain_text("1 mark is not sent yet.")
    page.get_by_role("button", name="Sign out").click()
    page.wait_for_url("**/sign-in")
    assert kept_paths(page) == []
    page.context.unroute("**/events")
    posts: list[str] = []
    page.on("request", lambda request: posts.append(request.url) if "/events" in request.url else None)
    sign_in_as(page, "una")
    page.goto(f"{live_server}/observe")
    expect(page.get_by_text("Some belong to another assessor, who sends them by signing in here.")).to_be_visible()
    page.wait_for_timeout(500)
    assert posts == []
    sign_in_as(page, "tor")
    page.goto(f"{live_server}/observe")
    expect(page.get_by_text("Every mark kept on this device is with the service now.")).to_be_visible()
    assert stored_kinds(ready) == ["mark"]


def test_a_copy_older_than_36_hours_is_thrown_away(
    open_profile: OpenProfile, live_server: str, ready: SmallService, sheet_path: str, sign_in_as: SignIn
) -> None:
    page = open_profile().new_page()
    sign_in_as(page, "tor")
    page.goto(live_server + sheet_path)
    wait_until_kept(page, sheet_path)
    page.evaluate(
        """async (path) => {
            const name = (await caches.keys()).find(name => name.startsWith('kept-'));
            const cache = await caches.open(name), answer = await cache.match(path, {ignoreVary: true});
            const headers = new Headers(answer.headers);
            headers.set('Kept-At', String(Date.now() - 36.1 * 3600 * 1000));
            await cache.put(path, new Response(await answer.text(), {headers}));
        }""",
        sheet_path,
    )
    page.context.set_offline(True)
    page.goto(live_server + sheet_path)
    expect(page.get_by_role("heading", level=1)).to_contain_text("There is no network")
    assert sheet_path not in kept_paths(page)


def test_somebody_elses_page_throws_away_what_was_kept(
    open_profile: OpenProfile, live_server: str, ready: SmallService, sheet_path: str, sign_in_as: SignIn
) -> None:
    page = open_profile().new_page()
    sign_in_as(page, "tor")
    page.goto(live_server + sheet_path)
    wait_until_kept(page, sheet_path)
    sign_in_as(page, "una")
    page.goto(f"{live_server}/")
    wait_until_kept(page, "/")
    assert kept_paths(page) == ["/"]


def kept_copies(page: Page) -> int:
    """Marks the service has already, of which this device still holds a copy, in both of its stores."""
    return page.evaluate(
        """async () => {
            const { everything } = await import('/static/js/observation_journal.js');
            const inJournal = (await everything()).filter(entry => entry.sent).length;
            return inJournal + Object.keys(localStorage).filter(key => key.includes('/sent/')).length;
        }"""
    )


def test_copies_of_sent_marks_go_at_sign_out_and_when_somebody_else_comes(
    open_profile: OpenProfile, live_server: str, ready: SmallService, sheet_path: str, sign_in_as: SignIn
) -> None:
    page = open_profile().new_page()
    for clears in ("sign out", "somebody else"):
        sign_in_as(page, "tor")
        page.goto(live_server + sheet_path)
        page.wait_for_function("() => navigator.serviceWorker.controller")
        page.locator(row(page, "b" if clears == "sign out" else "c")).click()
        expect_sent(page, 1 if clears == "sign out" else 2)
        assert kept_copies(page) >= 2
        if clears == "sign out":
            page.get_by_role("button", name="Sign out").click()
            page.wait_for_url("**/sign-in")
        else:
            sign_in_as(page, "una")
            page.goto(f"{live_server}/")
            page.wait_for_timeout(1_000)
        assert kept_copies(page) == 0


def test_a_form_sent_without_a_network_says_that_nothing_was_sent(
    open_profile: OpenProfile, live_server: str, ready: SmallService, sheet_path: str, sign_in_as: SignIn
) -> None:
    page = open_profile().new_page()
    sign_in_as(page, "mira")
    page.goto(f"{live_server}/procedures/P06")
    wait_until_kept(page, "/procedures/P06")
    page.context.set_offline(True)
    page.get_by_role("button", name="Rehearse").first.click()
    expect(page.get_by_text("Nothing was sent and nothing was changed.")).to_be_visible()
