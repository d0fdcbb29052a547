"""The pages around two sheets, late marks, paper, discarding and faults: at both widths, by day and by night."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect

from tests.browser.conftest import PHONE, CheckPage, OpenWindow
from tests.browser.observing_in_browser import made_ready
from tests.observing import Phone, locked, opened, performed, sent, sign_off, watched
from tests.small_service import SmallService

SignIn = Callable[[Page, str], None]


@pytest.fixture
def ready(small_sqlite: SmallService) -> SmallService:
    sign_off_una = made_ready(small_sqlite)
    sign_off(sign_off_una, "una", "C8")
    return sign_off_una


@pytest.fixture
def double(ready: SmallService) -> str:
    """Tor and Una differ on one performance; a mark of Tor's came late."""
    first = opened(ready)
    second = opened(ready, by="una", watched=_together(first))
    phone = performed(ready, first)
    other = Phone(ready.now, device_id="1")
    sent(ready, second, [other.mark(step) for step in "bcdefghij"], by="una")
    locked(ready, first)
    locked(ready, second, by="una")
    sent(ready, first, [phone.mark("k")])
    return first


def _together(first: str) -> object:
    plain = watched()
    return type(plain)(**{**vars(plain), "together_with": first})


def test_two_sheets_are_compared_and_decided(
    page: Page, live_server: str, double: str, sign_in_as: SignIn, check_page: CheckPage
) -> None:
    sign_in_as(page, "ines")
    for name, path in (("doubles", "/observe/doubles"), ("agreement", "/observe/agreement")):
        page.goto(live_server + path)
        check_page(page, f"observe-{name}")
    page.goto(f"{live_server}/observe/doubles/{double}")
    check_page(page, "observe-double")
    page.get_by_label("One sheet stands").check()
    page.get_by_label("The sheet of Tor").check()
    page.get_by_label("Why").fill("Una came in late.")
    page.get_by_role("button", name="Record the decision").click()
    expect(page.get_by_text("“Una came in late.”")).to_be_visible()
    check_page(page, "observe-double-decided")


def test_the_pages_beside_a_sheet(
    page: Page, live_server: str, double: str, ready: SmallService, sign_in_as: SignIn, check_page: CheckPage
) -> None:
    sign_in_as(page, "tor")
    sheet = opened(ready)
    who = f"person={ready.person_id('mira')}&procedure=P06"
    pages = {
        "late": "/observe/late", "paper": f"/observe/paper?{who}", "card-joined": f"/observe/card?{who}",
        "discard": f"/observe/{sheet}/discard", "fault": f"/observe/{sheet}/fault", "list-full": "/observe",
        "result-waits": f"/observe/{double}/result",
    }  # fmt: skip
    for name, path in pages.items():
        page.goto(live_server + path)
        check_page(page, f"observe-{name}")
    page.goto(f"{live_server}/observe/late")
    page.get_by_role("link", name="k, done").click()
    check_page(page, "observe-late-one")
    page.goto(f"{live_server}/offline")
    check_page(page, "offline")


def test_night_pages_pass_the_same_check(
    open_page: OpenWindow, live_server: str, double: str, sign_in_as: SignIn, check_page: CheckPage
) -> None:
    night = open_page(PHONE)
    sign_in_as(night, "ines")
    night.context.add_cookies([{"name": "lamp", "value": "night", "url": live_server}])
    for name, path in (("double", f"/observe/doubles/{double}"), ("agreement", "/observe/agreement")):
        night.goto(live_server + path)
        check_page(night, f"observe-{name}-night")


def test_a_fault_is_listed_for_the_team_lead(
    page: Page, live_server: str, ready: SmallService, sign_in_as: SignIn, check_page: CheckPage
) -> None:
    sign_in_as(page, "tor")
    page.goto(f"{live_server}/observe/{opened(ready)}/fault")
    page.get_by_label("Lot number").fill("L 204")
    page.get_by_label("What you saw").fill("No cycling on the test lung.")
    page.get_by_role("button", name="Report the fault").click()
    expect(page.get_by_text("Fault reported, lot L 204")).to_be_visible()
    check_page(page, "observe-sheet-fault")
    sign_in_as(page, "leif")
    page.goto(f"{live_server}/observe/faults")
    check_page(page, "observe-faults")


def test_a_timed_rehearsal_and_a_step_put_after_another_with_keys(
    page: Page, live_server: str, sign_in_as: SignIn, check_page: CheckPage
) -> None:
    sign_in_as(page, "mira")
    page.goto(f"{live_server}/procedures/P06")
    page.get_by_role("button", name="Against the clock").click()
    expect(page.get_by_text("Time gone:")).to_be_visible()
    steps = page.locator("[data-numbering] button")
    for place in (0, 1, 2):
        steps.nth(place).click()
    page.get_by_text("Put a step after another").press("Enter")
    page.get_by_label("Put", exact=True).select_option(index=2)
    page.get_by_label("right after").select_option(index=1)
    page.get_by_role("button", name="Put it there").press("Enter")
    expect(steps.nth(2).locator("[data-n]")).to_have_text("2")
    expect(page.locator("[data-say]")).to_contain_text("now number 2")
    check_page(page, "rehearsal-timed")
