"""A second look at a result, from the person's three taps to the message after the signature, by day and by night."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta

import pytest
from playwright.sync_api import Page, expect

from quizapp.content.library import Library
from tests.browser.conftest import PHONE, CheckPage, OpenWindow
from tests.challenging import REASON, other_number, question_at, raised, sat
from tests.conftest import StandingClock
from tests.knowledge_forms import composed
from tests.observing import accept, locked, opened, performed, put_in_service, signed
from tests.small_service import PASSWORD, SmallService

SignIn = Callable[[Page, str], None]


@pytest.fixture
def sitting_id(small_sqlite: SmallService, library: Library, clock: StandingClock) -> str:
    """Mira, Tor and Una were asked the very same three questions."""
    form = composed(small_sqlite, library)
    first = sat(small_sqlite, library, form, ["wrong", "right", "wrong"])
    sat(small_sqlite, library, form, ["right", "right", "wrong"], name="tor")
    sat(small_sqlite, library, form, [other_number(question_at(small_sqlite, first, 1)), "right", "wrong"], name="una")
    clock.advance(timedelta(minutes=5))
    return first


def test_three_taps_then_an_answer_for_everybody(
    page: Page, live_server: str, sitting_id: str, sign_in_as: SignIn, check_page: CheckPage, small_sqlite: SmallService
) -> None:
    sign_in_as(page, "mira")
    page.goto(f"{live_server}/sitting/{sitting_id}/result")
    page.get_by_role("link", name="1. ").click()
    page.get_by_role("link", name="Have it looked at again").click()
    check_page(page, "challenge-ask")
    page.get_by_role("button", name="Send, and have it looked at").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Ines answers by 16 March 2026.")
    check_page(page, "challenge-sent")
    page.goto(f"{live_server}/challenges/own")
    check_page(page, "challenge-own")
    sign_in_as(page, "ines")
    answer(page, live_server, check_page, other_number(question_at(small_sqlite, sitting_id, 1)))
    sign_in_as(page, "tor")
    read_the_message(page, live_server, check_page)


def answer(page: Page, live_server: str, check_page: CheckPage, right: str) -> None:
    """Correct the key as the reviewer does, see whom it touches, and sign."""
    page.goto(f"{live_server}/challenges")
    check_page(page, "challenge-open")
    page.locator("table a").first.click()
    page.get_by_role("link", name="Answer it").click()
    check_page(page, "challenge-answer")
    page.get_by_label("Corrected, as entered below").check()
    page.get_by_text("Only where it is corrected").click()
    page.get_by_label("the right number").fill(right)
    page.get_by_label("Reason").fill(REASON)
    check_page(page, "challenge-answer-filled")
    page.get_by_role("button", name="See whom it touches, then sign").click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("3 people are touched, 2 results rise, nobody falls.")
    check_page(page, "challenge-sign")
    page.get_by_label("Your password").fill(PASSWORD)
    page.get_by_role("button", name="Sign as Ines").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Ines looked at it again: corrected.")
    check_page(page, "challenge-answered")


def read_the_message(page: Page, live_server: str, check_page: CheckPage) -> None:
    """Find on the first page what happened, look at it, put the message away."""
    page.goto(live_server)
    expect(page.get_by_role("heading", name="1 message for you")).to_be_visible()
    check_page(page, "message")
    page.get_by_role("link", name="Open", exact=True).click()
    expect(page.get_by_text("so your result is kept")).to_be_visible()
    check_page(page, "result-marked-again")
    page.get_by_role("link", name="1. ").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("The key was corrected, and what you had is kept.")
    check_page(page, "why-kept")
    page.goto(live_server)
    page.get_by_role("button", name="Put away").click()
    expect(page.get_by_role("heading", name="1 message for you")).to_have_count(0)


def test_a_step_of_an_observation(
    page: Page, live_server: str, sign_in_as: SignIn, check_page: CheckPage, small_sqlite: SmallService,
    clock: StandingClock,
) -> None:  # fmt: skip
    put_in_service(small_sqlite)
    accept(small_sqlite, "P06")
    observation_id = opened(small_sqlite)
    performed(small_sqlite, observation_id)
    locked(small_sqlite, observation_id)
    signed(small_sqlite, observation_id)
    clock.advance(timedelta(hours=1))
    sign_in_as(page, "mira")
    page.goto(f"{live_server}/observe/{observation_id}/result")
    page.get_by_role("link", name="Have a mark looked at again").click()
    page.get_by_role("radio").first.check()
    check_page(page, "challenge-step")
    page.get_by_role("button", name="Send, and have it looked at").click()
    check_page(page, "challenge-step-sent")


def test_by_night(
    open_page: OpenWindow, live_server: str, sitting_id: str, sign_in_as: SignIn, check_page: CheckPage,
    small_sqlite: SmallService, library: Library,
) -> None:  # fmt: skip
    raised(small_sqlite, library, sitting_id, 1)
    night = open_page(PHONE)
    night.emulate_media(color_scheme="dark")
    sign_in_as(night, "ines")
    night.goto(f"{live_server}/challenges")
    check_page(night, "challenge-open-night")
    night.locator("table a").first.click()
    night.get_by_role("link", name="Answer it").click()
    check_page(night, "challenge-answer-night")
