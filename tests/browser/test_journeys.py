"""Whole journeys with keys alone, at the width of a phone and of a desk; every page on the way is checked."""

from __future__ import annotations

import csv
from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect

from quizapp.content.library import Library
from tests.browser.by_keys import press, reach, sign_in_by_keys, write
from tests.browser.conftest import PHONE, CheckPage, OpenWindow, Window
from tests.deciding import REASON, decide, show, with_standard
from tests.knowledge_forms import composed, practice, questions
from tests.small_service import PASSWORD, SmallService

SignIn = Callable[[Page, str], None]


@pytest.fixture
def ruled(small_sqlite: SmallService, library: Library) -> SmallService:
    """A standard is in force; Mira's evidence is complete, and a form was given to everybody at the base."""
    with_standard(small_sqlite, library)
    show(small_sqlite, "C5")
    show(small_sqlite, "C8", assessor="tor")
    composed(small_sqlite, library)
    return small_sqlite


def heading(page: Page, text: str) -> None:
    expect(page.get_by_role("heading", level=1)).to_contain_text(text)


def test_a_clinician_sits_a_form(
    page: Page, open_page: OpenWindow, windows: dict[Page, Window], live_server: str, ruled: SmallService,
    check_page: CheckPage,
) -> None:  # fmt: skip
    page.goto(live_server)
    heading(page, "Sign in to Thornmere Isles Rescue.")
    check_page(page, "sign-in")
    sign_in_by_keys(page, "mira", PASSWORD)
    heading(page, "Not yet signed off on TV-A revision 1")
    check_page(page, "currency")
    press(page, page.get_by_role("button", name="Begin, about 4 min"))
    sitting_id = answer_the_first_question(page, ruled, check_page)
    size = windows[page].size
    windows.pop(page).context.close()
    again = open_page(size)
    again.goto(live_server)
    sign_in_by_keys(again, "mira", PASSWORD)
    expect(again.get_by_text("3 questions, about 4 minutes, begun: every answer is kept.")).to_be_visible()
    press(again, again.get_by_role("link", name="Go on where you were"))
    go_on(again, ruled, sitting_id, check_page)
    look_behind_the_wrong_answer(again, check_page)


def answer_the_first_question(page: Page, small: SmallService, check_page: CheckPage) -> str:
    """A number that cannot be read first: it stays in its place, with what to write."""
    heading(page, "Question 1 of 3")
    check_page(page, "question")
    sitting_id = page.url.split("/")[-2]
    asked = questions(small, sitting_id)[0]
    entry = page.locator("#field-answer_0")
    write(page, entry, "about twelve")
    page.keyboard.press("Enter")
    expect(entry).to_have_value("about twelve")
    expect(entry).to_have_attribute("aria-invalid", "true")
    check_page(page, "question-refused", refused=422)
    write(page, entry, asked.question.blanks[0].key_printed)
    page.keyboard.press("Enter")
    heading(page, "Question 2 of 3")
    expect(page.get_by_text("Answer 1 saved at 09:00:00.")).to_be_visible()
    return sitting_id


def go_on(page: Page, small: SmallService, sitting_id: str, check_page: CheckPage) -> None:
    """The second question is the same as before; it is answered with a wrong idea, the third one right."""
    heading(page, "Question 2 of 3")
    assert page.url.endswith(f"/sitting/{sitting_id}/2")
    asked = questions(small, sitting_id)
    assert [one.answer is not None for one in asked] == [True, False, False]
    for one in asked[1:]:
        blanks = one.question.blanks
        first = blanks[0].ideas[0].printed if one.position == 2 else blanks[0].key_printed
        for index, text in enumerate([first, *(blank.key_printed for blank in blanks[1:])]):
            write(page, page.locator(f"#field-answer_{index}"), text)
        page.keyboard.press("Enter")
    heading(page, "All 3 questions are answered.")
    check_page(page, "sitting-end")
    press(page, page.get_by_role("button", name="Hand in"))
    heading(page, "2 of 3 right; 2 were needed.")
    check_page(page, "sitting-result")


def look_behind_the_wrong_answer(page: Page, check_page: CheckPage) -> None:
    press(page, page.locator("main a[href$='/2/why']"))
    expect(page.get_by_role("heading", name="Worked with your numbers")).to_be_visible()
    check_page(page, "why")
    press(page, page.get_by_role("button", name="A twin with new numbers"))
    heading(page, "Question 1 of 1")
    expect(page.get_by_role("contentinfo")).to_contain_text("no, it is practice")
    check_page(page, "twin")
    page.go_back()
    page.go_back()
    heading(page, "2 of 3 right; 2 were needed.")


