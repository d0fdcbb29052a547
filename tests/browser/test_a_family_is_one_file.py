"""Somebody adds a family: one new file in the content folder, checked, previewed, accepted, and sat in the browser."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import datetime
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from quizapp.cli import main
from quizapp.content.library import read_library
from quizapp.services.assign_assessment import assign_assessment
from quizapp.services.compose_assessment import Composition, Part, compose_assessment
from tests.browser.conftest import PHONE, CheckPage, OpenWindow
from tests.browser.live_server import served
from tests.knowledge_forms import questions
from tests.sample_families import make_content_folder
from tests.small_service import PASSWORD, SmallService
from tests.web_app import COOKIE, signed_in_cookie, web_app_around

Clock = Callable[[], datetime]
NEW_FILE = """+++
code = "N77"
title = "Two ends of the needle"
kind = "reading"
purpose = "diagnostic"
competencies = ["C5"]
group = "two-ends"
owner = "Clinical education"
review_by = 2099-12-31
sources = ["ARITH"]
where = "high - low > 6"

[draw.high]
from = 20
to = 30
step = 2

[draw.low]
from = 2
to = 8
step = 2

[key]
label = "Peak"
formula = "high"
unit = "cmH2O"
tolerance = 1
decimals = 0
range = [20, 30]

[second]
label = "Baseline"
formula = "low"
unit = "cmH2O"
tolerance = 1
decimals = 0
range = [2, 8]

[[wrong_idea]]
name = "swing-as-peak"
formula = "high - low"
says = "You read the height of the swing."

[[wrong_idea]]
name = "no-baseline"
blank = "second"
formula = "0"
says = "You took zero for the baseline."

[[figure]]
instrument = "pressure_gauge"
alt = "The needle swings between two ends, each on a mark."
[figure.numbers]
needle_cmh2o = "high"
second_needle_cmh2o = "low"

[feedback]
keep = "Read both ends from zero."
worked = "{key} and {second}"
+++
On the ledge the needle swings. Between which pressures?
"""


@pytest.fixture
def folder(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Path:
    """A content folder to which one file was added, and nothing else done, and which the check finds in order."""
    made = make_content_folder(tmp_path)
    (made / "question_bank" / "c5" / "n77-two-ends.md").write_text(NEW_FILE, encoding="utf-8")
    assert main(["content", "check", str(made)]) == 0
    assert "5 families" in capsys.readouterr().err
    return made


@pytest.fixture
def address(small_sqlite: SmallService, folder: Path, clock: Clock) -> Iterator[str]:
    """The address of the service with that content."""
    with served(web_app_around(small_sqlite, read_library(folder), clock)) as running:
        yield running


def signed_in(page: Page, address: str, small: SmallService, name: str, clock: Clock) -> Page:
    page.context.clear_cookies()
    page.context.add_cookies([{"name": COOKIE, "value": signed_in_cookie(small, name, clock), "url": address}])
    return page


def test_one_file_from_the_folder_to_a_result(
    open_page: OpenWindow, address: str, folder: Path, small_sqlite: SmallService, clock: Clock, check_page: CheckPage
) -> None:
    page = signed_in(open_page(PHONE), address, small_sqlite, "cleo", clock)
    page.goto(f"{address}/content")
    page.get_by_role("link", name="preview N77").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("N77 can be asked as it is.")
    check_page(page, "added-family-preview")
    page.goto(f"{address}/content")
    page.get_by_label("N77: Two ends of the needle").check()
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Accept what is chosen").click()
    expect(page.get_by_text("accepted by Cleo")).to_be_visible()
    assessment(small_sqlite, folder)
    signed_in(page, address, small_sqlite, "mira", clock).goto(address)
    page.get_by_role("button", name="Begin").first.click()
    expect(page.get_by_text("On the ledge the needle swings.")).to_be_visible()
    check_page(page, "added-family-question")
    asked = questions(small_sqlite, page.url.split("/")[-2])[0].question
    assert asked.family == "N77"
    page.get_by_label("Peak").fill(asked.blanks[0].key_printed)
    page.get_by_label("Baseline").fill("0")
    page.get_by_role("button", name="Save answer 1").click()
    page.get_by_role("button", name="Hand in").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("0 of 1 right; 1 were needed.")
    page.get_by_role("link", name="1. Two ends of the needle").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("You took zero for the baseline.")
    check_page(page, "added-family-why")


def assessment(small: SmallService, folder: Path) -> None:
    """One question on C5; only the new family is accepted, so it is the one that is asked."""
    with small.acting("ines") as act:
        composition = Composition(
            title="New family", parts=[Part(competency="C5", question_count=1)], cut=1,
            cut_reason="one question, one right", profile_code="TV-A", profile_revision=1,
        )  # fmt: skip
        assessment_id = compose_assessment(act, read_library(folder), composition)
        assign_assessment(act, assessment_id, base_ids=[small.base_id])
