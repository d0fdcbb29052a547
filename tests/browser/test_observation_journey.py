"""An observation in a real browser: one tap a step, a lost connection, a reload, a second tab, keys alone."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect

from quizapp.services.observation_sheet import Sheet, own_sheet
from tests.browser.conftest import PHONE, CheckPage, OpenWindow, Window
from tests.browser.observing_in_browser import expect_sent, made_ready, row, stored_kinds
from tests.observing import opened
from tests.small_service import SmallService

SignIn = Callable[[Page, str], None]


@pytest.fixture
def ready(small_sqlite: SmallService) -> SmallService:
    return made_ready(small_sqlite)


@pytest.fixture
def sheet_address(ready: SmallService, live_server: str) -> str:
    return f"{live_server}/observe/{opened(ready, 'k')}"


def sheet_of(small: SmallService, address: str) -> Sheet:
    with small.acting("tor") as act:
        return own_sheet(act, address.rsplit("/", 1)[1])


def lost_connection_is_all(window: Window) -> None:
    """While the connection was gone the browser complained of that and of nothing else."""
    odd = [line for line in window.complaints if "ERR_INTERNET_DISCONNECTED" not in line and "ERR_FAILED" not in line]
    assert odd == []
    window.complaints.clear()


def test_one_tap_is_done_and_three_dots_open_the_rest(
    page: Page, sheet_address: str, ready: SmallService, sign_in_as: SignIn, check_page: CheckPage
) -> None:
    sign_in_as(page, "tor")
    page.goto(sheet_address)
    check_page(page, "observe-sheet-new")
    page.get_by_role("button", name="Start the clock").click()
    page.locator(row(page, "b")).click()
    expect(page.locator("#step-b .rec")).to_have_text(re.compile("done 00:0"))
    page.locator("#step-h .step-other").click()
    page.locator("#four-h").get_by_role("button", name="Not seen").click()
    expect(page.locator("#step-h .rec")).to_have_text("not seen")
    page.locator("#step-e .step-other").click()
    page.locator("#four-e").get_by_role("button", name="I prompted").click()
    page.locator(row(page, "e")).click()
    expect(page.locator("#step-e .rec")).to_have_text(re.compile("done 00:0.*, prompted"))
    page.locator(row(page, "f")).click()
    page.get_by_role("button", name="Undo f, done").click()
    expect(page.locator("#step-f .rec")).to_have_count(0)
    page.locator("#step-b .step-other").click()
    page.locator("#four-b").get_by_role("button", name="Note").click()
    page.get_by_label("Note on step b").fill("Bag on at once.")
    page.get_by_role("button", name="Keep the note").click()
    expect_sent(page, 8)
    check_page(page, "observe-sheet")
    state = sheet_of(ready, sheet_address).state
    assert (state.performed, state.prompted, [note.text for note in state.notes]) == (
        ("b", "e"),
        ("e",),
        ["Bag on at once."],
    )


def test_the_sheet_says_the_same_before_and_after_a_reload(phone: Page, sheet_address: str, sign_in_as: SignIn) -> None:
    """What the script drew and what the service draws are two programs; they have to agree to the letter."""
    sign_in_as(phone, "tor")
    phone.goto(sheet_address)
    phone.get_by_role("button", name="Start the clock").click()
    for step in ("b", "d", "a"):
        phone.locator(row(phone, step)).click()
    phone.locator("#step-c .step-other").click()
    phone.locator("#four-c").get_by_role("button", name="Not done").click()
    phone.locator("#step-c .step-other").click()
    phone.locator("#four-c").get_by_role("button", name="I prompted").click()
    expect_sent(phone, 6)
    drawn = drawn_rows(phone)
    phone.route("**/observation_sheet.js", lambda route: route.abort())
    phone.reload()
    expect(phone.locator(".steps")).to_contain_text("done 00:0")
    assert drawn_rows(phone) == drawn


def drawn_rows(page: Page) -> object:
    """Every step's row as drawn, shapes and classes included."""
    return page.evaluate("""() => [...document.querySelectorAll('.steps > li')].map(row =>
        [[...row.classList].sort(), row.querySelector('.step-main').outerHTML.replace(/\\s+/g, ' ')])""")


def test_three_taps_without_a_connection_arrive_once_when_it_is_back(
    page: Page, sheet_address: str, ready: SmallService, sign_in_as: SignIn, windows: dict[Page, Window]
) -> None:
    sign_in_as(page, "tor")
    page.goto(sheet_address)
    page.get_by_role("button", name="Start the clock").click()
    expect_sent(page, 1)
    page.context.set_offline(True)
    for step in ("b", "c", "a"):
        page.locator(row(page, step)).click()
    expect(page.locator(".under-thumb .state")).to_contain_text("3 marks not sent yet. Kept on this device")
    expect(page.locator("#step-a .step-ord")).to_have_text("3")
    page.get_by_role("button", name="Finish").click()
    expect(page.locator(".under-thumb .state")).to_contain_text("Press Finish again once they are sent.")
    assert stored_kinds(ready) == ["start"]
    page.context.set_offline(False)
    expect_sent(page, 5)
    lost_connection_is_all(windows[page])
    assert stored_kinds(ready) == ["mark", "mark", "mark", "start", "stop"]
    assert sheet_of(ready, sheet_address).state.performed == ("b", "c", "a")
    assert page.evaluate("Object.keys(localStorage).filter(key => key.includes('/mark/'))") == []


