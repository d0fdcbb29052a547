"""Practice for today on the practice page: one press begins it, once however often it is sent; no words of guilt."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest
from sqlalchemy import func, select

from quizapp.content.library import Library
from quizapp.services.practice_today import PracticeToday
from quizapp.store.sittings import Sitting, SittingQuestion
from quizapp.web.pages.practice import views
from tests.deciding import with_standard
from tests.small_service import SmallService
from tests.web_app import JudgingClient, form_of, values_of

ClientAs = Callable[[str], JudgingClient]
GUILT = re.compile(r"overdue|missed|behind|fail|must|late\b|should have|streak", re.IGNORECASE)


@pytest.fixture
def ready(small_sqlite: SmallService, library: Library) -> SmallService:
    return with_standard(small_sqlite, library)


def sittings(small: SmallService) -> int:
    with small.database.reading() as session:
        return session.scalar(select(func.count()).select_from(Sitting)) or 0


def test_three_things_in_five_minutes_and_why(client_as: ClientAs, ready: SmallService) -> None:
    text = client_as("mira").get("/practice").text
    assert "<h1>Practice for today: 3 things, about 5 minutes.</h1>" in text
    assert text.count("1 question. No answer of yours on it yet") == 3
    assert "Begin, 5 min" in text
    assert text.count('class="act pen"') == 1
    assert "uncalibrated" in text
    assert not GUILT.search(re.sub(r"<[^>]+>|behind it", "", text.split("<main")[1].split("</main")[0]))


def test_one_press_begins_it_once(client_as: ClientAs, ready: SmallService) -> None:
    client = client_as("mira")
    entries = values_of(form_of(client.get("/practice").text, "/practice/today"))
    first, again = (client.post("/practice/today", data=entries) for _ in range(2))
    assert first.status_code == 303
    assert first.location == again.location
    assert sittings(ready) == 1
    with ready.database.reading() as session:
        asked = list(session.scalars(select(SittingQuestion.competency)))
    assert len(set(asked)) == 3
    assert client.get(first.location).status_code == 200


def test_a_request_without_the_form_begins_nothing(client_as: ClientAs, ready: SmallService) -> None:
    assert client_as("mira").post("/practice/today", data={}).status_code in {400, 422}
    assert sittings(ready) == 0


def test_where_nothing_is_due_it_says_so_and_one_may_choose(
    client_as: ClientAs, ready: SmallService, monkeypatch: pytest.MonkeyPatch
) -> None:
    client = client_as("mira")
    entries = values_of(form_of(client.get("/practice").text, "/practice/today"))
    nothing = PracticeToday(items=(), hands=(), is_for_clinician=True)
    monkeypatch.setattr(views, "practice_today", lambda _act, _library: nothing)
    text = client.get("/practice").text
    assert "<h1>Nothing is due today.</h1>" in text
    assert "/practice/today" not in text
    assert text.count('class="act pen"') == 1
    assert client.post("/practice/today", data=entries).location == "/practice"
    assert sittings(ready) == 0


def test_who_is_no_clinician_only_chooses(client_as: ClientAs, ready: SmallService) -> None:
    text = client_as("ada").get("/practice").text
    assert "<h1>Practise a few questions with fresh numbers.</h1>" in text
    assert "/practice/today" not in text
