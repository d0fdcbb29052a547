"""A browser that runs no script: rehearsal, observation, lock and signature are plain forms all the way."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import pytest
from playwright.sync_api import Browser, Page, expect

from tests.browser.conftest import PHONE
from tests.browser.observing_in_browser import made_ready, row, stored_kinds
from tests.small_service import PASSWORD, SmallService

SignIn = Callable[[Page, str], None]


@pytest.fixture
def plain(browser: Browser) -> Iterator[Page]:
    """A phone on which scripts are switched off, so that no service worker exists either."""
    context = browser.new_context(viewport=PHONE, locale="en-GB", java_script_enabled=False)
    context.set_default_timeout(10_000)
    yield context.new_page()
    context.close()


@pytest.fixture
def ready(small_sqlite: SmallService) -> SmallService:
    return made_ready(small_sqlite)


def test_from_the_card_to_the_signature_without_a_script(
    plain: Page, live_server: str, ready: SmallService, sign_in_as: SignIn
) -> None:
    sign_in_as(plain, "tor")
    plain.goto(f"{live_server}/observe/new?procedure=P06")
    plain.get_by_label("Person", exact=True).select_option(label="Mira, flight paramedic")
    plain.get_by_role("button", name="Settle the card").click()
    plain.get_by_label("On the bench, with a test lung").check()
    plain.get_by_role("button", name="Open the sheet").click()
    plain.get_by_role("button", name="Start the clock").click()
    for step in "bcaefghij":
        plain.locator(row(plain, step)).click()
    expect(plain.locator("#step-j .step-ord")).to_have_text("9")
    plain.locator("#step-d .step-other").click()
    plain.locator("#four-d").get_by_role("button", name="Not seen").click()
    plain.locator(row(plain, "k")).click()
    plain.get_by_role("button", name="Undo k, done").click()
    plain.locator("#step-b .step-other").click()
    plain.locator("#four-b").get_by_role("button", name="Note").click()
    plain.get_by_label("Note on step b").fill("Bag on at once.")
    plain.get_by_role("button", name="Keep the note").click()
    plain.get_by_role("link", name="Report the lot number").click()
    plain.get_by_label("Lot number").fill("L 204")
    plain.get_by_label("What you saw").fill("No cycling.")
    plain.get_by_role("button", name="Report the fault").click()
    expect(plain.get_by_text("Fault reported, lot L 204: No cycling.")).to_be_visible()
    expect(plain.get_by_role("button", name="Keep both")).to_be_hidden()
    plain.get_by_role("button", name="Finish").click()
    expect(plain.get_by_role("heading", level=1)).to_contain_text("All 12 steps are marked.")
    plain.get_by_label("4, good").check()
    plain.get_by_label("I have seen what was marked").check()
    plain.get_by_role("button", name="Lock the sheet").click()
    plain.get_by_role("button", name="Look, then sign").click()
    plain.get_by_label("Your password").fill(PASSWORD)
    plain.get_by_role("button", name="Sign", exact=True).click()
    expect(plain.get_by_text("Observed and signed by Tor, assessor")).to_be_visible()
    assert stored_kinds(ready) == ["mark"] * 11 + ["note", "start", "stop", "undo"]


def test_a_rehearsal_without_a_script(plain: Page, live_server: str, ready: SmallService, sign_in_as: SignIn) -> None:
    sign_in_as(plain, "mira")
    plain.goto(f"{live_server}/procedures/P06")
    plain.get_by_role("button", name="Rehearse").click()
    steps = plain.locator("[data-numbering] button")
    for place in range(steps.count()):
        steps.nth(place).click()
    plain.locator("[data-order] li").nth(2).get_by_role("button", name="Earlier").click()
    plain.get_by_text("Put a step after another").click()
    plain.get_by_label("Put", exact=True).select_option(index=4)
    plain.get_by_label("right after").select_option(index=1)
    plain.get_by_role("button", name="Put it there").click()
    plain.get_by_role("button", name="Compare with the real order").click()
    expect(plain.get_by_role("heading", level=1)).to_contain_text("of place")
