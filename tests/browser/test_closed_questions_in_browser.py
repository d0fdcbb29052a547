"""Orders with keys alone, a choice worth half, a gauge laid straight, and what was withdrawn in the middle."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal

import pytest
from playwright.sync_api import Page, expect

from quizapp.assessment.questions import Question
from quizapp.content.library import Library
from quizapp.services.accept_content import withdraw_content
from tests.browser.by_keys import press, reach
from tests.browser.conftest import PHONE, CheckPage, OpenWindow
from tests.knowledge_forms import begun, composed, practice, questions, refreeze
from tests.small_service import SmallService

SignIn = Callable[[Page, str], None]
SEEDS = range(40)


def practised(small: SmallService, library: Library, question: Question) -> str:
    """A practice of exactly this question."""
    sitting_id = practice(small, library, "N03")
    refreeze(small, sitting_id, lambda frozen: frozen.update(question.to_plain()))
    return sitting_id


def right_order(question: Question) -> list[str]:
    """The texts of the steps in one order that keeps every real pair."""
    left, order = {step.name: set(step.after) for step in question.steps}, list[str]()
    text = {step.name: step.text for step in question.steps}
    while left:
        free = next(name for name, after in left.items() if not after & set(left))
        del left[free]
        order.append(text[free])
    return order


def give(page: Page, text: str) -> None:
    press(page, page.locator("[data-numbering] button").filter(has_text=text), "Space")


@pytest.mark.parametrize("code", ["K08", "K19"])
def test_an_order_with_keys_alone(
    page: Page, live_server: str, small_sqlite: SmallService, library: Library, sign_in_as: SignIn,
    check_page: CheckPage, code: str,
) -> None:  # fmt: skip
    """The last two change places, are put right by the list of keys, and the whole is saved with Enter."""
    sign_in_as(page, "mira")
    question = library.draw(code, library.profile("TV-A", 1), 5)
    sitting_id = practised(small_sqlite, library, question)
    page.goto(f"{live_server}/sitting/{sitting_id}/1")
    *begin, before, last = right_order(question)
    for text in (*begin, last, before):
        give(page, text)
    check_page(page, f"order-{code.lower()}")
    row = page.locator("[data-order] li").filter(has_text=last)
    press(page, row.locator('[data-move="later"]'))
    expect(page.locator("[data-order] li").last).to_contain_text(last)
    press(page, page.get_by_role("button", name="Save answer 1"))
    expect(page.get_by_role("heading", level=1)).to_have_text("That is right.")
    check_page(page, f"order-{code.lower()}-right")


def test_a_broken_pair_is_named_after_keys_alone(
    phone: Page, live_server: str, small_sqlite: SmallService, library: Library, sign_in_as: SignIn,
    check_page: CheckPage,
) -> None:  # fmt: skip
    """One step is put at the start by the two lists, so that all it depends on comes after it."""
    sign_in_as(phone, "mira")
    question = library.draw("K19", library.profile("TV-A", 1), 5)
    sitting_id = practised(small_sqlite, library, question)
    phone.goto(f"{live_server}/sitting/{sitting_id}/1")
    cycle = next(step for step in question.steps if step.name == "cycle")
    for text in right_order(question):
        give(phone, text)
    press(phone, phone.get_by_text("Put a step after another"))
    reach(phone, phone.get_by_label("Put", exact=True))
    phone.keyboard.type(cycle.text)
    reach(phone, phone.get_by_label("right after"))
    phone.keyboard.press("Home")
    press(phone, phone.get_by_role("button", name="Put it there"))
    expect(phone.locator("[data-order] li").first).to_contain_text(cycle.text)
    press(phone, phone.get_by_role("button", name="Save answer 1"))
    expect(phone.get_by_role("heading", level=1)).to_have_text("Some steps came before what they depend on.")
    broken = phone.get_by_role("listitem").filter(has_text=cycle.because)
    expect(broken).to_have_count(1)
    for name in cycle.after:
        expect(broken).to_contain_text(next(step.text for step in question.steps if step.name == name))
    check_page(phone, "order-broken")


def test_a_choice_worth_half_is_said_to_be_so_and_every_option_is_answered(
    page: Page, live_server: str, small_sqlite: SmallService, library: Library, sign_in_as: SignIn,
    check_page: CheckPage,
) -> None:  # fmt: skip
    profile = library.profile("TV-A", 1)
    question, second = next(
        (question, option)
        for question in (library.draw("K04", profile, seed) for seed in SEEDS)
        for option in question.options
        if option.credit == Decimal("0.5")
    )
    sign_in_as(page, "mira")
    sitting_id = practised(small_sqlite, library, question)
    page.goto(f"{live_server}/sitting/{sitting_id}/1")
    press(page, page.get_by_role("radio").first, "Space")
    for _ in range([option.text for option in question.options].index(second.text)):
        page.keyboard.press("ArrowDown")
    expect(page.get_by_label(second.text, exact=True)).to_be_checked()
    press(page, page.get_by_role("button", name="Save answer 1"))
    expect(page.get_by_role("heading", level=1)).to_have_text(second.says.split(". ")[0].rstrip(".") + ".")
    expect(page.get_by_text("worth half of the credit")).to_be_visible()
    for option in question.options:
        expect(page.get_by_text(option.says, exact=True).first).to_be_visible()
    expect(page.get_by_text("This is the one.")).to_have_count(1)
    expect(page.get_by_text("You chose this.")).to_have_count(1)
    check_page(page, "choice-half")


@pytest.mark.parametrize("lamp", ["day", "night"])
def test_a_gauge_misread_is_laid_straight(
    open_page: OpenWindow, live_server: str, small_sqlite: SmallService, library: Library, sign_in_as: SignIn,
    check_page: CheckPage, lamp: str,
) -> None:  # fmt: skip
    page = open_page(PHONE)
    page.context.add_cookies([{"name": "lamp", "value": lamp, "url": live_server}])
    sign_in_as(page, "mira")
    sitting_id = practice(small_sqlite, library, "N46")
    blank = questions(small_sqlite, sitting_id)[0].question.blanks[0]
    idea = next(one for one in blank.ideas if one.name == "numeral-alone")
    page.goto(f"{live_server}/sitting/{sitting_id}/1")
    page.get_by_label(blank.label).fill(idea.printed)
    page.get_by_role("button", name="Save answer 1").click()
    expect(page.get_by_role("heading", level=1)).to_have_text(
        "You read the numeral below the needle and left the small marks out."
    )
    expect(page.locator("svg.flat")).to_be_visible()
    check_page(page, f"gauge-laid-straight-{lamp}")


def test_a_withdrawn_question_is_passed_over(
    page: Page, live_server: str, small_sqlite: SmallService, library: Library, sign_in_as: SignIn,
    check_page: CheckPage,
) -> None:  # fmt: skip
    begun_id = begun(small_sqlite, library, composed(small_sqlite, library))
    code = questions(small_sqlite, begun_id)[0].question.family
    with small_sqlite.acting("ines") as act:
        withdraw_content(
            act, library, kind="family", code=code, content_hash=library.family(code).content_hash, step="",
            reason="two right answers were found in it",
        )  # fmt: skip
    sign_in_as(page, "mira")
    page.goto(f"{live_server}/sitting/{begun_id}/1")
    check_page(page, "question-withdrawn")
    page.get_by_role("link", name="Go on").click()
    expect(page.get_by_role("button", name="Save answer 2")).to_be_visible()
