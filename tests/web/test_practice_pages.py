"""Practice as pages: what can be practised, once begun however often it is sent, and feedback after each answer."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from sqlalchemy import func, select

from quizapp.content.library import Library
from quizapp.store.evidence import Evidence
from quizapp.store.sittings import Sitting
from tests.knowledge_forms import questions, right_entries
from tests.observing import put_in_service
from tests.small_service import SmallService
from tests.web_app import JudgingClient, form_of, values_of

ClientAs = Callable[[str], JudgingClient]
CAUTION = "Training and assessment only. Not for use while caring for a patient."
C3 = {"competency": "C3", "question_count": "3"}


def begun(client: JudgingClient) -> str:
    answer = client.submit("/practice", C3, action="/practice")
    assert answer.status_code == 303
    return str(answer.location)


def sittings(small: SmallService) -> int:
    with small.database.reading() as session:
        return session.scalar(select(func.count()).select_from(Sitting)) or 0


@pytest.mark.parametrize("name", ["mira", "ines", "leif", "ada"])
def test_anybody_signed_in_may_practise(client_as: ClientAs, small_sqlite: SmallService, name: str) -> None:
    put_in_service(small_sqlite)
    page = client_as(name).get("/practice")
    assert page.status_code == 200
    assert "Nothing here counts for or against you." in page.text
    assert CAUTION in page.text
    assert page.headers["Cache-Control"] == "no-store"


def test_nobody_practises_without_signing_in(client: JudgingClient) -> None:
    assert client.get("/practice", headers={"Accept": "text/html"}).location == "/sign-in?next=/practice"


def test_the_competency_named_in_the_address_is_chosen(client_as: ClientAs) -> None:
    client = client_as("mira")
    assert values_of(form_of(client.get("/practice?competency=C5").text, "/practice"))["competency"] == "C5"
    assert client.get("/practice?competency=C99").status_code == 200


def test_each_answer_shows_what_lies_behind_it_and_leads_on(client_as: ClientAs, small_sqlite: SmallService) -> None:
    client = client_as("mira")
    first = begun(client)
    sitting_id = first.split("/")[2]
    saved = client.submit(first, right_entries(questions(small_sqlite, sitting_id)[0]), action=first)
    assert saved.location == f"{first}/why"
    why = client.get(saved.location).text
    assert "That is right." in why
    assert "Next question" in why
    assert client.get(first).location == f"{first}/why"


def test_an_answer_given_in_practice_cannot_be_improved_afterwards(
    client_as: ClientAs, small_sqlite: SmallService
) -> None:
    client = client_as("mira")
    first = begun(client)
    asked = questions(small_sqlite, first.split("/")[2])[0]
    page = values_of(form_of(client.get(first).text, first))
    client.post(first, data={**page, **right_entries(asked), "answer_0": "13"})
    again = client.post(first, data={**page, **right_entries(asked), "act_key": "k" * 20, "revision": "1"})
    assert again.status_code == 409
    assert "it stays as it is" in again.text


def test_a_practice_handed_in_says_it_counts_for_nothing(client_as: ClientAs, small_sqlite: SmallService) -> None:
    client = client_as("mira")
    sitting_id = begun(client).split("/")[2]
    done = client.submit(f"/sitting/{sitting_id}/end", {}, action="/end")
    result = client.get(done.location).text
    assert "Practice: nothing here counts for or against you." in result
    assert "were needed" not in result
    with small_sqlite.database.reading() as session:
        assert session.scalar(select(func.count()).select_from(Evidence)) == 0


def test_sent_twice_one_practice_is_begun(client_as: ClientAs, small_sqlite: SmallService) -> None:
    client = client_as("mira")
    sent = {**values_of(form_of(client.get("/practice").text, "/practice")), **C3}
    first, again = (client.post("/practice", data=sent) for _ in range(2))
    assert first.location == again.location
    assert sittings(small_sqlite) == 1


@pytest.mark.parametrize(
    "entries",
    [
        {"competency": "C99"},
        {"competency": ""},
        {"competency": "' OR 1=1"},
        {"question_count": "0"},
        {"question_count": "999"},
        {"question_count": "three"},
    ],
)
def test_what_cannot_be_chosen_is_refused(
    client_as: ClientAs, small_sqlite: SmallService, entries: dict[str, str]
) -> None:
    refused = client_as("mira").submit("/practice", {**C3, **entries}, action="/practice")
    assert refused.status_code == 422
    assert 'id="errors"' in refused.text
    assert sittings(small_sqlite) == 0


def test_a_competency_without_any_question_says_so(
    client_as: ClientAs, small_sqlite: SmallService, library: Library
) -> None:
    codes = {code for family in library.families.values() for code in family.competencies}
    text = client_as("mira").get("/practice").text
    for code in set(library.competencies) - codes:
        assert f'value="{code}"' not in text
