"""What a page prints: the caution and, in the demo, that all is invented; nothing to press."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect
from sqlalchemy import select

from quizapp.content.library import Library
from quizapp.store.people import Service
from quizapp.web.page_context import CAUTION
from tests.browser.conftest import SHOTS
from tests.deciding import decide, show, with_standard
from tests.knowledge_forms import answer, begun, composed, handed_in, questions
from tests.small_service import SmallService

SignIn = Callable[[Page, str], None]


@pytest.fixture
def shown(small_sqlite: SmallService, library: Library) -> str:
    """Mira handed a form in with one wrong answer and was signed off; it is the demo. Gives the sitting."""
    with_standard(small_sqlite, library)
    show(small_sqlite, "C5")
    show(small_sqlite, "C8", assessor="tor")
    decide(small_sqlite, library)
    sitting_id = begun(small_sqlite, library, composed(small_sqlite, library))
    answer(small_sqlite, sitting_id, 1, questions(small_sqlite, sitting_id)[0].question.blanks[0].ideas[0].printed)
    handed_in(small_sqlite, sitting_id)
    with small_sqlite.database.writing() as session:
        session.scalars(select(Service)).one().is_demo = True
    return sitting_id


def test_every_page_carries_the_caution_onto_paper(
    desk: Page, live_server: str, shown: str, small_sqlite: SmallService, sign_in_as: SignIn
) -> None:
    own = ["/", "/practice", "/my-evidence", f"/sitting/{shown}/result", f"/sitting/{shown}/1/why"]
    pages = {
        "mira": own,
        "leif": ["/readiness"],
        "ines": ["/decisions", f"/decisions/{small_sqlite.person_id('mira')}", "/assessments", "/assessments/new"],
    }
    for name, addresses in pages.items():
        desk.context.clear_cookies()
        sign_in_as(desk, name)
        for address in addresses:
            desk.goto(live_server + address)
            prints_the_caution(desk)
    desk.goto(f"{live_server}/readiness")
    SHOTS.mkdir(exist_ok=True)
    (SHOTS / "readiness.pdf").write_bytes(desk.pdf(format="A4", prefer_css_page_size=True))


def prints_the_caution(page: Page) -> None:
    page.emulate_media(media="print")
    expect(page.get_by_text(CAUTION)).to_be_visible()
    expect(page.get_by_text("Invented for the demo:")).to_be_visible()
    expect(page.get_by_role("heading", level=1)).to_be_visible()
    for nothing in (page.get_by_role("navigation", name="Main"), page.get_by_role("button", name="Night ink")):
        expect(nothing).to_be_hidden()
    page.emulate_media(media="screen")