def test_an_educator_composes_decides_and_signs(
    page: Page, live_server: str, ruled: SmallService, check_page: CheckPage
) -> None:
    page.goto(f"{live_server}/sign-in")
    sign_in_by_keys(page, "ines", PASSWORD)
    heading(page, "Nothing is required of you.")
    check_page(page, "currency-of-an-educator")
    press(page, page.get_by_role("link", name="Assessments"))
    check_page(page, "assessments")
    press(page, page.get_by_role("link", name="Compose an assessment, 5 min"))
    compose(page, check_page)
    assign(page, check_page)
    press(page, page.get_by_role("link", name="Decisions"))
    heading(page, "1 person waits for a decision.")
    check_page(page, "decisions")
    prepare(page, check_page)
    sign(page, check_page)


def compose(page: Page, check_page: CheckPage) -> None:
    check_page(page, "assessment-new")
    for label, text in (("Title", "Spring form"), ("Questions on C3", "2"), ("Questions on C5", "six")):
        write(page, page.get_by_label(label, exact=True), text)
    write(page, page.get_by_label("Fewest right to pass"), "6")
    write(page, page.get_by_label("Why the cut lies there"), "six of eight, agreed by the educators")
    press(page, page.get_by_role("button", name="Compose it"))
    expect(page.get_by_role("alert")).to_contain_text("C5: write a whole number from 0 to 60.")
    expect(page.get_by_label("Title", exact=True)).to_have_value("Spring form")
    check_page(page, "assessment-new-refused", refused=422)
    write(page, page.get_by_label("Questions on C5", exact=True), "6")
    press(page, page.get_by_role("button", name="Compose it"))
    heading(page, "6 of 8 right pass Spring form.")


def assign(page: Page, check_page: CheckPage) -> None:
    expect(page.get_by_text("42.8 in 100")).to_be_visible()
    press(page, page.get_by_label("Cairnlow"), "Space")
    press(page, page.get_by_role("button", name="Assign"))
    expect(page.get_by_role("cell", name="not begun").first).to_be_visible()
    check_page(page, "assessment")


def prepare(page: Page, check_page: CheckPage) -> None:
    press(page, page.locator("main").get_by_role("link", name="Mira"))
    heading(page, "Nothing is missing.")
    check_page(page, "decision")
    press(page, page.get_by_label("Competent", exact=True), "Space")
    for name in ("C5", "C8"):
        press(page, page.get_by_role("checkbox", name=name), "Space")
    press(page, page.get_by_role("button", name="Look at it, then sign"))
    expect(page.get_by_role("alert")).to_contain_text("Write a reason of 10 to 2000 characters")
    check_page(page, "decision-refused", refused=422)
    write(page, page.get_by_label("Reason, which the person will read"), REASON)
    press(page, page.get_by_role("button", name="Look at it, then sign"))
    heading(page, "You are about to sign: competent, for Mira, T-mira.")
    check_page(page, "decision-sign")


def sign(page: Page, check_page: CheckPage) -> None:
    for password in ("not this one", PASSWORD):
        reach(page, page.get_by_label("Your password, for this signature"))
        page.keyboard.type(password)
        page.keyboard.press("Enter")
        if password != PASSWORD:
            expect(page.get_by_role("alert")).to_contain_text("That is not your password.")
            check_page(page, "decision-sign-refused", refused=422)
    heading(page, "Nobody waits for a decision.")
    expect(page.get_by_text("Signed: competent, for Mira.")).to_be_visible()
    check_page(page, "decision-signed")


def test_a_team_lead_reads_readiness_and_takes_it_away(
    page: Page, live_server: str, ruled: SmallService, library: Library, check_page: CheckPage
) -> None:
    decide(ruled, library)
    page.goto(f"{live_server}/readiness")
    sign_in_by_keys(page, "leif", PASSWORD)
    heading(page, "1 of 3 is current; 2 not yet signed off.")
    check_page(page, "readiness")
    with page.expect_download() as download:
        press(page, page.get_by_role("button", name="Take it away as CSV"))
    with download.value.path().open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert (rows[0]["name"], rows[0]["standing"], len(rows)) == ("Mira", "current", 3)
    heading(page, "1 of 3 is current; 2 not yet signed off.")


def test_by_night(
    open_page: OpenWindow, live_server: str, ruled: SmallService, library: Library, sign_in_as: SignIn,
    check_page: CheckPage,
) -> None:  # fmt: skip
    night = open_page(PHONE)
    sign_in_as(night, "mira")
    reading = next(code for code, one in library.families.items() if one.kind.value == "reading")
    night.goto(f"{live_server}/sitting/{practice(ruled, library, reading)}/1")
    press(night, night.get_by_role("button", name="Night ink"))
    expect(night.locator("html")).to_have_attribute("data-lamp", "night")
    check_page(night, "question-night")
    night.goto(live_server)
    check_page(night, "currency-night")
    sign_in_as(night, "leif")
    night.goto(f"{live_server}/readiness")
    expect(night.locator("html")).to_have_attribute("data-lamp", "night")
    check_page(night, "readiness-night")
