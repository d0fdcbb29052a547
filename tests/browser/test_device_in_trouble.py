"""A device that can keep nothing more, and one whose clock is an hour off: clear words, and nothing lost."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta

import pytest
from playwright.sync_api import Page, expect

from quizapp.services.observation_sheet import own_sheet
from tests.browser.observing_in_browser import expect_sent, made_ready, row, stored_kinds
from tests.observing import opened
from tests.small_service import SmallService

SignIn = Callable[[Page, str], None]
FILL = """() => {
    for (let size = 1 << 21; size >= 1; size >>= 1)
        try { for (let n = 0; ; n++) localStorage.setItem('filler/' + size + '/' + n, 'x'.repeat(size)); } catch {}
}"""

JUMP = """hours => {
    const Real = Date, shift = hours * 3600000;
    globalThis.Date = class extends Real {
        constructor(...given) { if (given.length) super(...given); else super(Real.now() + shift); }
        static now() { return Real.now() + shift; }
    };
}"""


@pytest.fixture
def ready(small_sqlite: SmallService) -> SmallService:
    return made_ready(small_sqlite)


@pytest.fixture
def sheet(ready: SmallService) -> str:
    return opened(ready, "k")


def test_where_nothing_more_can_be_kept_a_tap_is_sent_as_a_plain_form(
    phone: Page, live_server: str, ready: SmallService, sheet: str, sign_in_as: SignIn
) -> None:
    sign_in_as(phone, "tor")
    phone.goto(f"{live_server}/observe/{sheet}")
    phone.locator(row(phone, "a")).click()
    expect_sent(phone, 1)
    phone.evaluate(FILL)
    with phone.expect_navigation():
        phone.locator(row(phone, "b")).click()
    expect(phone.locator("#step-b .step-ord")).to_have_text("1")
    expect_sent(phone, 2)
    assert stored_kinds(ready) == ["mark", "mark"]


def test_without_a_network_and_without_room_the_page_says_that_nothing_was_sent(
    phone: Page, live_server: str, ready: SmallService, sheet: str, sign_in_as: SignIn
) -> None:
    sign_in_as(phone, "tor")
    phone.goto(f"{live_server}/observe/{sheet}")
    phone.wait_for_function("() => navigator.serviceWorker.controller")
    phone.evaluate(FILL)
    phone.context.set_offline(True)
    phone.locator(row(phone, "b")).click()
    expect(phone.get_by_text("Nothing was sent and nothing was changed.")).to_be_visible()
    assert stored_kinds(ready) == []


@pytest.mark.parametrize("hours", [-1, 1])
def test_a_clock_that_jumps_by_an_hour_changes_no_time_on_the_sheet(
    phone: Page, live_server: str, ready: SmallService, sheet: str, sign_in_as: SignIn, hours: int
) -> None:
    sign_in_as(phone, "tor")
    phone.goto(f"{live_server}/observe/{sheet}")
    phone.get_by_role("button", name="Start the clock").click()
    phone.locator(row(phone, "b")).click()
    phone.evaluate(JUMP, hours)
    for step in "ca":
        phone.locator(row(phone, step)).click()
    expect_sent(phone, 4)
    with ready.acting("tor") as act:
        state = own_sheet(act, sheet).state
    assert state.performed == ("b", "c", "a")
    assert all(0 <= seconds < 60 for _, seconds in state.done_at_s)
    assert len(state.done_at_s) == 3


@pytest.mark.parametrize(
    ("hours", "words"),
    [(1, "60 minutes ahead of the service"), (-1, "60 minutes behind the service"), (26, "26 hours ahead"), (0, "")],
)
def test_a_clock_that_is_off_is_said(
    phone: Page, live_server: str, ready: SmallService, sheet: str, sign_in_as: SignIn, hours: int, words: str
) -> None:
    phone.clock.set_system_time(ready.now + timedelta(hours=hours))
    sign_in_as(phone, "tor")
    phone.goto(f"{live_server}/observe/{sheet}")
    phone.locator(row(phone, "b")).click()
    expect_sent(phone, 1)
    if words:
        expect(phone.locator(".under-thumb .state")).to_contain_text(f"The clock of this device is {words}")
    else:
        expect(phone.locator(".under-thumb .state")).not_to_contain_text("The clock of this device")
    assert stored_kinds(ready) == ["mark"]
