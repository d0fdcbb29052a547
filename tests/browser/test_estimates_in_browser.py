"""What the estimate shows, at both widths and by night: one's own picture, practice for today, and educators' pages."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import timedelta

import pytest
from playwright.sync_api import Page, expect
from sqlalchemy import select

from quizapp.assessment.competence_settings import MODEL_VERSION, Track
from quizapp.assessment.questions import Question
from quizapp.content.library import Library
from quizapp.services.rebuild_competence import people_in_parts, rebuild_competence
from quizapp.store.competence import CompetencePrediction
from quizapp.store.evidence import Evidence
from quizapp.store.observations import Observation
from tests.browser.conftest import CheckPage
from tests.deciding import with_standard
from tests.knowledge_forms import answer, begun, composed, handed_in, questions, right_text
from tests.observing import locked, opened, performed, signed
from tests.small_service import ZONE, SmallService
from tests.watched_people import watch_many

SignIn = Callable[[Page, str], None]


@pytest.fixture
def faded(small_sqlite: SmallService, library: Library) -> SmallService:
    """Mira handed a form in and was watched two hundred days ago."""
    now = small_sqlite.now
    with_standard(small_sqlite, library)
    small_sqlite.now = now - timedelta(days=200)
    sitting_id = begun(small_sqlite, library, composed(small_sqlite, library))
    for one in questions(small_sqlite, sitting_id):
        answer(small_sqlite, sitting_id, one.position, right_text(one.question))
    handed_in(small_sqlite, sitting_id)
    observation_id = opened(small_sqlite)
    performed(small_sqlite, observation_id)
    locked(small_sqlite, observation_id)
    signed(small_sqlite, observation_id)
    small_sqlite.now = now
    return small_sqlite


@pytest.fixture
def foretold(small_sqlite: SmallService, library: Library) -> SmallService:
    """Forty people watched three times, each time foretold by nobody in particular."""
    with_standard(small_sqlite, library)
    watch_many(small_sqlite, 40)
    with small_sqlite.database.writing() as session:
        for part in people_in_parts(session):
            rebuild_competence(session, small_sqlite.now, ZONE, part)
        rows = session.execute(select(Evidence, Observation).join(Observation, Observation.id == Evidence.source_id))
        for number, (evidence, sheet) in enumerate(rows.all()):
            done = sum(mark == "done" for mark in sheet.result["marks"].values()) / 10
            session.add(
                CompetencePrediction(
                    id=small_sqlite.randomness.new_id(), person_id=evidence.person_id, competency="C8",
                    track=Track.PERFORMANCE.value, source_id=evidence.source_id,
                    chance_fraction=min(0.98, max(0.02, done - 0.2 + (number % 7) / 20)), gap_days=number % 300,
                    model_version=MODEL_VERSION, predicted_at=evidence.happened_at,
                )
            )  # fmt: skip
    return small_sqlite


def by_day_and_night(page: Page, check_page: CheckPage, name: str) -> None:
    """Check and keep the page as it is by day and by night."""
    for scheme in ("light", "dark"):
        page.emulate_media(color_scheme=scheme)  # type: ignore[arg-type]
        check_page(page, f"{name}-{scheme}")


def test_my_competence_and_practice_for_today(
    page: Page, live_server: str, sign_in_as: SignIn, faded: SmallService, check_page: CheckPage
) -> None:
    sign_in_as(page, "mira")
    page.goto(f"{live_server}/my-competence")
    expect(page.get_by_role("heading", level=1)).to_contain_text("would gain most from practice")
    expect(page.get_by_role("heading", name="What it proposes")).to_be_visible()
    page.get_by_text("The forecast as a table").first.click()
    by_day_and_night(page, check_page, "my-competence")
    page.emulate_media(media="print", color_scheme="light")
    check_page(page, "my-competence-print")
    page.emulate_media(media="screen")
    page.get_by_role("link", name="Practice for today, 5 min").click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("Practice for today")
    by_day_and_night(page, check_page, "practice-for-today")


def test_educators_pages(
    page: Page, live_server: str, sign_in_as: SignIn, foretold: SmallService, check_page: CheckPage
) -> None:
    sign_in_as(page, "ines")
    page.goto(f"{live_server}/assessments")
    page.get_by_role("link", name="How far to believe the estimate").click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("checked against outcomes for hands only")
    by_day_and_night(page, check_page, "estimate-calibration")
    page.get_by_role("link", name="For whom it proposes a booster").click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("an earlier booster is worth a word")
    by_day_and_night(page, check_page, "estimate-boosters")


def test_five_minutes_of_practice_on_a_phone(
    phone: Page, live_server: str, sign_in_as: SignIn, faded: SmallService, check_page: CheckPage
) -> None:
    """The one filled button leads from question to question and to the end, never away into twins."""
    sign_in_as(phone, "mira")
    phone.goto(f"{live_server}/practice")
    begin = phone.get_by_role("button", name="Begin, 5 min")
    expect(begin).to_be_in_viewport()
    begin.click()
    seen = []
    for _ in range(9):
        title = phone.locator("h1").inner_text()
        seen.append(title)
        if "/result" in phone.url:
            break
        place = re.search(r"/sitting/([0-9a-f]+)/(\d+)$", phone.url)
        if place:
            fill_in(phone, questions(faded, place[1])[int(place[2]) - 1].question)
        phone.locator("main .act.pen").click()
        phone.wait_for_load_state()
    assert [title for title in seen if title.startswith("Question")] == [f"Question {n} of 3" for n in (1, 2, 3)]
    check_page(phone, "practice-done")


def fill_in(page: Page, question: Question) -> None:
    """Answer whatever is asked, rightly where it is a number."""
    for index, blank in enumerate(question.blanks):
        page.locator(f"#field-answer_{index}").fill(blank.key_printed)
    if question.options:
        page.locator("main input[type=radio]").first.check()
