"""The real order of every procedure is drawn with arrows, and its letters can be read on a phone."""

from __future__ import annotations

from collections.abc import Callable

from playwright.sync_api import Page

from quizapp.content.library import Library
from tests.browser.conftest import CheckPage

SignIn = Callable[[Page, str], None]
LETTERS_PX = """() => [...document.querySelectorAll('.order-map .om-let')].map(letter =>
    parseFloat(getComputedStyle(letter).fontSize) * letter.ownerSVGElement.getScreenCTM().a)"""
READABLE_PX = 14


def test_every_map_is_drawn_with_arrows_and_can_be_read_on_a_phone(
    phone: Page, live_server: str, library: Library, sign_in_as: SignIn, check_page: CheckPage
) -> None:
    sign_in_as(phone, "mira")
    for code, procedure in library.procedures.items():
        phone.goto(f"{live_server}/procedures/{code}")
        sizes: list[float] = phone.evaluate(LETTERS_PX)
        arrows = phone.locator(".order-map .om-tip").count()
        assert arrows == phone.locator(".order-map .om-line").count() > 0
        assert len(sizes) in {len(procedure.steps), len(procedure.steps) - 1}, code
        assert min(sizes) >= READABLE_PX, code
        check_page(phone, f"procedures-{code.lower()}")
