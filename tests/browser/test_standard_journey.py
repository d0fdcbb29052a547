"""The standard drafted and put in force, a decision amended and voided, with keys alone; every page is checked."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect

from quizapp.content.library import Library
from tests.browser.by_keys import press, reach, sign_in_by_keys, write
from tests.browser.conftest import DESK, PHONE, CheckPage, OpenWindow
from tests.deciding import decide, show, with_standard
from tests.small_service import PASSWORD, SmallService

SignIn = Callable[[Page, str], None]


@pytest.fixture
def ruled(small_sqlite: SmallService, library: Library) -> SmallService:
    """Mira is signed off in C5 and C8 until 2 March 2027."""
    with_standard(small_sqlite, library)
    show(small_sqlite, "C5")
    show(small_sqlite, "C8", assessor="tor")
    decide(small_sqlite, library)
    return small_sqlite


def heading(page: Page, text: str) -> None:
    expect(page.get_by_role("heading", level=1)).to_contain_text(text)


def sign_with(page: Page, password: str) -> None:
    reach(page, page.get_by_label("Your password, for this signature"))
    page.keyboard.type(password)
    page.keyboard.press("Enter")


def test_an_educator_puts_the_next_standard_in_force(
    page: Page, live_server: str, ruled: SmallService, check_page: CheckPage
) -> None:
    page.goto(f"{live_server}/standard")
    sign_in_by_keys(page, "ines", PASSWORD)
    heading(page, "Standard, version 1 is in force since 1 January 2025.")
    check_page(page, "standard")
    press(page, page.get_by_role("button", name="Draft the next standard"))
    heading(page, "2 things stand in the way of putting it in force.")
    check_page(page, "standard-draft")
    write(page, page.get_by_label("Fewest questions of a form that counts"), "twenty")
    write(page, page.get_by_label("Why it changes"), "P06 was often done late last year")
    press(page, page.get_by_role("button", name="Save this part"))
    expect(page.get_by_role("alert")).to_contain_text("Write a whole number from 0 to 500.")
    expect(page.get_by_label("Why it changes")).to_have_value("P06 was often done late last year")
    check_page(page, "standard-draft-refused", refused=422)
    general_part(page)
    one_competency(page, check_page)
    check_page(page, "standard-draft-ready")
    press(page, page.get_by_role("button", name="See its effect, then sign"))
    heading(page, "You are about to put Standard, version 2, in force from 1 April 2026.")
    expect(page.get_by_text("For 1 person a sign-off ends earlier, the first on 30 June 2026.")).to_be_visible()
    check_page(page, "standard-sign")
    sign_with(page, "not this one")
    expect(page.get_by_role("alert")).to_contain_text("That is not your password.")
    check_page(page, "standard-sign-refused", refused=422)
    sign_with(page, PASSWORD)
    heading(page, "Standard, version 1 is in force since 1 January 2025.")
    expect(page.get_by_text("Signed: Standard, version 2, in force from 1 April 2026.")).to_be_visible()
    check_page(page, "standard-signed")
    press(page, page.locator("main").get_by_role("link", name="what it changes"))
    check_page(page, "standard-version")
    press(page, page.get_by_role("link", name="Verify the signature"))
    heading(page, "This signature is genuine, and nothing was changed since.")
    check_page(page, "signature")


def general_part(page: Page) -> None:
    write(page, page.get_by_label("Fewest questions of a form that counts"), "20")
    write(page, page.get_by_label("Fewest right of so many"), "16")
    # The browser's own date entry follows the machine's language, so a day is put in as a whole.
    page.get_by_label("First day in force").fill("2026-04-01")
    write(page, page.get_by_label("Who agreed"), "both educators, 1 March")
    press(page, page.get_by_role("button", name="Save this part"))
    heading(page, "The draft is ready to be put in force.")


def one_competency(page: Page, check_page: CheckPage) -> None:
    press(page, page.locator("main").get_by_role("link", name="C8 "))
    heading(page, "is asked for in the draft.")
    check_page(page, "standard-competency")
    write(page, page.get_by_label("Months a new sign-off holds"), "99")
    press(page, page.get_by_role("button", name="Save C8"))
    expect(page.get_by_role("alert")).to_contain_text("Write a whole number from 1 to 60.")
    check_page(page, "standard-competency-refused", refused=422)
    write(page, page.get_by_label("Months a new sign-off holds"), "6")
    page.get_by_label("Earlier sign-offs end on this day at the latest").fill("2026-06-30")
    press(page, page.get_by_role("button", name="Save C8"))
    expect(page.get_by_text("C8: sign-offs given before end on 30 June 2026 at the latest.")).to_be_visible()


def test_a_decision_is_amended_and_voided_by_two_educators(
    page: Page, open_page: OpenWindow, live_server: str, ruled: SmallService, check_page: CheckPage
) -> None:
    page.goto(f"{live_server}/standing/{ruled.person_id('mira')}")
    sign_in_by_keys(page, "ines", PASSWORD)
    heading(page, "Current until 2 March 2027 on TV-A revision 1.")
    check_page(page, "standing")
    press(page, page.get_by_role("link", name=re.compile("Amend or void it.*C8")))
    heading(page, "Mira, C8: competent until 2 March 2027.")
    check_page(page, "decision-one")
    press(page, page.get_by_role("link", name="Amend it"))
    write(page, page.get_by_label("Why it is amended"), "The interval was written wrongly")
    press(page, page.get_by_role("button", name="Look at it, then sign"))
    expect(page.get_by_role("alert")).to_contain_text("This says what the decision says already.")
    expect(page.get_by_label("Why it is amended")).to_have_value("The interval was written wrongly")
    check_page(page, "decision-amend-refused", refused=422)
    write(page, page.get_by_label("Reason, which the person will read"), "Shown; to be looked at again in autumn.")
    press(page, page.get_by_role("button", name="Look at it, then sign"))
    heading(page, "You are about to amend: Mira, T-mira, C8.")
    check_page(page, "decision-amend-sign")
    sign_with(page, PASSWORD)
    expect(page.get_by_text("Signed: the amended version stands from now on.")).to_be_visible()
    check_page(page, "decision-amended")
    press(page, page.get_by_role("link", name="Propose to void it"))
    write(page, page.get_by_label("Why it is void"), "The wrong person was meant")
    check_page(page, "decision-void")
    press(page, page.get_by_role("button", name="Look at it, then sign"))
    check_page(page, "decision-void-sign")
    sign_with(page, PASSWORD)
    expect(page.get_by_text("Signed. The decision stands until a second educator confirms.")).to_be_visible()
    second = open_page(PHONE)
    the_second_educator_answers(second, live_server, check_page)


def the_second_educator_answers(page: Page, live_server: str, check_page: CheckPage) -> None:
    page.goto(f"{live_server}/decisions")
    sign_in_by_keys(page, "cleo", PASSWORD)
    press(page, page.get_by_role("link", name="Mira, C8, competent"))
    heading(page, "Ines proposes to void a decision on Mira.")
    check_page(page, "decision-settle")
    press(page, page.get_by_label("Void it: I looked at it and agree"), "Space")
    write(page, page.get_by_label("Why, which the person will read"), "I looked at it as well")
    press(page, page.get_by_role("button", name="Look at it, then sign"))
    sign_with(page, PASSWORD)
    heading(page, "Mira, C8: this decision is void.")
    check_page(page, "decision-voided")


def test_a_standing_is_changed_looked_up_and_changed_back(
    page: Page, live_server: str, ruled: SmallService, check_page: CheckPage
) -> None:
    page.goto(f"{live_server}/standing/{ruled.person_id('mira')}/change")
    sign_in_by_keys(page, "ines", PASSWORD)
    check_page(page, "standing-change")
    press(page, page.get_by_label("Suspend: off the device"), "Space")
    write(page, page.get_by_label("Reason, or the conditions"), "Asked for after the night of the first")
    reach(page, page.get_by_label("Your password"))
    page.keyboard.type(PASSWORD)
    page.keyboard.press("Enter")
    heading(page, "Suspended since 2 March 2026 by an educator's decision.")
    check_page(page, "standing-suspended")
    write(page, page.get_by_label("Day and time"), "2026-03-02 08:59")
    page.keyboard.press("Enter")
    heading(page, "Not yet signed off")
    check_page(page, "standing-past")
    write(page, page.get_by_label("Day and time"), "2026-03-29 01:30")
    page.keyboard.press("Enter")
    expect(page.get_by_role("alert")).to_contain_text("The clock skips")
    check_page(page, "standing-past-refused", refused=422)
    press(page, page.get_by_role("link", name=re.compile("End it.*Suspended")))
    heading(page, "Lift the suspension of Mira.")
    check_page(page, "standing-end")
    write(page, page.get_by_label("Reason, which the person will read"), "Talked through and shown again")
    reach(page, page.get_by_label("Your password"))
    page.keyboard.type(PASSWORD)
    page.keyboard.press("Enter")
    heading(page, "Current until 2 March 2027")


def test_a_list_is_signed_by_the_second_person(
    page: Page, open_page: OpenWindow, live_server: str, ruled: SmallService, check_page: CheckPage
) -> None:
    rows = (
        "staff_number,competency,signed_on,last_valid_day,profile,revision,recognised_reason\n"
        "T-tor,C5,2025-06-01,2026-06-01,TV-A,1,Signed in the paper log of last year\n"
    )
    page.goto(f"{live_server}/people/sign-offs")
    sign_in_by_keys(page, "ada", PASSWORD)
    write(page, page.get_by_label("Sign-in name of the second person"), "ines")
    page.get_by_label("Or paste the rows here").fill(rows)
    press(page, page.get_by_role("button", name="Check the file"))
    heading(page, "1 sign-off would be recognised.")
    check_page(page, "recognise-first")
    sign_with(page, PASSWORD)
    expect(page.get_by_text("The list is signed by you.")).to_be_visible()
    second = open_page(DESK)
    second.goto(f"{live_server}/decisions")
    sign_in_by_keys(second, "ines", PASSWORD)
    check_page(second, "decisions-with-a-list")
    press(second, second.get_by_role("link", name="1 list of sign-offs"))
    check_page(second, "recognise")
    press(second, second.get_by_role("link", name="pasted rows"))
    heading(second, "Ada signed 1 sign-off given elsewhere and named you as the second person.")
    check_page(second, "recognise-second")
    sign_with(second, PASSWORD)
    expect(second.get_by_text("1 sign-off was recognised.")).to_be_visible()


def test_by_night(
    open_page: OpenWindow, live_server: str, ruled: SmallService, sign_in_as: SignIn, check_page: CheckPage
) -> None:
    night = open_page(PHONE)
    sign_in_as(night, "ines")
    for address, name in (("/standard", "standard-night"), (f"/standing/{ruled.person_id('mira')}", "standing-night"),
                          ("/signatures", "signatures-night")):  # fmt: skip
        night.goto(f"{live_server}{address}")
        if name == "standard-night":
            press(night, night.get_by_role("button", name="Night ink"))
        expect(night.locator("html")).to_have_attribute("data-lamp", "night")
        check_page(night, name)
