"""Pages about questions in a real browser: the preview, wrong ideas, closing, and an idea that came back."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect

from quizapp.content.library import Library
from tests.answering import answer_with, begun_with, handed_in_by
from tests.browser.conftest import PHONE, CheckPage, OpenWindow
from tests.knowledge_forms import composed
from tests.small_service import SmallService

SignIn = Callable[[Page, str], None]
IDEAS = ["no-baseline", "no-baseline", "needle-proves-ventilation"]


def sat(small: SmallService, library: Library) -> tuple[str, str]:
    assessment_id = composed(small, library)
    begun = begun_with(small, library, assessment_id, ["N16", "N17", "K06"], ideas=IDEAS)
    for position, idea in enumerate(IDEAS, start=1):
        answer_with(small, begun, position, idea)
    handed_in_by(small, begun)
    return assessment_id, begun


@pytest.mark.parametrize("code", ["N47", "K02", "K08"])
def test_previews(page: Page, live_server: str, sign_in_as: SignIn, check_page: CheckPage, code: str) -> None:
    sign_in_as(page, "ines")
    page.goto(f"{live_server}/content/preview/{code}")
    check_page(page, f"preview-{code.lower()}")


def test_a_preview_by_night(open_page: OpenWindow, live_server: str, sign_in_as: SignIn, check_page: CheckPage) -> None:
    night = open_page(PHONE)
    night.context.add_cookies([{"name": "lamp", "value": "night", "url": live_server}])
    sign_in_as(night, "ines")
    night.goto(f"{live_server}/content/preview/N46")
    check_page(night, "preview-night")
    night.goto(f"{live_server}/ideas")
    check_page(night, "ideas-night")


def test_a_preview_with_keys_alone(desk: Page, live_server: str, sign_in_as: SignIn) -> None:
    """From the list to a family by its code, to another device, to twenty more, to the third draw."""
    sign_in_as(desk, "ines")
    desk.goto(f"{live_server}/content")
    desk.get_by_label("Code or a word of the title").focus()
    desk.keyboard.type("n14")
    desk.keyboard.press("Enter")
    expect(desk.get_by_role("heading", level=1)).to_have_text("N14 can be asked as it is.")
    desk.get_by_label("Device revision").focus()
    desk.keyboard.press("Home")
    desk.keyboard.press("Tab")
    desk.keyboard.press("Enter")
    expect(desk.get_by_text("Seed 39", exact=True)).to_be_visible()
    desk.get_by_role("link", name="Draw 3", exact=True).focus()
    desk.keyboard.press("Enter")
    expect(desk.get_by_role("heading", name="Draw 3", exact=True)).to_be_in_viewport()


def test_an_unknown_family_and_the_way_to_the_nearest(
    page: Page, live_server: str, sign_in_as: SignIn, check_page: CheckPage
) -> None:
    sign_in_as(page, "ines")
    page.goto(f"{live_server}/content/preview/N144")
    check_page(page, "preview-unknown", refused=404)
    page.get_by_role("link", name="N14:").click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("N14 can be asked")


def test_ideas_result_and_closing(
    page: Page, live_server: str, small_sqlite: SmallService, library: Library, sign_in_as: SignIn,
    check_page: CheckPage,
) -> None:  # fmt: skip
    assessment_id, begun = sat(small_sqlite, library)
    sign_in_as(page, "mira")
    page.goto(f"{live_server}/sitting/{begun}/result")
    check_page(page, "result-idea-came-back")
    page.get_by_role("link", name="3. First action").click()
    check_page(page, "answer-waits")
    sign_in_as(page, "ines")
    page.goto(f"{live_server}/assessments/{assessment_id}")
    page.get_by_role("link", name="Wrong ideas in this assessment").click()
    check_page(page, "ideas")
    page.goto(f"{live_server}/assessments/{assessment_id}")
    page.get_by_role("link", name="Close it for everybody").click()
    check_page(page, "assessment-close")
    page.get_by_role("button", name="Close it now").click()
    check_page(page, "assessment-closed")
    sign_in_as(page, "mira")
    page.goto(f"{live_server}/sitting/{begun}/3/why")
    expect(page.get_by_text("This is the one.")).to_be_visible()
    check_page(page, "answer-opened")
