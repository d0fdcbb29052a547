"""Asking for a second look as pages: three taps from the result, an answer shown before it is signed, a message."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import timedelta

import pytest
from sqlalchemy import func, select

from quizapp.assessment.challenges import ChallengeOutcome
from quizapp.content.library import Library
from quizapp.store.audit import Signature
from quizapp.store.challenges import Challenge, ChallengeAnswer
from tests.challenging import REASON, answered, number_corrected, other_number, question_at, raised, sat
from tests.conftest import StandingClock
from tests.counted_statements import counted_statements
from tests.knowledge_forms import composed, practice
from tests.observing import accept, locked, opened, performed, put_in_service, signed
from tests.odd_addresses import ODD_IDS
from tests.small_service import PASSWORD, SmallService
from tests.web_app import JudgingClient

ClientAs = Callable[[str], JudgingClient]


@pytest.fixture
def sitting_id(small_sqlite: SmallService, library: Library, clock: StandingClock) -> str:
    """Mira handed in three answers, the first of them wrong by the key."""
    made = sat(small_sqlite, library, composed(small_sqlite, library), ["wrong", "right", "wrong"])
    clock.advance(timedelta(minutes=5))
    return made


def link(page: str, words: str) -> str:
    found = re.search(rf'href="([^"]+)">{words}<', page)
    assert found is not None, words
    return found[1]


def ask(client: JudgingClient, sitting_id: str, position: int = 1, words: str = "") -> str:
    """Ask as a person does, from the result on; return the address of the challenge."""
    client.get(f"/sitting/{sitting_id}/result")
    why = client.get(f"/sitting/{sitting_id}/{position}/why").text
    form = link(why, "Have it looked at again")
    sent = client.submit(form, {"words": words}, action=form)
    assert sent.status_code == 303
    return str(sent.location)


def test_three_taps_from_the_result(client_as: ClientAs, small_sqlite: SmallService, sitting_id: str) -> None:
    """Tap one opens the answer, tap two the form, tap three sends it; then who answers and until when is said."""
    client = client_as("mira")
    result = client.get(f"/sitting/{sitting_id}/result").text
    why = f"/sitting/{sitting_id}/1/why"
    assert f'href="{why}"' in result
    form = link(client.get(why).text, "Have it looked at again")
    page = client.get(form).text
    assert "You lose nothing by asking." in page
    assert question_at(small_sqlite, sitting_id, 1).blanks[0].key_printed in page
    sent = client.submit(form, {"words": ""}, action=form)
    shown = client.get(sent.location).text
    assert "Ines answers by 16 March 2026." in shown
    assert client.get(form).status_code == 303, "asked before: it leads to what became of it"


def test_a_long_word_is_kept_and_said(client_as: ClientAs, sitting_id: str) -> None:
    form = f"/challenges/answer/{sitting_id}/1"
    refused = client_as("mira").submit(form, {"words": "w" * 2001}, action=form)
    assert refused.status_code == 422
    assert "w" * 2001 in refused.text


def test_the_list_says_who_waits_and_how_long(client_as: ClientAs, sitting_id: str, clock: StandingClock) -> None:
    assert "Nobody waits" in client_as("ines").get("/challenges").text
    ask(client_as("mira"), sitting_id)
    assert "1 result waits to be looked at again." in client_as("ines").get("/challenges").text
    assert "not you: you marked it or stand for its key" in client_as("cleo").get("/challenges").text
    clock.advance(timedelta(days=15))
    assert "1 person has waited too long for an answer." in client_as("ines").get("/challenges").text


def answer_page(client: JudgingClient, challenge: str, **entries: object) -> object:
    page = f"{challenge}/answer"
    return client.submit(page, {"reason": REASON, **entries}, action=page)


def test_corrected_shown_and_signed(
    client_as: ClientAs, small_sqlite: SmallService, sitting_id: str, library: Library
) -> None:
    new_key = other_number(question_at(small_sqlite, sitting_id, 1))
    challenge = ask(client_as("mira"), sitting_id, words="The gauge says something else.")
    client = client_as("ines")
    assert "The gauge says something else." in client.get(challenge).text
    prepared = answer_page(client, challenge, outcome="corrected", scope="draw", key_0=new_key)
    assert prepared.status_code == 303
    sign = prepared.location
    preview = client.get(sign).text
    assert "1 person is touched, 1 result rises, nobody falls." in preview
    assert "1 of 3 right; 2 were needed." in preview
    assert "2 of 3 right; 2 were needed." in preview
    refused = client.submit(sign, {"password": "wrong"}, action=sign)
    assert refused.status_code == 422
    assert "Nothing was signed" in refused.text
    assert count(small_sqlite, ChallengeAnswer) == 0
    done = client.submit(sign, {"password": PASSWORD}, action=sign)
    assert done.status_code == 303
    assert "Ines looked at it again: corrected." in client.get(done.location).text
    assert count(small_sqlite, Signature) == 1
    for address in (f"{challenge}/answer", sign):
        assert client.get(address).status_code == 409


def count(small: SmallService, model: type) -> int:
    with small.database.reading() as session:
        return session.scalar(select(func.count()).select_from(model)) or 0


def test_the_person_is_told_and_sees_both(
    client_as: ClientAs, small_sqlite: SmallService, sitting_id: str, library: Library
) -> None:
    question = question_at(small_sqlite, sitting_id, 1)
    correction = number_corrected(question, other_number(question))
    challenge = raised(small_sqlite, library, sitting_id, 1)
    answered(small_sqlite, library, challenge.id, ChallengeOutcome.CORRECTED, correction=correction)
    client = client_as("mira")
    first = client.get("/").text
    assert "2 messages for you" in first
    assert REASON in first
    result = client.get(f"/sitting/{sitting_id}/result").text
    assert "Marked again" in result
    assert "Before: 1 of 3 right; 2 were needed. Now: 2 of 3 right; 2 were needed." in result
    why = client.get(f"/sitting/{sitting_id}/1/why").text
    assert "That is right." in why
    assert "The key was corrected" in why
    away = re.search(r'action="(/messages/[0-9a-z]+/away)"', first)
    assert away is not None
    assert client.submit("/", {}, action=away[1]).status_code == 303
    assert "1 message for you" in client.get("/").text


def test_void_is_left_out_on_the_result(
    client_as: ClientAs, small_sqlite: SmallService, sitting_id: str, library: Library
) -> None:
    answered(small_sqlite, library, raised(small_sqlite, library, sitting_id, 1).id, ChallengeOutcome.VOID)
    client = client_as("mira")
    assert "left out" in client.get(f"/sitting/{sitting_id}/result").text
    assert "declared void: it counts for nobody" in client.get(f"/sitting/{sitting_id}/1/why").text


def test_what_is_kept_says_so(
    client_as: ClientAs, small_sqlite: SmallService, sitting_id: str, library: Library
) -> None:
    """Answer 2 was right by the key that turns out wrong: it stays right, and the page says why."""
    question = question_at(small_sqlite, sitting_id, 2)
    correction = number_corrected(question, other_number(question))
    challenge = raised(small_sqlite, library, sitting_id, 2)
    answered(small_sqlite, library, challenge.id, ChallengeOutcome.CORRECTED, correction=correction)
    client = client_as("mira")
    assert "your result is kept" in client.get(f"/sitting/{sitting_id}/result").text
    why = client.get(f"/sitting/{sitting_id}/2/why").text
    assert "The key was corrected, and what you had is kept." in why
    assert f"{other_number(question)}" in why


@pytest.mark.parametrize(
    ("entries", "says"),
    [
        ({}, "Choose one. Nothing is chosen beforehand."),
        ({"outcome": "upheld", "reason": "short"}, "Write a reason of 10 to 2000 characters"),
        ({"outcome": "corrected", "key_0": "", "scope": "draw"}, "Nothing was changed"),
        ({"outcome": "corrected", "key_0": "12²", "scope": "draw"}, "Nothing was changed"),
        ({"outcome": "corrected", "scope": "draw"}, "This is the key as it was"),
        ({"outcome": "corrected", "scope": "family"}, "no corrected key in it yet"),
        ({"outcome": "corrected", "scope": "draw", "tolerance_0": "-1"}, "A tolerance is 0 or more"),
        ({"outcome": "perfect"}, "Not a valid choice"),
    ],
)
def test_what_cannot_be_answered_is_said_and_the_text_is_kept(
    client_as: ClientAs, sitting_id: str, entries: dict[str, object], says: str
) -> None:
    challenge = ask(client_as("mira"), sitting_id)
    refused = answer_page(client_as("ines"), challenge, **entries)
    assert refused.status_code == 422
    assert says in refused.text


def test_a_choice_and_an_order_have_their_own_entries(
    client_as: ClientAs, small_sqlite: SmallService, library: Library, clock: StandingClock
) -> None:
    clock.advance(timedelta(minutes=5))
    client = client_as("mira")
    for family, says in (("K12", "Every option that is right"), ("K08", "Pairs that need no order")):
        sitting = practice(small_sqlite, library, family)
        client.get(f"/sitting/{sitting}/1")
        client.submit(f"/sitting/{sitting}/end", {}, action=f"/sitting/{sitting}/end")
        challenge = ask(client, sitting)
        page = client_as("ines").get(f"{challenge}/answer").text
        assert says in page


def test_a_step_of_an_observation(client_as: ClientAs, small_sqlite: SmallService, clock: StandingClock) -> None:
    put_in_service(small_sqlite)
    accept(small_sqlite, "P06")
    observation_id = opened(small_sqlite)
    performed(small_sqlite, observation_id, order="abdefghij")
    locked(small_sqlite, observation_id)
    signed(small_sqlite, observation_id)
    clock.advance(timedelta(hours=1))
    client = client_as("mira")
    form = link(client.get(f"/observe/{observation_id}/result").text, "Have a mark looked at again")
    refused = client.submit(form, {"words": "look"}, action=form)
    assert refused.status_code == 422
    assert "Choose the step." in refused.text
    challenge = client.submit(form, {"step": "d", "words": "It was said aloud."}, action=form).location
    assert "Marked by Tor." in client.get(challenge).text
    reviewer = client_as("ines")
    prepared = answer_page(reviewer, challenge, outcome="corrected", mark="not_seen")
    sign = prepared.location
    assert "step d not seen" in reviewer.get(sign).text
    assert reviewer.submit(sign, {"password": PASSWORD}, action=sign).status_code == 303
    page = client.get(f"/observe/{observation_id}/result").text
    assert "step d was signed as done" in page
    assert "Your mark of step d in P06" in client_as("tor").get("/").text


@pytest.mark.parametrize("name", ["mira", "tor", "leif", "ada", "olaf", "petra"])
def test_only_who_may_answers_and_sees(client_as: ClientAs, sitting_id: str, name: str) -> None:
    challenge = ask(client_as("mira"), sitting_id)
    client = client_as(name)
    assert client.get("/challenges").status_code == 403
    assert client.get(f"{challenge}/answer").status_code == 403
    assert client.get(challenge).status_code == (200 if name == "mira" else 404)
    assert client.get(f"/challenges/answer/{sitting_id}/1").status_code == (303 if name == "mira" else 404)


def test_who_stands_for_the_key_reads_but_does_not_answer(client_as: ClientAs, sitting_id: str) -> None:
    challenge = ask(client_as("mira"), sitting_id)
    client = client_as("cleo")
    assert "stands for its key" in client.get(challenge).text
    assert client.get(f"{challenge}/answer").status_code == 403


def test_sent_twice_there_is_one(client_as: ClientAs, small_sqlite: SmallService, sitting_id: str) -> None:
    first = ask(client_as("mira"), sitting_id)
    with small_sqlite.database.reading() as session:
        assert session.scalars(select(Challenge.id)).all() == [first.rsplit("/", 1)[1]]
    assert "1 of 1 results you asked about waits" in client_as("mira").get("/challenges/own").text


@pytest.mark.parametrize("odd", ODD_IDS)
def test_odd_ids_are_not_found(client_as: ClientAs, odd: str) -> None:
    client = client_as("ines")
    for address in ("/challenges/{}", "/challenges/{}/answer", "/challenges/sign/{}", "/challenges/answer/{}/1",
                    "/challenges/observation/{}"):  # fmt: skip
        assert client.get(address.format(odd)).status_code == 404


def test_the_list_takes_as_many_statements_for_many_as_for_one(
    client_as: ClientAs, small_sqlite: SmallService, library: Library, sitting_id: str
) -> None:
    client = client_as("ines")
    client.get("/challenges")
    found = []
    for position in (1, 3):
        raised(small_sqlite, library, sitting_id, position)
        with counted_statements(small_sqlite.database) as statements:
            client.get("/challenges")
        found.append(len(statements))
    assert found[0] == found[1]
