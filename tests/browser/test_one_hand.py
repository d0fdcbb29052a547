"""One hand, in a glove, at 390 px: every target is at least 44 px each way; undo and finish lie under the thumb."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect

from tests.browser.conftest import PHONE
from tests.browser.observing_in_browser import made_ready, row
from tests.observing import opened, performed
from tests.small_service import SmallService

SignIn = Callable[[Page, str], None]
LEAST_PX = 44
SMALL_TARGETS = """least => [...document.querySelectorAll('main a, main button, main summary, main select, ' +
    'main textarea, main input:not([type=hidden]), .under-thumb button')]
    .filter(target => target.checkVisibility()).map(target => {
        const label = target.closest('label');
        const inText = target.matches('a:not(.act)') && getComputedStyle(target).display === 'inline';
        const box = (label || target).getBoundingClientRect();
        const name = (target.textContent || target.name).trim().slice(0, 40);
        return {name, inText, width: box.width, height: box.height};
    }).filter(one => !one.inText && (one.width < least || one.height < least))"""


@pytest.fixture
def ready(small_sqlite: SmallService) -> SmallService:
    return made_ready(small_sqlite)


def test_every_target_is_large_enough_for_a_thumb(
    phone: Page, live_server: str, ready: SmallService, sign_in_as: SignIn
) -> None:
    sheet = f"/observe/{opened(ready)}"
    performed(ready, sheet.rsplit("/", 1)[1], "abc")
    who = f"person={ready.person_id('mira')}&procedure=P06"
    sign_in_as(phone, "tor")
    pages = ["/observe", "/observe/new", f"/observe/card?{who}", sheet, f"{sheet}?open=c", f"{sheet}/finish",
             f"{sheet}/fault", f"{sheet}/discard", "/procedures", "/procedures/P06"]  # fmt: skip
    small = {}
    for path in pages:
        phone.goto(live_server + path)
        small[path] = phone.evaluate(SMALL_TARGETS, LEAST_PX)
    phone.goto(f"{live_server}/procedures/P06")
    phone.get_by_role("button", name="Against the clock").click()
    for place in (0, 1, 2):
        phone.locator("[data-numbering] button").nth(place).click()
    small["rehearsal"] = phone.evaluate(SMALL_TARGETS, LEAST_PX)
    assert {path: found for path, found in small.items() if found} == {}


def test_undo_and_finish_stay_under_the_thumb_wherever_the_list_stands(
    phone: Page, live_server: str, ready: SmallService, sign_in_as: SignIn
) -> None:
    sign_in_as(phone, "tor")
    phone.goto(f"{live_server}/observe/{opened(ready, procedure_code='P02')}")
    phone.get_by_role("button", name="Start the clock").click()
    for step in "ahm":
        phone.locator(row(phone, step)).click()
        for name in ("Undo", "Finish"):
            box = phone.get_by_role("button", name=name).bounding_box()
            assert box is not None
            assert box["y"] > PHONE["height"] * 2 / 3
            assert box["y"] + box["height"] <= PHONE["height"]
        expect(phone.locator(".clock")).to_be_in_viewport()
