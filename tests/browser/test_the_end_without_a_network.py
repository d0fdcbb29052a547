"""Both people keep their word on the spot without a network, and a failed device is reported; all goes out later."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect

from quizapp.services.observation_sheet import own_sheet
from quizapp.services.report_device_fault import faults_reported
from tests.browser.conftest import CheckPage, Window
from tests.browser.observing_in_browser import expect_sent, made_ready, row
from tests.observing import opened
from tests.small_service import SmallService

SignIn = Callable[[Page, str], None]
STATE = ".under-thumb .state"


@pytest.fixture
def ready(small_sqlite: SmallService) -> SmallService:
    return made_ready(small_sqlite)


def forget_the_cut(window: Window) -> None:
    """The browser complains of the lost connection, and of nothing else."""
    odd = [line for line in window.complaints if "ERR_INTERNET_DISCONNECTED" not in line and "ERR_FAILED" not in line]
    assert odd == []
    window.complaints.clear()


def keep_both(page: Page) -> None:
    page.get_by_label("4, good").check()
    page.get_by_label("I have seen what was marked").check()
    page.get_by_label("Own words of the person observed").fill("The flow had dropped.")
    page.get_by_role("button", name="Keep both").click()


def lock_with_what_was_said(page: Page, check_page: CheckPage) -> None:
    page.get_by_role("button", name="Finish").click()
    page.wait_for_url("**/finish")
    expect(page.get_by_label("4, good")).to_be_checked()
    expect(page.get_by_text("“The flow had dropped.”")).to_be_visible()
    check_page(page, "observe-finish-said-before")
    page.get_by_role("button", name="Lock the sheet").click()
    expect(page.get_by_text("Has seen what was marked,")).to_be_visible()


def test_both_keep_their_word_without_a_network_and_the_sheet_is_locked_with_it_later(
    page: Page,
    live_server: str,
    ready: SmallService,
    sign_in_as: SignIn,
    check_page: CheckPage,
    windows: dict[Page, Window],
) -> None:
    sheet = opened(ready)
    sign_in_as(page, "tor")
    page.goto(f"{live_server}/observe/{sheet}")
    page.wait_for_function("() => navigator.serviceWorker.controller")
    page.context.set_offline(True)
    for step in "abcdefghi":
        page.locator(row(page, step)).click()
    page.get_by_role("button", name="Finish").click()
    expect(page.get_by_role("heading", name="No network: look at the steps together")).to_be_focused()
    expect(page.get_by_text("Not marked yet: j. Left like this")).to_be_visible()
    page.get_by_role("button", name="Keep both").click()
    expect(page.get_by_role("alert").filter(has_text="Choose one of the five ratings.")).to_be_visible()
    keep_both(page)
    expect(page.get_by_text("Both are kept on this device.")).to_be_visible()
    page.locator(row(page, "j")).click()
    expect(page.get_by_text("A step was marked since.")).to_be_visible()
    page.get_by_role("button", name="Keep both").click()
    expect(page.get_by_text("Both are kept on this device.")).to_be_visible()
    forget_the_cut(windows[page])
    check_page(page, "observe-end-without-network")
    page.context.set_offline(False)
    expect_sent(page, 14)
    lock_with_what_was_said(page, check_page)
    with ready.acting("tor") as act:
        found = own_sheet(act, sheet)
    assert found.state.spot_word is not None
    assert (found.global_rating, found.person_comment) == (4, "The flow had dropped.")
    assert found.confirmed_at == min(found.state.spot_word.device_time, ready.now)


def test_a_failed_device_is_reported_without_a_network_and_survives_a_reload(
    page: Page,
    live_server: str,
    ready: SmallService,
    sign_in_as: SignIn,
    check_page: CheckPage,
    windows: dict[Page, Window],
) -> None:
    sign_in_as(page, "tor")
    page.goto(f"{live_server}/observe/{opened(ready, procedure_code='P01')}")
    page.wait_for_function("() => navigator.serviceWorker.controller")
    page.wait_for_timeout(500)
    page.context.set_offline(True)
    page.get_by_role("button", name="Report the lot number").click()
    page.get_by_role("button", name="Report the fault").click()
    expect(page.get_by_text("Write the lot number and what you saw.")).to_be_visible()
    page.get_by_label("Lot number").fill("L 204")
    page.get_by_label("Step at which it showed").select_option("k")
    page.get_by_label("What you saw").fill("No cycling on the test lung.")
    forget_the_cut(windows[page])
    check_page(page, "observe-fault-without-network")
    page.get_by_role("button", name="Report the fault").click()
    expect(page.get_by_text("lot L 204: No cycling on the test lung. (not sent yet)")).to_be_visible()
    page.reload()
    expect(page.get_by_text("lot L 204: No cycling on the test lung. (not sent yet)")).to_be_visible()
    page.context.set_offline(False)
    expect(page.get_by_text("(not sent yet)")).to_be_hidden()
    page.reload()
    expect(page.get_by_text("lot L 204: No cycling on the test lung.")).to_have_count(1)
    with ready.acting("leif") as act:
        (report,) = faults_reported(act)
    assert (report.base_name, report.device, report.step) == ("Cairnlow", "TV-A revision 1", "k")
