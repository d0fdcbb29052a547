"""Paths, leave, engagement and adjustments as pages, and the wording of the first page for the person on a path."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta

import pytest

from quizapp.assessment.fair_paths import PathKind, StepName
from quizapp.content.library import Library
from tests.conftest import StandingClock
from tests.counted_statements import counted_statements
from tests.many_people import add_clinicians
from tests.observing import sign_off
from tests.odd_addresses import ODD_IDS
from tests.small_service import SmallService
from tests.walking import REASON, failed_twice, opened, stepped, walking
from tests.web_app import JudgingClient

ClientAs = Callable[[str], JudgingClient]
WORDS = "What was done is written here."


@pytest.fixture
def ready(small_sqlite: SmallService, library: Library) -> SmallService:
    return walking(small_sqlite, library)


def test_from_the_proposal_to_the_first_step(client_as: ClientAs, ready: SmallService) -> None:
    failed_twice(ready)
    client = client_as("ines")
    index = client.get("/paths").text
    assert "One person should be offered a path." in index
    assert "P06 was not shown twice in a row" in index
    proposed = f"/paths/new?person={ready.person_id('mira')}&kind=not_shown_twice&about=P06"
    until = (ready.now.date() + timedelta(days=60)).isoformat()
    answer = client.submit(proposed, {"reason": REASON, "until_day": until}, action="/paths/new")
    address = str(answer.location)
    page = client.get(address).text
    assert "Mira is on a path: not shown twice, P06." in page
    assert "Next: Another educator takes over" in page
    step = f"{address}/steps/other_educator"
    missing = client.submit(address, {"words": WORDS}, action="/steps/other_educator")
    assert missing.status_code == 422
    assert "Choose one of the people proposed." in missing.text
    done = client.submit(address, {"words": WORDS, "named_id": ready.person_id("cleo")}, action="/steps/other_educator")
    assert done.location == address
    page = client.get(address).text
    assert "Next: Find out why, together" in page
    assert WORDS in page
    assert step not in page


def test_the_person_reads_all_of_it_from_the_first_page(
    client_as: ClientAs, ready: SmallService, library: Library
) -> None:
    path_id = opened(ready)
    stepped(ready, library, path_id, StepName.OTHER_EDUCATOR, named="cleo")
    client = client_as("mira")
    first = client.get("/").text
    assert "On your path" in first
    assert "Restricted until" in first
    assert f"/paths/{path_id}" in first
    page = client.get(f"/paths/{path_id}").text
    assert "You are on a path: not shown twice, P06." in page
    assert REASON in page
    assert WORDS in page
    assert "Record the next step" not in page
    assert "Close the path" not in page
    assert "You are on a path" in client.get("/paths/mine").text


def test_a_team_lead_sees_the_standing_and_nothing_of_the_path(client_as: ClientAs, ready: SmallService) -> None:
    path_id = opened(ready)
    lead = client_as("leif")
    assert lead.get(f"/paths/{path_id}").status_code == 404
    assert lead.get("/paths").status_code == 403
    readiness = lead.get("/readiness").text
    assert "Works with a current colleague until the path is complete" in readiness
    assert "not shown twice" not in readiness
    assert "P06" not in readiness


def test_closing_before_it_is_complete_is_said(client_as: ClientAs, ready: SmallService) -> None:
    address = f"/paths/{opened(ready)}"
    client = client_as("ines")
    early = client.submit(address, {"outcome": "complete", "closing_words": WORDS}, action="/close")
    assert early.status_code == 422
    assert "Not recorded yet: Another educator takes over" in early.text
    ended = client.submit(address, {"outcome": "ended", "closing_words": WORDS}, action="/close")
    assert ended.location == address
    assert "This path is ended before it was complete." in client.get(address).text


def test_outside_evidence_is_recognised_on_a_page(client_as: ClientAs, ready: SmallService) -> None:
    address = f"/paths/evidence/{ready.person_id('mira')}"
    client = client_as("ines")
    entries = {"words": "A signed list of another service.", "recognised": ["C5"],
               "last_valid_day": (ready.now.date() + timedelta(days=90)).isoformat()}  # fmt: skip
    assert client.submit(address, {**entries, "last_valid_day": ""}, action=address).status_code == 422
    answer = client.submit(address, entries, action=address)
    assert answer.location == f"/decisions/{ready.person_id('mira')}"
    assert "Outside evidence, recognised" in client_as("mira").get("/my-evidence").text


def test_leave_is_recorded_and_ended(client_as: ClientAs, ready: SmallService, clock: StandingClock) -> None:
    for code in ("C5", "C8"):
        sign_off(ready, "mira", code)
    client = client_as("leif")
    assert "Nobody is on leave." in client.get("/leave").text
    until = (ready.now.date() + timedelta(days=119)).isoformat()
    answer = client.submit(
        "/leave/new", {"person": ready.person_id("mira"), "until_day": until, "reason": "On leave as agreed."}
    )
    page = client.get(str(answer.location)).text
    assert "One person is on leave." in page
    assert "stops the clock: dates move by 120 days" in page
    assert "Paused until" in client_as("mira").get("/").text
    clock.advance(timedelta(days=120))
    back = client_as("leif").get("/leave").text
    assert "Back from long leave" in back
    assert "Restricted since 30 June 2026" in client_as("mira").get("/").text


def test_adjustments_are_set_read_and_ended(client_as: ClientAs, ready: SmallService) -> None:
    address = f"/adjustments/{ready.person_id('mira')}"
    client = client_as("ines")
    assert "sits questions as everybody does" in client.get(address).text
    answer = client.submit(address, {"extra_time": "50", "room": "a quiet room"}, action=address)
    assert answer.location == address
    assert "50 % more time" in client.get(address).text
    assert "a quiet room" in client_as("mira").get("/adjustments/mine").text
    for name in ("leif", "tor", "ada"):
        assert client_as(name).get(address).status_code == 403
    client.submit(address, {}, action="/adjustments/end/" + _id_in(client.get(address).text))
    assert "You sit questions as everybody does." in client_as("mira").get("/adjustments/mine").text


def _id_in(page: str) -> str:
    return page.split("/adjustments/end/")[1].split('"', maxsplit=1)[0]


@pytest.mark.parametrize("name", ["leif", "tor", "ada"])
def test_pages_of_others_are_the_same_with_and_without_an_adjustment(
    client_as: ClientAs, ready: SmallService, name: str
) -> None:
    addresses = {"leif": ["/readiness", "/leave"], "tor": ["/observe", "/discussions"], "ada": ["/people"]}[name]
    client = client_as(name)

    def seen() -> list[str]:
        return [client.get(address).text.split("<main")[1].split("</main>")[0] for address in addresses]

    before = [_without_keys(text) for text in seen()]
    client_as("ines").submit(
        f"/adjustments/{ready.person_id('mira')}", {"extra_time": "100", "room": "quiet"},
        action=f"/adjustments/{ready.person_id('mira')}",
    )  # fmt: skip
    assert [_without_keys(text) for text in seen()] == before


def _without_keys(text: str) -> str:
    return "\n".join(line for line in text.splitlines() if "csrf_token" not in line and "act_key" not in line)


def test_an_engagement_is_set_by_an_administrator(client_as: ClientAs, ready: SmallService) -> None:
    address = f"/people/{ready.person_id('mira')}/engagement"
    client = client_as("ada")
    assert "Mira is here without an end." in client.get(address).text
    until = (ready.now.date() + timedelta(days=60)).isoformat()
    assert client.submit(address, {"until_day": until}).status_code == 303
    assert "1 May 2026" in client.get(f"/people/{ready.person_id('mira')}").text
    assert client.submit(address, {"until_day": "2031-01-01"}).status_code == 422


@pytest.mark.parametrize("odd", ODD_IDS)
def test_odd_ids_are_not_found(client_as: ClientAs, ready: SmallService, odd: str) -> None:
    for address in (f"/paths/{odd}", f"/adjustments/{odd}", f"/paths/evidence/{odd}"):
        assert client_as("ines").get(address).status_code in {200, 404}  # "mine" and "new" are pages of their own


def test_statements_do_not_grow_with_people(client_as: ClientAs, ready: SmallService) -> None:
    client = client_as("ines")
    client.get("/paths")
    with counted_statements(ready.database) as few:
        client.get("/paths")
    add_clinicians(ready, 40)
    with counted_statements(ready.database) as many:
        client.get("/paths")
    assert len(many) == len(few)


def test_kinds_are_said_in_plain_words() -> None:
    assert [kind.words for kind in PathKind] == [
        "new here", "here for a time", "back from long leave", "not shown twice",
    ]  # fmt: skip
