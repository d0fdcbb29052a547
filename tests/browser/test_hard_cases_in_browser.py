"""Discussions, the log of real use, paths, leave and adjustments used in a browser, by day and by night."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta

import pytest
from playwright.sync_api import Page

from quizapp.content.library import Library
from tests.browser.conftest import CheckPage
from tests.discussing import accept_guides, held
from tests.small_service import PASSWORD, SmallService
from tests.walking import failed_twice, walking

SignIn = Callable[[Page, str], None]
SAID = (
    "Bag and mask on him, device and cylinder tied down with slack at the tube, gas for twice the flight.",
    "One leads, one watches the chest, stop is the word.",
    "The cuff grows, I look at it on the climb and at the top.",
    "All checks again as soon as we are still.",
    "Settings, trend, eighteen minutes of gas left at this flow; did you hear me?",
    "Told at the handover, written down, the device kept aside with its number.",
)


@pytest.fixture
def ready(small_sqlite: SmallService, library: Library) -> SmallService:
    walking(small_sqlite, library)
    accept_guides(small_sqlite, library)
    return small_sqlite


def at_night(page: Page) -> None:
    page.emulate_media(color_scheme="dark")


def test_a_discussion_is_held_and_signed(
    page: Page, live_server: str, ready: SmallService, sign_in_as: SignIn, check_page: CheckPage
) -> None:
    sign_in_as(page, "ines")
    page.goto(f"{live_server}/discussions")
    check_page(page, "discussions")
    page.get_by_role("link", name="Open a discussion").click()
    check_page(page, "discussion-new")
    page.get_by_label("With whom").select_option(label="Mira, flight paramedic")
    page.get_by_label("Which discussion").select_option(value="D02")
    page.get_by_role("button", name="Open it, 15 min").click()
    for place, (letter, words) in enumerate(zip("abcdef", SAID, strict=True)):
        page.locator(f"#field-said_{letter}").fill(words)
        page.locator(f"[name=mark_{letter}][value='{1 if place == 2 else 2}']").check()
    check_page(page, "discussion-sheet")
    page.get_by_role("button", name="Look at it, then sign").click()
    assert "You are about to sign: Mira" in page.locator("h1").inner_text()
    check_page(page, "discussion-sign")
    page.get_by_label("Your password").fill(PASSWORD)
    page.get_by_role("button", name="Sign", exact=True).click()
    assert "was shown" in page.locator("h1").inner_text()
    at_night(page)
    check_page(page, "discussion-record-night")


def test_the_person_reads_what_was_said(
    page: Page, live_server: str, ready: SmallService, library: Library, sign_in_as: SignIn, check_page: CheckPage
) -> None:
    held(ready, library, marks="122210")
    sign_in_as(page, "mira")
    page.goto(f"{live_server}/my-evidence")
    page.get_by_role("link", name="D02 Moving, flying, and handing over").click()
    assert "was not shown" in page.locator("h1").inner_text()
    check_page(page, "discussion-not-shown")


def test_a_real_use_is_logged_and_a_name_refused(
    page: Page, live_server: str, ready: SmallService, sign_in_as: SignIn, check_page: CheckPage
) -> None:
    sign_in_as(page, "mira")
    page.goto(f"{live_server}/real-use/new")
    for label in ("Winch", "15 to 30 minutes", "There was trouble, put right on the device", "Kink or obstruction"):
        page.get_by_label(label).check()
    page.get_by_label("Anything the next crew should know").fill("Mr Jones lay on the tube")
    check_page(page, "use-new")
    page.get_by_role("button", name="Log it").click()
    assert "looks like a name with a title" in page.locator("#errors").inner_text()
    check_page(page, "use-refused", refused=422)
    page.get_by_label("Anything the next crew should know").fill("The tube was pinched by the bag's handle.")
    page.get_by_role("button", name="Log it").click()
    assert page.locator("h1").inner_text() == "You have logged one real use."
    at_night(page)
    check_page(page, "use-list-night")


def test_a_path_from_offer_to_first_step(
    page: Page, live_server: str, ready: SmallService, sign_in_as: SignIn, check_page: CheckPage
) -> None:
    failed_twice(ready)
    sign_in_as(page, "ines")
    page.goto(f"{live_server}/paths")
    check_page(page, "paths")
    page.get_by_role("link", name="Open the path").click()
    page.get_by_label("Last day with a current colleague").fill((ready.now.date() + timedelta(days=60)).isoformat())
    page.get_by_label("Why, in words the person reads").fill("Twice without the bag. We take time for it now.")
    check_page(page, "path-new")
    page.get_by_role("button", name="Open the path").click()
    check_page(page, "path")
    page.get_by_label("Whom").select_option(label="Cleo")
    page.get_by_label("In words the person reads").first.fill("Cleo takes over from today; Mira knows.")
    page.get_by_role("button", name="Record it").click()
    assert "Next: Find out why, together" in page.locator(".lede").inner_text()
    sign_in_as(page, "mira")
    page.goto(live_server)
    check_page(page, "currency-on-a-path")
    page.get_by_role("link", name="Not shown twice").click()
    at_night(page)
    check_page(page, "path-own-night")


def test_leave_and_adjustments(
    page: Page, live_server: str, ready: SmallService, sign_in_as: SignIn, check_page: CheckPage
) -> None:
    sign_in_as(page, "ines")
    page.goto(f"{live_server}/leave/new")
    page.get_by_label("Who").select_option(label="Mira, flight paramedic")
    page.get_by_label("Last day away").fill((ready.now.date() + timedelta(days=130)).isoformat())
    page.get_by_label("A sentence the person reads").fill("On leave as agreed.")
    check_page(page, "leave-new")
    page.get_by_role("button", name="Record it").click()
    check_page(page, "leave")
    page.goto(f"{live_server}/adjustments/{ready.person_id('una')}")
    page.get_by_label("50 % more").check()
    page.get_by_role("button", name="Set it").click()
    assert page.locator("h1").inner_text() == "The sittings of Una are adjusted."
    check_page(page, "adjustments")
    page.goto(f"{live_server}/paths/evidence/{ready.person_id('mira')}")
    check_page(page, "outside-evidence")
    sign_in_as(page, "una")
    page.goto(f"{live_server}/adjustments/mine")
    at_night(page)
    check_page(page, "adjustments-mine-night")


def test_guide_counts_engagement_and_ones_own_path(
    page: Page, live_server: str, ready: SmallService, sign_in_as: SignIn, check_page: CheckPage
) -> None:
    for name, address in (
        ("cleo", "/discussions/guides/D01"),
        ("ines", "/real-use/counts"),
        ("ada", f"/people/{ready.person_id('mira')}/engagement"),
        ("mira", "/paths/mine"),
    ):
        sign_in_as(page, name)
        page.goto(live_server + address)
        check_page(page, "hard-case" + address.replace("/", "-").replace(ready.person_id("mira"), "mira"))
