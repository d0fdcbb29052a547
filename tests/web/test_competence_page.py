"""My competence over time as a page: charts with tables, uncalibrated said plainly, and nothing about anybody else."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest

from quizapp.content.library import Library
from tests.deciding import with_standard
from tests.knowledge_forms import answer, begun, composed, handed_in, questions, right_text
from tests.observing import locked, opened, performed, signed
from tests.small_service import SmallService
from tests.web_app import JudgingClient

ClientAs = Callable[[str], JudgingClient]
PAGE = "/my-competence"


@pytest.fixture
def shown(small_sqlite: SmallService, library: Library) -> SmallService:
    """Mira handed a form in and was watched at P06."""
    with_standard(small_sqlite, library)
    sitting_id = begun(small_sqlite, library, composed(small_sqlite, library))
    for one in questions(small_sqlite, sitting_id):
        answer(small_sqlite, sitting_id, one.position, right_text(one.question))
    handed_in(small_sqlite, sitting_id)
    observation_id = opened(small_sqlite)
    performed(small_sqlite, observation_id)
    locked(small_sqlite, observation_id)
    signed(small_sqlite, observation_id)
    return small_sqlite


@pytest.mark.parametrize("name", ["mira", "ines", "ada"])
def test_without_evidence_there_is_nothing_to_draw(client_as: ClientAs, name: str) -> None:
    page = client_as(name).get(PAGE)
    assert page.status_code == 200
    assert "There is no estimate of you yet." in page.text
    assert '<svg class="plot' not in page.text


def test_nobody_sees_it_without_signing_in(client: JudgingClient) -> None:
    assert client.get(PAGE, headers={"Accept": "text/html"}).location == f"/sign-in?next={PAGE}"


def test_each_track_has_a_chart_a_table_and_its_band(client_as: ClientAs, shown: SmallService) -> None:
    text = client_as("mira").get(PAGE).text
    assert text.count('<svg class="plot plot-skill"') == 3
    assert text.count("The forecast as a table") == 3
    for heading in ("C3 Planning", "C5 Reading", "C8 Recognising"):
        assert heading in text
    assert "steps done alone, of 100" in text
    assert "questions right, of 100" in text
    assert "about 8" in text


def test_it_says_that_it_is_uncalibrated_and_decides_nothing(client_as: ClientAs, shown: SmallService) -> None:
    text = client_as("mira").get(PAGE).text
    assert "Knowledge: uncalibrated." in text
    assert "Hands: uncalibrated." in text
    assert "at least 100 with 20 not shown are needed" in text
    assert "1 outcome in this service" in text
    assert "It signs nobody off and takes no sign-off away" in text
    assert "A small service may never have enough outcomes" in text


def test_it_is_ones_own_and_nobody_elses(client_as: ClientAs, shown: SmallService) -> None:
    assert "There is no estimate of you yet." in client_as("tor").get(PAGE).text


def test_what_has_faded_most_is_the_finding(client_as: ClientAs, shown: SmallService, clock: Any) -> None:
    assert "Hands at C8 would gain" not in client_as("mira").get(PAGE).text
    clock.advance(timedelta(days=300))
    after = client_as("mira").get(PAGE).text
    assert "<h1>Hands at C8 would gain most from practice.</h1>" in after
    assert "3 of 3 estimates that rest on assessment lie under the mark today." in after


def test_my_currency_leads_to_it(client_as: ClientAs, shown: SmallService) -> None:
    assert f'href="{PAGE}"' in client_as("mira").get("/").text
    assert f'href="{PAGE}"' not in client_as("ada").get("/").text
