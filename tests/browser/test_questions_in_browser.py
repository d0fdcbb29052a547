"""Figures at their narrowest, in the dark and on paper, and each kind of question answered with keys alone."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from playwright.sync_api import Page, ViewportSize, expect

from quizapp.content.library import Library
from tests.browser.conftest import SHOTS, CheckPage, OpenWindow, picture
from tests.knowledge_forms import practice, questions, refreeze
from tests.small_service import SmallService

SignIn = Callable[[Page, str], None]
NARROW = ViewportSize(width=320, height=700)
FAMILIES = ("N46", "N16", "N49", "N50", "N47", "N48", "N51", "N23", "K03", "K04", "K06", "K09", "K11", "K15", "K16")
"""One of each: dials, tube, strips, trend, emptying, directions, controls, assembly, monitor, cylinders, traces."""

SMALLEST_LETTER_PX = 9
LETTERS = """() => [...document.querySelectorAll('figure svg text')].map(text => {
    const drawn = text.ownerSVGElement, scale = drawn.getBoundingClientRect().width / drawn.viewBox.baseVal.width;
    return {size: parseFloat(getComputedStyle(text).fontSize) * scale, words: text.textContent};
}).filter(text => text.size > 0)"""
OUTSIDE = """() => [...document.querySelectorAll('figure.instrument, figure.instrument svg, figure.instrument table')]
    .filter(e => { const box = e.getBoundingClientRect(); return box.left < -0.5 || box.right > innerWidth + 0.5; })
    .map(e => e.outerHTML.slice(0, 80))"""
INK = """() => {
    const line = document.querySelector('figure.instrument');
    return [getComputedStyle(line).color, getComputedStyle(document.body).backgroundColor];
}"""


@pytest.fixture(params=["day", "night"])
def narrow(request: pytest.FixtureRequest, open_page: OpenWindow, live_server: str, sign_in_as: SignIn) -> Page:
    """A page of 320 px in which Mira is signed in, by day and by night."""
    page = open_page(NARROW)
    page.context.add_cookies([{"name": "lamp", "value": request.param, "url": live_server}])
    sign_in_as(page, "mira")
    return page


@pytest.mark.parametrize("code", FAMILIES)
def test_a_figure_is_legible_at_320(
    narrow: Page, live_server: str, small_sqlite: SmallService, library: Library, check_page: CheckPage, code: str
) -> None:
    open_question(narrow, live_server, small_sqlite, library, code)
    lamp = next(cookie["value"] for cookie in narrow.context.cookies() if cookie["name"] == "lamp")
    assert narrow.evaluate(OUTSIDE) == []
    small = [text for text in narrow.evaluate(LETTERS) if text["size"] < SMALLEST_LETTER_PX]
    assert small == []
    ink, ground = narrow.evaluate(INK)
    assert luminance(ink) < luminance(ground) if lamp == "day" else luminance(ink) > luminance(ground)
    check_page(narrow, f"figure-{code.lower()}-{lamp}")


@pytest.mark.parametrize("code", FAMILIES)
def test_a_figure_prints_in_dark_ink_on_white(
    phone: Page, live_server: str, small_sqlite: SmallService, library: Library, sign_in_as: SignIn, code: str
) -> None:
    phone.context.add_cookies([{"name": "lamp", "value": "night", "url": live_server}])
    sign_in_as(phone, "mira")
    open_question(phone, live_server, small_sqlite, library, code)
    phone.emulate_media(media="print")
    ink, ground = phone.evaluate(INK)
    assert luminance(ink) < 60
    assert luminance(ground) > 200 or ground == "rgba(0, 0, 0, 0)"
    assert phone.locator("figure.instrument").first.is_visible()
    picture(phone, SHOTS / f"figure-{code.lower()}-print-390.png")


def open_question(page: Page, address: str, small: SmallService, library: Library, code: str) -> str:
    sitting_id = asked(small, library, code)
    page.goto(f"{address}/sitting/{sitting_id}/1")
    expect(page.locator("figure.instrument").first).to_be_visible()
    return sitting_id


def asked(small: SmallService, library: Library, code: str) -> str:
    """Begin a practice; a question kept for assessments is put in the place of one that may be practised."""
    family = library.family(code)
    if family.use != "assessment":
        return practice(small, library, code)
    sitting_id = practice(small, library, "N03")
    plain = library.draw(code, library.profile("TV-A", 1), 1).to_plain()
    refreeze(small, sitting_id, lambda frozen: frozen.update(plain))
    return sitting_id


def luminance(colour: str) -> float:
    """The brightness, 0 to 255, of what the browser calls a colour."""
    red, green, blue = (float(part) for part in colour.split("(")[1].rstrip(")").split(",")[:3])
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def test_two_numbers_with_keys_alone(
    page: Page, live_server: str, small_sqlite: SmallService, library: Library, sign_in_as: SignIn,
    check_page: CheckPage,
) -> None:  # fmt: skip
    sign_in_as(page, "mira")
    sitting_id = open_question(page, live_server, small_sqlite, library, "N47")
    peak, baseline = questions(small_sqlite, sitting_id)[0].question.blanks
    page.get_by_label(peak.label).focus()
    page.keyboard.type(peak.key_printed)
    page.keyboard.press("Tab")
    page.keyboard.type(baseline.key_printed)
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", level=1)).to_have_text("That is right.")
    check_page(page, "two-numbers-right")


def test_a_unit_has_to_be_chosen_and_nothing_is_lost(
    phone: Page, live_server: str, small_sqlite: SmallService, library: Library, sign_in_as: SignIn,
    check_page: CheckPage,
) -> None:  # fmt: skip
    code = "N04"
    sign_in_as(phone, "mira")
    sitting_id = asked(small_sqlite, library, code)
    phone.goto(f"{live_server}/sitting/{sitting_id}/1")
    blank = questions(small_sqlite, sitting_id)[0].question.blanks[0]
    phone.get_by_label(blank.label, exact=True).fill(blank.key_printed)
    phone.get_by_role("button", name="Save answer 1").click()
    expect(phone.get_by_text("Choose a unit; the number you entered is kept")).to_be_visible()
    expect(phone.get_by_label(blank.label, exact=True)).to_have_value(blank.key_printed)
    check_page(phone, "unit-missing", refused=422)


def test_a_choice_with_keys_alone(
    page: Page, live_server: str, small_sqlite: SmallService, library: Library, sign_in_as: SignIn,
    check_page: CheckPage,
) -> None:  # fmt: skip
    sign_in_as(page, "mira")
    sitting_id = asked(small_sqlite, library, "K01")
    page.goto(f"{live_server}/sitting/{sitting_id}/1")
    key = questions(small_sqlite, sitting_id)[0].question.key_option
    page.get_by_role("radio").first.focus()
    page.keyboard.press("Space")
    for _ in range(8):
        if page.get_by_label(key.text, exact=True).is_checked():
            break
        page.keyboard.press("ArrowDown")
    page.get_by_role("button", name="Save answer 1").focus()
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", level=1)).to_have_text("That is right.")
    check_page(page, "choice-right")
