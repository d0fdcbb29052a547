"""Pictures of the three pages in the life of three clinicians at months 0, 3, 6, 9 and 12; each page is checked."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from quizapp.content.library import Library
from tests.browser.conftest import PHONE, CheckPage, OpenWindow
from tests.small_service import SmallService
from tests.twelve_months import MONTHS, THREE, year_of_three

PAGES = {"currency": "/", "competence": "/my-competence", "practice": "/practice"}


@pytest.mark.soak
def test_a_year_of_three_clinicians_in_pictures(
    open_page: OpenWindow, live_server: str, sign_in_as: Callable[[Page, str], None], small_sqlite: SmallService,
    library: Library, clock: Any, check_page: CheckPage,
) -> None:  # fmt: skip
    year = year_of_three(small_sqlite, library, clock)
    pages = {name: open_page(PHONE) for name in THREE}
    for month, day in MONTHS.items():
        year.until(day)
        for name, page in pages.items():
            sign_in_as(page, name)
            for what, address in PAGES.items():
                page.goto(f"{live_server}{address}")
                expect(page.get_by_role("heading", level=1)).to_be_visible()
                check_page(page, f"year-{name}-{month:02}-{what}")
