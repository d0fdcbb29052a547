"""One person at a minute, and who looked, used by a lead and a clinician at both widths; notices beside it."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect

from quizapp.content.library import Library
from quizapp.services.notices import write_due_notices
from tests.browser.conftest import CheckPage
from tests.deciding import show
from tests.planning import people_due
from tests.small_service import SmallService

SignIn = Callable[[Page, str], None]


@pytest.fixture
def ready(small_sqlite: SmallService, library: Library) -> SmallService:
    people_due(small_sqlite, library, mira=22)
    show(small_sqlite, "C5")
    show(small_sqlite, "C8", assessor="tor")
    with small_sqlite.acting("ada") as act:
        write_due_notices(act, library)
    return small_sqlite


def test_a_lead_asks_and_the_clinician_reads_it(
    page: Page, live_server: str, ready: SmallService, sign_in_as: SignIn, check_page: CheckPage
) -> None:
    sign_in_as(page, "leif")
    page.goto(f"{live_server}/looks/ask?person={ready.person_id('mira')}")
    check_page(page, "looks-ask")
    page.get_by_label("For what").fill("review of the call on Hallow Rigg")
    page.get_by_role("button", name="Ask").click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("Current until 24 March 2026")
    check_page(page, "looks-answer")
    page.emulate_media(color_scheme="dark")
    check_page(page, "looks-answer-night")
    sign_in_as(page, "mira")
    page.goto(f"{live_server}/looks")
    expect(page.get_by_text("review of the call on Hallow Rigg")).to_be_visible()
    check_page(page, "looks-mine-night")
    page.emulate_media(color_scheme="light")
    page.goto(f"{live_server}/notices")
    expect(page.get_by_text("Your last valid day is 24 March 2026")).to_be_visible()
    check_page(page, "notices-mine")
