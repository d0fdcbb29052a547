"""What people think wrongly: on the educator's page, on the person's own result, and what waits for the window."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from quizapp.assessment.held_ideas import Share
from quizapp.content.library import Library
from quizapp.web.pages.ideas.shares_page import share_words
from tests.answering import answer_with, begun_with, handed_in_by
from tests.knowledge_forms import composed
from tests.small_service import SmallService
from tests.web_app import JudgingClient

ClientAs = Callable[[str], JudgingClient]
FAMILIES = ["N16", "N17", "K06"]
IDEAS = ["no-baseline", "no-baseline", "needle-proves-ventilation"]


@pytest.fixture
def assessment_id(small_sqlite: SmallService, library: Library) -> str:
    return composed(small_sqlite, library)


@pytest.fixture
def sitting_id(small_sqlite: SmallService, library: Library, assessment_id: str) -> str:
    """Mira's sitting: the same wrong idea twice, and a closed question answered wrongly."""
    begun = begun_with(small_sqlite, library, assessment_id, FAMILIES, ideas=IDEAS)
    for position, idea in enumerate(IDEAS, start=1):
        answer_with(small_sqlite, begun, position, idea)
    handed_in_by(small_sqlite, begun)
    return begun


def close_it(client: JudgingClient, assessment_id: str) -> None:
    answer = client.submit(f"/assessments/{assessment_id}/close", {}, action="/close")
    assert answer.status_code == 303


def test_the_idea_that_came_back_stands_on_the_result(client_as: ClientAs, sitting_id: str) -> None:
    text = client_as("mira").get(f"/sitting/{sitting_id}/result").text
    assert "This idea came back in two questions" in text
    assert "no baseline" in text
    assert "You divided by the peak." in text


def test_a_closed_question_waits_for_the_window_and_then_opens(
    client_as: ClientAs, sitting_id: str, assessment_id: str, library: Library
) -> None:
    mira = client_as("mira")
    says = [option.says for option in library.family("K06").options if option.wrong_idea == IDEAS[2]]
    waiting = mira.get(f"/sitting/{sitting_id}/3/why").text
    assert "opens once the assessment is closed" in waiting
    result = mira.get(f"/sitting/{sitting_id}/result").text
    assert "waits" in result
    assert not any(text.template in waiting + result for text in says)
    assert mira.get(f"/sitting/{sitting_id}/1/why").status_code == 200
    close_it(client_as("ines"), assessment_id)
    opened = mira.get(f"/sitting/{sitting_id}/3/why").text
    assert "This is the one." in opened
    assert "You chose this." in opened
    assert "waits" not in mira.get(f"/sitting/{sitting_id}/result").text


def test_in_the_middle_of_a_closed_assessment_the_way_leads_to_the_end(
    client_as: ClientAs, small_sqlite: SmallService, library: Library, assessment_id: str
) -> None:
    begun = begun_with(small_sqlite, library, assessment_id, FAMILIES)
    educator, mira = client_as("ines"), client_as("mira")
    assert "1 person is in the middle of it" in educator.get(f"/assessments/{assessment_id}/close").text
    close_it(educator, assessment_id)
    for address in (f"/sitting/{begun}", f"/sitting/{begun}/1"):
        assert mira.get(address).location == f"/sitting/{begun}/end"
    assert "Your educator has closed this assessment." in mira.get(f"/sitting/{begun}/end").text
    assert mira.submit(f"/sitting/{begun}/end", {}).status_code == 303
    page = educator.get(f"/assessments/{assessment_id}").text
    assert "Closed on" in page
    assert "Give it to people" not in page


def test_the_educator_sees_shares_by_competency(client_as: ClientAs, sitting_id: str, assessment_id: str) -> None:
    text = client_as("ines").get(f"/ideas?assessment={assessment_id}").text
    assert "1 person holds this idea: no baseline." in text
    assert "1 of 1, too few to compare" in text
    assert 'href="/content/preview/N17"' in text
    assert sitting_id not in text


def test_a_foreign_base_is_not_found(client_as: ClientAs, small_sqlite: SmallService) -> None:
    assert client_as("ines").get(f"/ideas?base={small_sqlite.other_base_id}").status_code == 404
    assert "Nobody has handed anything in yet." in client_as("ines").get("/ideas").text


@pytest.mark.parametrize(
    ("share", "words"),
    [
        (Share(count=0, of=0), "nobody was asked twice"),
        (Share(count=3, of=19), "3 of 19, too few to compare"),
        (Share(count=3, of=20), "3 of 20, 5 to 36 in 100"),
    ],
)
def test_shares_in_words(share: Share, words: str) -> None:
    assert share_words(share) == words
