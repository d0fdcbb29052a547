"""Administrators at work in a real browser: a roster, a code, a role for two, content and devices; phone and desk."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect

from tests.small_service import PASSWORD, SmallService

SignInAs = Callable[[Page, str], None]
CheckPage = Callable[..., None]
ROSTER = (
    "staff_number;name;profession;base;joined_on;email;sign_in_name\n"
    "N-1;Nils Berg;doctor;CAI;2026-03-02;;nils\n"
    "T-mira;Mira Holm;flight paramedic;SKE;2025-01-01;;mira\n"
)


@pytest.fixture
def ada(page: Page, live_server: str, sign_in_as: SignInAs) -> Page:
    sign_in_as(page, "ada")
    page.goto(f"{live_server}/people")
    return page


def test_a_roster_with_faults_then_without(ada: Page, check_page: CheckPage) -> None:
    check_page(ada, "people")
    ada.get_by_role("link", name="Take a roster over").click()
    check_page(ada, "roster")
    rows = ada.get_by_label("Or paste the rows here")
    rows.fill(ROSTER.replace("SKE", "XX").replace("2026-03-02", "2026-13-02"))
    ada.get_by_role("button", name="Check the file").click()
    expect(ada.get_by_role("alert")).to_contain_text("Line 2: joined_on")
    check_page(ada, "roster-faults", refused=422)
    rows.fill(ROSTER)
    ada.get_by_role("button", name="Check the file").click()
    expect(ada.get_by_role("heading", level=1)).to_have_text("This roster adds 1 and changes 1.")
    check_page(ada, "roster-draft", refused=422)
    ada.get_by_label("Your password").fill(PASSWORD)
    ada.get_by_role("button", name="Take the roster over").click()
    expect(ada.get_by_role("heading", level=1)).to_contain_text("1 new, 1 changed, 0 the same")
    check_page(ada, "roster-done", refused=422)


def test_a_person_is_added_and_invited(ada: Page, check_page: CheckPage, live_server: str) -> None:
    ada.get_by_role("link", name="Add a person").click()
    ada.get_by_label("Staff number").fill("N-1")
    ada.get_by_label("Name", exact=True).fill("Nils Berg")
    ada.get_by_label("Profession").fill("doctor")
    check_page(ada, "person-new")
    ada.get_by_role("button", name="Add the person").click()
    check_page(ada, "person")
    for step, words in (("make an account", "Make an account"), ("hand out a code", "Show a code")):
        ada.get_by_role("link", name=re.compile("^Account")).click()
        ada.get_by_role("radio", name=re.compile(words)).check()
        if step == "make an account":
            ada.get_by_role("textbox", name="Sign-in name").fill("nils")
            check_page(ada, "person-account")
        ada.get_by_label("Your password").fill(PASSWORD)
        ada.get_by_role("button", name="Do it").click()
    check_page(ada, "person-code")
    code = ada.get_by_text(re.compile("^([0-9a-f]{4}-){7}[0-9a-f]{4}$")).inner_text()
    ada.context.clear_cookies()
    ada.goto(f"{live_server}/set-password")
    ada.get_by_role("textbox", name="Sign-in name").fill("nils")
    ada.get_by_label("Code").fill(code)
    ada.get_by_label("New password").fill("seven kettles under the pier")
    ada.get_by_label("The same once more").fill("seven kettles under the pier")
    check_page(ada, "set-password")
    ada.get_by_role("button", name="Set the password").click()
    ada.get_by_role("main").get_by_role("link", name="Sign in").click()
    ada.get_by_role("textbox", name="Sign-in name").fill("nils")
    ada.get_by_label("Password").fill("seven kettles under the pier")
    ada.get_by_role("button", name="Sign in").click()
    ada.get_by_role("link", name="Nils Berg").click()
    expect(ada.get_by_role("heading", level=1)).to_have_text("You are signed in as nils.")
    check_page(ada, "account")


def test_a_role_takes_two(ada: Page, check_page: CheckPage, sign_in_as: SignInAs, live_server: str) -> None:
    ada.get_by_role("link", name="Roles", exact=True).click()
    ada.get_by_role("link", name="Propose a role").click()
    ada.get_by_label("Staff number").fill("T-mira")
    ada.get_by_role("radio", name="assessor").check()
    ada.get_by_label("Where").select_option("Cairnlow")
    ada.get_by_label("Why").fill("agreed at the governance meeting")
    check_page(ada, "role-new")
    ada.get_by_label("Your password").fill(PASSWORD)
    ada.get_by_role("button", name="Propose the role").click()
    check_page(ada, "roles")
    ada.context.clear_cookies()
    sign_in_as(ada, "bea")
    ada.goto(f"{live_server}/roles")
    ada.get_by_role("link", name=re.compile("^Answer")).click()
    ada.get_by_role("radio", name=re.compile("^Confirm")).check()
    ada.get_by_label("Your password").fill(PASSWORD)
    check_page(ada, "role-proposal")
    ada.get_by_role("button", name="Give this answer").click()
    expect(ada.get_by_role("heading", level=1)).to_have_text("No role waits for a second administrator.")
    ada.get_by_role("link", name=re.compile("^End this role.*Mira$")).click()
    check_page(ada, "role-end")


def test_content_is_accepted_by_a_clinical_lead_and_a_device_put_in_service(
    page: Page, check_page: CheckPage, sign_in_as: SignInAs, live_server: str, small_sqlite: SmallService
) -> None:
    sign_in_as(page, "cleo")
    page.goto(f"{live_server}/content")
    page.get_by_role("checkbox").first.check()
    page.get_by_label("Your password").fill(PASSWORD)
    check_page(page, "content")
    page.get_by_role("button", name="Accept what is chosen").click()
    page.get_by_role("link", name=re.compile("^P01")).click()
    check_page(page, "content-item")
    page.goto(f"{live_server}/devices")
    page.get_by_role("button", name="Put it in service").click()
    page.get_by_role("link", name=re.compile("^Take it out")).click()
    check_page(page, "device-out")
    page.goto(f"{live_server}/devices")
    check_page(page, "devices")
    sign_in_as(page, "ada")
    page.goto(f"{live_server}/people/sign-offs")
    check_page(page, "sign-offs")
