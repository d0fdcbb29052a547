"""A second factor set up and shown with keys alone, on a phone and at a desk, by day and by night."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta

import pyotp
import pytest
from flask import Flask
from playwright.sync_api import Page, expect

from quizapp.content.library import Library
from tests.browser.by_keys import press, sign_in_by_keys, write
from tests.browser.conftest import CheckPage
from tests.browser.live_server import served
from tests.small_service import PASSWORD, SmallService
from tests.web_app import web_app_around

NEXT_CODE = timedelta(seconds=30)


@pytest.fixture
def moments(small_sqlite: SmallService) -> list[datetime]:
    """The last one is now."""
    return [small_sqlite.now]


@pytest.fixture
def app(small_sqlite: SmallService, library: Library, moments: list[datetime]) -> Flask:
    return web_app_around(small_sqlite, library, lambda: moments[-1], needs_second_factor=True)


@pytest.fixture
def address(app: Flask) -> Iterator[str]:
    with served(app) as running:
        yield running


@pytest.mark.parametrize("lamp", ["day", "night"])
def test_an_assessor_sets_one_up_and_signs_in_again(
    page: Page, address: str, moments: list[datetime], check_page: CheckPage, lamp: str
) -> None:
    page.context.add_cookies([{"name": "lamp", "value": lamp, "url": address}])
    page.goto(address)
    sign_in_by_keys(page, "tor", PASSWORD)
    expect(page.get_by_role("heading", level=1)).to_have_text("Your roles ask for a second factor.")
    check_page(page, f"second-factor-needed-{lamp}")
    press(page, page.get_by_role("button", name="Show me what to scan"))
    secret = page.locator("strong.code").inner_text().replace(" ", "")
    check_page(page, f"second-factor-scan-{lamp}")
    write(page, page.get_by_label("The six digits your app shows now"), "12 34")
    write(page, page.get_by_label("Your password"), PASSWORD)
    page.keyboard.press("Enter")
    expect(page.locator("#field-code-error")).to_be_visible()
    expect(page.locator("strong.code")).to_have_text(" ".join(secret[i : i + 4] for i in range(0, len(secret), 4)))
    check_page(page, f"second-factor-refused-{lamp}", refused=422)
    code = pyotp.TOTP(secret).at(moments[-1])
    write(page, page.get_by_label("The six digits your app shows now"), f"{code[:3]} {code[3:]}")
    write(page, page.get_by_label("Your password"), PASSWORD)
    page.keyboard.press("Enter")
    expect(page.get_by_text("Your second factor is set.")).to_be_visible()
    press(page, page.get_by_role("button", name="Sign out"))
    moments.append(moments[-1] + NEXT_CODE)
    sign_in_by_keys(page, "tor", PASSWORD)
    expect(page.get_by_role("heading", level=1)).to_have_text("Now the code from your app.")
    check_page(page, f"second-factor-asked-{lamp}")
    write(page, page.get_by_label("Code"), pyotp.TOTP(secret).at(moments[-1]))
    page.keyboard.press("Enter")
    expect(page.locator("nav[aria-label=Main]")).to_be_visible()
