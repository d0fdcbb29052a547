"""A Friday evening with a hole in a crew: the lead finds it and mends it; every page on the way is checked."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta

import pytest
from playwright.sync_api import Page, expect

from quizapp.assessment.shift_cover import Span
from quizapp.content.library import Library
from tests.browser.conftest import CheckPage
from tests.crewing import NIGHT, entered, signed_off
from tests.small_service import PASSWORD, SmallService

SignIn = Callable[[Page, str], None]


@pytest.fixture
def hole(small_sqlite: SmallService, library: Library) -> str:
    """Una alone on Friday night, not signed off; a day and a boat beside it, and a crew not entered yet."""
    signed_off(small_sqlite, library, "mira", "tor")
    day = Span(NIGHT.start - timedelta(hours=12), NIGHT.start)
    entered(small_sqlite, library, "mira", "tor", span=day)
    entered(small_sqlite, library, "tor", span=Span(NIGHT.end, NIGHT.end + timedelta(hours=12)))
    entered(small_sqlite, library, crew="Boat", span=Span(NIGHT.end, NIGHT.end + timedelta(hours=12)))
    return entered(small_sqlite, library, "una")


def heading(page: Page, text: str) -> None:
    expect(page.get_by_role("heading", level=1)).to_contain_text(text)


def test_the_hole_is_found_and_mended(
    page: Page, live_server: str, sign_in_as: SignIn, hole: str, check_page: CheckPage
) -> None:
    sign_in_as(page, "leif")
    page.goto(f"{live_server}/readiness")
    heading(page, "Two shifts have nobody current at some minute.")
    check_page(page, "lead-readiness")
    page.get_by_role("link", name="The calendar of crews").click()
    check_page(page, "lead-cover")
    page.locator(".shift.none").first.click()
    heading(page, "Nobody on Helicopter is current on this shift.")
    check_page(page, "lead-shift")
    page.get_by_role("link", name="Swap, 1 min").click()
    check_page(page, "lead-swap")
    page.get_by_label("Una, flight paramedic: not current on this shift").check()
    page.get_by_label("Mira", exact=False).first.check()
    page.get_by_role("button", name="Swap them").click()
    heading(page, "Helicopter is covered, at some minute by one person only.")
    check_page(page, "lead-shift-covered")


def test_what_cannot_be_swapped_is_accepted_and_read_by_the_crew(
    page: Page, live_server: str, sign_in_as: SignIn, hole: str, check_page: CheckPage
) -> None:
    sign_in_as(page, "leif")
    page.goto(f"{live_server}/cover/shift/{hole}/restrict")
    check_page(page, "lead-restrict")
    page.goto(f"{live_server}/cover/shift/{hole}/accept")
    page.get_by_label("On whose authority").select_option(label="Ines, educator")
    page.get_by_label("Why", exact=True).fill("No flight is planned; the next base covers the road.")
    page.get_by_label("Your password").fill(PASSWORD)
    check_page(page, "lead-accept")
    page.get_by_role("button", name="Accept it").click()
    heading(page, "has nobody current at some minute, and this is seen to")
    check_page(page, "lead-shift-accepted")
    page.context.clear_cookies()
    sign_in_as(page, "una")
    page.goto(live_server)
    expect(page.get_by_text("Accepted by Ines: No flight is planned").first).to_be_visible()
    check_page(page, "crew-first-page")


def test_crews_by_hand_and_by_file(
    page: Page, live_server: str, sign_in_as: SignIn, hole: str, check_page: CheckPage
) -> None:
    sign_in_as(page, "leif")
    page.goto(f"{live_server}/cover/new")
    check_page(page, "lead-new-shift")
    page.goto(f"{live_server}/cover/import")
    page.get_by_label("Or paste the rows here").fill(
        "base,crew,starts,ends,staff_number,role\nCAI,Boat,2026-03-06 07:00,2026-03-06 19:00,T-mira,doctor"
    )
    page.get_by_role("button", name="Check the file").click()
    expect(page.get_by_text("T-mira is on Helicopter at that time, which is not in the file")).to_be_visible()
    check_page(page, "lead-crews-two-places")
    page.goto(f"{live_server}/cover/import")
    page.get_by_label("Or paste the rows here").fill("base,crew\nCAI,Boat")
    page.get_by_role("button", name="Check the file").click()
    check_page(page, "lead-crews-refused", refused=422)
    page.get_by_label("Or paste the rows here").fill(
        "base,crew,starts,ends,staff_number,role\nCAI,Boat,2026-03-06 19:00,2026-03-07 07:00,T-mira,doctor"
    )
    page.get_by_role("button", name="Check the file").click()
    check_page(page, "lead-crews-draft")
    page.get_by_role("button", name="Take the crews over").click()
    heading(page, "nobody current at some minute.")
    page.goto(f"{live_server}/readiness/all")
    heading(page, "2 of 3 at 1 base are current.")
    check_page(page, "lead-all-bases")