def test_marks_survive_a_reload_and_a_closed_tab(
    phone: Page, sheet_address: str, ready: SmallService, sign_in_as: SignIn, windows: dict[Page, Window]
) -> None:
    sign_in_as(phone, "tor")
    phone.goto(sheet_address)
    phone.context.route("**/events", lambda route: route.abort())
    for step in ("b", "c"):
        phone.locator(row(phone, step)).click()
    phone.reload()
    expect(phone.locator("#step-c .rec")).to_have_text("done")
    expect(phone.locator("#step-c .step-ord")).to_have_text("2")
    expect(phone.locator(".under-thumb .state")).to_contain_text("2 marks not sent yet.")
    assert stored_kinds(ready) == []
    phone.goto(sheet_address.rsplit("/", 1)[0])
    expect(phone.get_by_text("2 marks are kept on this device and not sent yet.")).to_be_visible()
    phone.context.unroute("**/events")
    phone.reload()
    expect(phone.get_by_text("Every mark kept on this device is with the service now.")).to_be_visible()
    lost_connection_is_all(windows[phone])
    assert stored_kinds(ready) == ["mark", "mark"]


def test_a_lost_answer_makes_no_second_mark(
    phone: Page, sheet_address: str, ready: SmallService, sign_in_as: SignIn, windows: dict[Page, Window]
) -> None:
    """The service stored the tap, the answer never came: the same tap goes out again and is known."""
    sign_in_as(phone, "tor")
    phone.goto(sheet_address)
    lost = []

    def lose_the_answer(route: object) -> None:
        request = route.request  # type: ignore[attr-defined]
        if request.method == "POST" and not lost:
            lost.append(route.fetch().status)  # type: ignore[attr-defined]
            route.abort()  # type: ignore[attr-defined]
        else:
            route.continue_()  # type: ignore[attr-defined]

    phone.route("**/events", lose_the_answer)
    phone.locator(row(phone, "b")).click()
    expect_sent(phone, 1)
    assert lost == [200]
    assert stored_kinds(ready) == ["mark"]
    lost_connection_is_all(windows[phone])


def test_a_double_tap_is_one_mark(phone: Page, sheet_address: str, ready: SmallService, sign_in_as: SignIn) -> None:
    sign_in_as(phone, "tor")
    phone.goto(sheet_address)
    phone.locator(row(phone, "b")).dblclick()
    phone.get_by_role("button", name="Start the clock").dblclick()
    expect(phone.get_by_role("button", name="Start the clock")).to_be_hidden()
    expect_sent(phone, 2)
    assert stored_kinds(ready) == ["mark", "start"]


def test_two_tabs_say_the_same_and_send_each_mark_once(
    phone: Page, sheet_address: str, ready: SmallService, sign_in_as: SignIn
) -> None:
    sign_in_as(phone, "tor")
    phone.goto(sheet_address)
    second = phone.context.new_page()
    second.goto(sheet_address)
    phone.locator(row(phone, "b")).click()
    expect(second.locator("#step-b .step-ord")).to_have_text("1")
    second.locator(row(second, "c")).click()
    expect(phone.locator("#step-c .step-ord")).to_have_text("2")
    phone.locator(row(phone, "a")).click()
    for tab in (phone, second):
        expect_sent(tab, 3)
    assert stored_kinds(ready) == ["mark", "mark", "mark"]
    assert sheet_of(ready, sheet_address).state.performed == ("b", "c", "a")


def test_after_a_new_sign_in_the_marks_go_out_with_a_fresh_key(
    phone: Page, sheet_address: str, ready: SmallService, sign_in_as: SignIn, windows: dict[Page, Window]
) -> None:
    sign_in_as(phone, "tor")
    phone.goto(sheet_address)
    phone.locator(row(phone, "b")).click()
    expect_sent(phone, 1)
    phone.context.clear_cookies()
    phone.locator(row(phone, "c")).click()
    expect(phone.locator(".under-thumb .state")).to_contain_text("You are signed out: sign in again in another tab")
    sign_in_as(phone, "tor")
    expect_sent(phone, 2)
    windows[phone].complaints.clear()
    assert stored_kinds(ready) == ["mark", "mark"]


def test_night_pages_pass_the_same_check(
    open_page: OpenWindow, live_server: str, sheet_address: str, sign_in_as: SignIn, check_page: CheckPage
) -> None:
    night = open_page(PHONE)
    sign_in_as(night, "tor")
    night.context.add_cookies([{"name": "lamp", "value": "night", "url": live_server}])
    for name, address in (("sheet", sheet_address), ("list", f"{live_server}/observe")):
        night.goto(address)
        check_page(night, f"observe-{name}-night")


def test_a_whole_list_takes_two_taps_beyond_one_for_each_step(
    phone: Page, live_server: str, ready: SmallService, sign_in_as: SignIn
) -> None:
    """P01 from the open sheet to the page on which both look at it; three taps beyond were allowed."""
    sign_in_as(phone, "tor")
    address = f"{live_server}/observe/{opened(ready, procedure_code='P01')}"
    phone.goto(address)
    taps = [phone.get_by_role("button", name="Start the clock"), *phone.locator(".step-main").all()]
    taps.append(phone.get_by_role("button", name="Finish"))
    for target in taps:
        target.click()
    phone.wait_for_url("**/finish")
    sheet = sheet_of(ready, address)
    assert len(sheet.procedure.steps) + 3 > len(taps) == len(sheet.procedure.steps) + 2
    assert sheet.result.unmarked == ()
