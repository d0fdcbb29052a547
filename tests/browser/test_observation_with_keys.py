"""An observation from the card to the signature with keys alone, at both widths."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect

from tests.browser.conftest import CheckPage
from tests.browser.observing_in_browser import expect_sent, made_ready, row, stored_kinds
from tests.small_service import PASSWORD, SmallService

SignIn = Callable[[Page, str], None]


@pytest.fixture
def ready(small_sqlite: SmallService) -> SmallService:
    return made_ready(small_sqlite)


def test_from_the_card_to_the_signature_with_keys_alone(
    page: Page, live_server: str, ready: SmallService, sign_in_as: SignIn, check_page: CheckPage
) -> None:
    sign_in_as(page, "tor")
    page.goto(f"{live_server}/observe/new?procedure=P06")
    check_page(page, "observe-choose")
    settle_the_card(page, check_page)
    mark_with_keys(page)
    expect(page.get_by_role("heading", name="10 steps are marked, 2 are not.")).to_be_visible()
    check_page(page, "observe-finish")
    lock_with_keys(page)
    expect(page.get_by_role("heading", level=1)).to_contain_text("Mira has not yet shown P06")
    check_page(page, "observe-result")
    press(page, page.get_by_role("button", name="Look, then sign"))
    check_page(page, "observe-sign")
    reach(page, page.get_by_label("Your password"))
    page.keyboard.type(PASSWORD)
    page.keyboard.press("Enter")
    expect(page.get_by_text("Observed and signed by Tor, assessor")).to_be_visible()
    page.goto(f"{live_server}/observe")
    check_page(page, "observe-list")
    assert stored_kinds(ready) == ["mark"] * 8


def settle_the_card(page: Page, check_page: CheckPage) -> None:
    reach(page, page.get_by_label("Person", exact=True))
    page.keyboard.type("Mira")
    press(page, page.get_by_role("button", name="Settle the card"))
    check_page(page, "observe-card")
    press(page, page.get_by_label("On the bench, with a test lung"), "Space")
    press(page, page.get_by_role("button", name="Open the sheet"))


def mark_with_keys(page: Page) -> None:
    for step in "bcdefgh":
        press(page, page.locator(row(page, step)))
    press(page, page.locator("#step-a .step-other"), "Space")
    press(page, page.locator("#four-a").get_by_role("button", name="Not done"))
    expect_sent(page, 8)
    press(page, page.get_by_role("button", name="Finish"))


def lock_with_keys(page: Page) -> None:
    press(page, page.get_by_label("1, unsafe"), "ArrowDown")
    expect(page.get_by_label("2, borderline")).to_be_checked()
    press(page, page.get_by_label("I have seen what was marked"), "Space")
    press(page, page.get_by_role("button", name="Lock the sheet"))


def press(page: Page, target: object, key: str = "Enter") -> None:
    """Go to the target with the Tab key and press a key on it."""
    reach(page, target)
    page.keyboard.press(key)


def reach(page: Page, target: object, *, most: int = 80) -> None:
    """Press Tab until the target has the focus."""
    for _ in range(most):
        if target.evaluate("element => element === document.activeElement"):  # type: ignore[attr-defined]
            return
        page.keyboard.press("Tab")
    raise AssertionError(f"{target} cannot be reached with the Tab key")
