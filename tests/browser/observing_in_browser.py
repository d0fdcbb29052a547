"""What browser tests of observations share: a service that is ready, the sheet's rows, what was sent and stored."""

from __future__ import annotations

from playwright.sync_api import Page, expect
from sqlalchemy import select

from quizapp.store.observations import ObservationEvent
from tests.observing import accept, put_in_service, require, sign_off
from tests.small_service import SmallService


def made_ready(small: SmallService) -> SmallService:
    """A device in service, a standard, Tor current as an assessor, and P06 accepted."""
    put_in_service(small)
    require(small, "C8")
    sign_off(small, "tor", "C8")
    accept(small, "P06")
    return small


def stored_kinds(small: SmallService) -> list[str]:
    with small.database.reading() as session:
        return sorted(session.scalars(select(ObservationEvent.kind)))


def row(page: Page, step: str) -> str:
    return f"#step-{step} .step-main"


def expect_sent(page: Page, marks: int) -> None:
    expect(page.locator(".under-thumb .state")).to_contain_text(
        f"{marks} mark{'s are' if marks > 1 else ' is'} kept by"
    )
