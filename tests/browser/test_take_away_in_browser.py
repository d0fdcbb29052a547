"""Evidence taken away as its person, on paper, and checked as somebody without an account."""

from __future__ import annotations

import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from quizapp.content.library import Library
from tests.browser.conftest import DESK, PHONE, SHOTS, CheckPage, OpenWindow, picture
from tests.small_service import PASSWORD, SmallService
from tests.taking_away import signed_off

SignIn = Callable[[Page, str], None]


@pytest.fixture
def mira(small_sqlite: SmallService, library: Library) -> str:
    signed_off(small_sqlite, library)
    return "mira"


def make(page: Page, live_server: str) -> str:
    """Take it away as Mira does; return the code on the page."""
    page.goto(f"{live_server}/my-evidence")
    page.get_by_role("link", name="Take it away, 1 min").click()
    page.get_by_label("Your password").fill(PASSWORD)
    page.get_by_role("button", name="Make it now").click()
    return page.locator(".check-code strong").inner_text()


def fetch(page: Page, folder: Path) -> Path:
    """Download the file on the page into a folder."""
    with page.expect_download() as fetched:
        page.get_by_role("link", name="Download the file").click()
    path = folder / fetched.value.suggested_filename
    fetched.value.save_as(path)
    return path


def enter(outsider: Page, live_server: str, code: str) -> None:
    """Enter a code as somebody without an account."""
    outsider.goto(f"{live_server}/check")
    outsider.get_by_label("Check code").fill(code)
    outsider.get_by_role("button", name="Check the code").click()


def test_taken_away_checked_and_seen(
    page: Page, open_page: OpenWindow, live_server: str, mira: str, sign_in_as: SignIn, check_page: CheckPage,
    tmp_path: Path,
) -> None:  # fmt: skip
    sign_in_as(page, mira)
    page.goto(f"{live_server}/my-evidence")
    check_page(page, "my-evidence")
    code = make(page, live_server)
    check_page(page, "take-away-one")
    outsider = open_page(page.viewport_size or PHONE)
    check_as_outsider(outsider, live_server, check_page, code, fetch(page, tmp_path))
    page.reload()
    expect(page.get_by_text("genuine, and it holds")).to_have_count(2)
    check_page(page, "take-away-looked-at")
    page.get_by_role("button", name="Revoke it").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("You revoked this evidence.")
    check_page(page, "take-away-revoked")
    page.goto(f"{live_server}/my-evidence/take-away")
    check_page(page, "take-away-list")
    enter(outsider, live_server, code)
    check_page(outsider, "check-revoked")


def check_as_outsider(outsider: Page, live_server: str, check_page: CheckPage, code: str, archive: Path) -> None:
    """Check by code and by file, and with a slip of the pen."""
    outsider.goto(f"{live_server}/check")
    check_page(outsider, "check")
    enter(outsider, live_server, code.replace("-", " ").lower())
    expect(outsider.get_by_role("heading", level=1)).to_contain_text("Genuine: made here on 2 March 2026 for Mira")
    check_page(outsider, "check-genuine")
    outsider.get_by_role("link", name="Check another").click()
    outsider.get_by_label("The file", exact=True).set_input_files(archive)
    outsider.get_by_role("button", name="Check the file").click()
    expect(outsider.get_by_role("heading", level=1)).to_contain_text("and it holds today")
    enter(outsider, live_server, "2222 2222 2222")
    check_page(outsider, "check-no-code", refused=422)


def test_the_page_in_the_file_reads_well(
    page: Page, live_server: str, mira: str, sign_in_as: SignIn, check_page: CheckPage, tmp_path: Path
) -> None:
    sign_in_as(page, mira)
    make(page, live_server)
    with zipfile.ZipFile(fetch(page, tmp_path)) as packed:
        packed.extractall(tmp_path / "out")
    (folder,) = (tmp_path / "out").iterdir()
    page.goto((folder / "evidence.html").as_uri())
    check_page(page, "evidence-file")


def test_on_paper_there_is_the_code_and_nothing_to_press(
    open_page: OpenWindow, live_server: str, mira: str, sign_in_as: SignIn
) -> None:
    page = open_page(DESK)
    sign_in_as(page, mira)
    code = make(page, live_server)
    page.emulate_media(media="print")
    SHOTS.mkdir(exist_ok=True)
    picture(page, SHOTS / "take-away-paper.png")
    caution = page.get_by_text("Training and assessment").first
    for seen in (page.get_by_text(code).first, page.get_by_text("/check"), caution):
        expect(seen).to_be_visible()
    for gone in (
        page.get_by_role("link", name="Download the file"), page.get_by_role("button", name="Revoke it"),
        page.get_by_role("heading", name="Who looked at it"),
    ):  # fmt: skip
        expect(gone).not_to_be_visible()


def test_by_night(
    open_page: OpenWindow, live_server: str, mira: str, sign_in_as: SignIn, check_page: CheckPage
) -> None:
    night = open_page(PHONE)
    night.emulate_media(color_scheme="dark")
    sign_in_as(night, mira)
    make(night, live_server)
    check_page(night, "take-away-one-night")
    night.goto(f"{live_server}/check")
    check_page(night, "check-night")
