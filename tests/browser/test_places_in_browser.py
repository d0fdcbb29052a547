"""Places used by a team lead and a clinician, on a phone and at a desk, by day and by night."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import timedelta

import pytest
from playwright.sync_api import Page, expect

from quizapp.assessment.attendance import Attendance
from quizapp.content.library import Library
from quizapp.services.hold_place import book_place, record_attendance
from tests.browser.conftest import CheckPage
from tests.many_people import add_clinicians
from tests.planning import day_opened, people_due
from tests.small_service import SmallService

SignIn = Callable[[Page, str], None]


@pytest.fixture
def due(small_sqlite: SmallService, library: Library) -> SmallService:
    """Mira once missed a day; c0 and Mira are due soon, c1 lapsed, c2 is new; there are two days with few places."""
    add_clinicians(small_sqlite, 3)
    people_due(small_sqlite, library, mira=22, c0=12, c1=-5)
    earlier = small_sqlite.now - timedelta(days=8)
    today, small_sqlite.now = small_sqlite.now, earlier
    past = day_opened(small_sqlite, 1)
    with small_sqlite.acting("mira") as act:
        missed = book_place(act, past)
    small_sqlite.now = today
    with small_sqlite.acting("tor") as act:
        record_attendance(act, missed, Attendance.DID_NOT_COME)
    day_opened(small_sqlite, 10, capacity=3)
    day_opened(small_sqlite, 18, capacity=1, takes_bookings=False)
    return small_sqlite


def test_a_lead_plans_moves_and_publishes_and_the_clinician_sees_it_first(
    page: Page, live_server: str, due: SmallService, sign_in_as: SignIn, check_page: CheckPage
) -> None:
    sign_in_as(page, "leif")
    page.goto(f"{live_server}/places/days/new")
    check_page(page, "places-new-day")
    page.goto(f"{live_server}/places")
    check_page(page, "places-days")
    page.get_by_role("button", name="Work out a plan").click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("get a place")
    check_page(page, "places-plan")
    page.emulate_media(color_scheme="dark")
    check_page(page, "places-plan-night")
    page.emulate_media(color_scheme="light")
    page.get_by_role("link", name=re.compile("Move.*Mira")).click()
    page.get_by_label("No place in this plan").check()
    page.get_by_role("button", name="See the effect").click()
    expect(page.get_by_text("What it would change")).to_be_visible()
    check_page(page, "places-move")
    page.get_by_role("link", name="Back to the plan").click()
    page.get_by_role("button", name="Publish the plan").click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("session days are to come")
    page.get_by_role("link", name="20 March 2026").click()
    check_page(page, "places-day")
    page.get_by_role("link", name=re.compile("Move or give up.*Mira")).click()
    check_page(page, "places-move-published")
    sign_in_as(page, "mira")
    page.goto(live_server)
    expect(page.get_by_role("heading", name="Your place")).to_be_visible()
    check_page(page, "places-first-page")
    page.goto(f"{live_server}/my-places")
    check_page(page, "places-mine")
    page.emulate_media(color_scheme="dark")
    check_page(page, "places-mine-night")
    page.emulate_media(color_scheme="light")
    page.goto(f"{live_server}/calendars")
    check_page(page, "places-calendars")
    page.get_by_role("button", name="Make an address").click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("shown this once")
    check_page(page, "places-calendar-address")
