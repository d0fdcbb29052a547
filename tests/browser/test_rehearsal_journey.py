"""Rehearsals in a real browser: by finger and by keys alone, at both widths; the sheet prints on one page."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest
from playwright.sync_api import Locator, Page, expect
from sqlalchemy import select

from quizapp.content.library import Library
from quizapp.store.people import Service
from tests.browser.conftest import PHONE, SHOTS, CheckPage, OpenWindow
from tests.observing import put_in_service
from tests.small_service import SmallService

SignIn = Callable[[Page, str], None]
PAGES_OF_PDF = re.compile(rb"/Type\s*/Page[^s]")


def test_the_pages_of_a_procedure(page: Page, live_server: str, sign_in_as: SignIn, check_page: CheckPage) -> None:
    sign_in_as(page, "tor")
    for name, address in (("index", ""), ("p06", "/P06"), ("p02", "/P02"), ("sheet", "/P06/sheet")):
        page.goto(f"{live_server}/procedures{address}")
        check_page(page, f"procedures-{name}")


def test_numbers_are_given_and_taken_back_with_a_finger(
    page: Page, live_server: str, sign_in_as: SignIn, check_page: CheckPage
) -> None:
    begin(page, live_server, sign_in_as)
    steps = page.locator("[data-numbering] button")
    for place in (4, 2, 0):
        steps.nth(place).click()
    expect(steps.nth(2).locator("[data-n]")).to_have_text("2")
    steps.nth(4).click()
    expect(steps.nth(2).locator("[data-n]")).to_have_text("1")
    expect(page.locator("[data-placed-count]")).to_have_text("2")
    check_page(page, "rehearsal")
    page.get_by_role("button", name="Compare with the real order").click()
    expect(page.get_by_role("alert")).to_contain_text("10 steps have no number yet. Your order is kept")
    expect(steps.nth(0).locator("[data-n]")).to_have_text("2")
    check_page(page, "rehearsal-incomplete", refused=422)


def test_a_whole_rehearsal_with_keys_alone(
    page: Page, live_server: str, library: Library, sign_in_as: SignIn, check_page: CheckPage
) -> None:
    """Dials before the bag: f and g first, then the rest; then g is moved one later, which changes nothing real."""
    begin(page, live_server, sign_in_as)
    procedure = library.procedure("P06")
    for letter in "fgabcdehijkl":
        focus(page, page.locator("[data-numbering] button").filter(has_text=procedure.step(letter).text))
        page.keyboard.press("Space")
    focus(page, page.locator("[data-order] li").nth(1).locator('[data-move="later"]'))
    page.keyboard.press("Enter")
    expect(page.locator("[data-order] li").nth(2)).to_contain_text(procedure.step("g").text)
    focus(page, page.get_by_role("button", name="Compare with the real order"))
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", level=1)).to_contain_text("2 dependencies are broken.")
    expect(page.get_by_text("turning a dial gives no certain breath, the bag does").first).to_be_visible()
    check_page(page, "rehearsal-compared")


def test_every_change_of_the_order_is_said_to_a_screen_reader(
    phone: Page, live_server: str, library: Library, sign_in_as: SignIn
) -> None:
    begin(phone, live_server, sign_in_as)
    phone.wait_for_load_state()
    said, steps = phone.locator("[data-say]"), phone.locator("[data-numbering] button")
    expect(said).to_have_attribute("role", "status")
    names = [steps.nth(place).locator("[data-text]").inner_text() for place in range(3)]
    for place in range(3):
        steps.nth(place).press("Enter")
        expect(said).to_have_text(f"Number {place + 1}: {names[place]}")
    phone.get_by_role("button", name=f"Later: {names[0]}").press("Enter")
    expect(said).to_have_text(f"{names[0]}: now number 2 of 3")
    expect(phone.get_by_role("button", name=f"Later: {names[0]}")).to_be_focused()
    phone.get_by_role("button", name=f"Earlier: {names[1]}").press("Enter")
    expect(said).to_have_text(f"{names[1]}: is first already, number 1")
    phone.get_by_text("Put a step after another").press("Enter")
    phone.get_by_label("Put", exact=True).select_option(label=names[1])
    phone.get_by_label("right after").select_option(label=names[2])
    phone.get_by_role("button", name="Put it there").press("Enter")
    expect(said).to_have_text(f"{names[1]}: now number 3 of 3, after {names[2]}")
    steps.nth(2).press("Enter")
    expect(said).to_have_text(f"Taken back: {names[2]}")


def test_night_pages_pass_the_same_check(
    open_page: OpenWindow, live_server: str, sign_in_as: SignIn, check_page: CheckPage
) -> None:
    night = open_page(PHONE)
    night.context.add_cookies([{"name": "lamp", "value": "night", "url": live_server}])
    begin(night, live_server, sign_in_as)
    check_page(night, "rehearsal-night")
    night.goto(f"{live_server}/procedures/P06")
    check_page(night, "procedures-p06-night")


def test_every_sheet_prints_on_one_page(
    desk: Page, live_server: str, small_sqlite: SmallService, library: Library, sign_in_as: SignIn
) -> None:
    """Also in the demo, whose pages carry one line more, and with a device in service."""
    put_in_service(small_sqlite)
    with small_sqlite.database.writing() as session:
        session.scalars(select(Service)).one().is_demo = True
    sign_in_as(desk, "mira")
    pages = {}
    for code in library.procedures:
        desk.goto(f"{live_server}/procedures/{code}/sheet")
        printed = desk.pdf(format="A4", prefer_css_page_size=True)
        pages[code] = len(PAGES_OF_PDF.findall(printed))
        if code in {"P02", "P06"}:
            (SHOTS / f"sheet-{code}.pdf").write_bytes(printed)
    assert pages == dict.fromkeys(library.procedures, 1)


def begin(page: Page, live_server: str, sign_in_as: SignIn) -> None:
    sign_in_as(page, "mira")
    page.goto(f"{live_server}/procedures/P06")
    page.get_by_role("button", name="Rehearse").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Number the steps in an order that works.")


def focus(page: Page, target: Locator, *, most: int = 120) -> None:
    """Press Tab, or Shift and Tab on the way back, until the target has the focus."""
    for key in ("Tab", "Shift+Tab"):
        for _ in range(most):
            if target.evaluate("element => element === document.activeElement"):
                return
            if page.evaluate("() => document.activeElement === document.body") and _ > 1:
                break
            page.keyboard.press(key)
    pytest.fail(f"{target} cannot be reached with the Tab key")
