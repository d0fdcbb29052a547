"""Structured discussions as pages: choose, write down, look at it, sign; the person reads it afterwards."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest

from quizapp.content.library import Library
from tests.deciding import requirement, with_standard
from tests.discussing import accept_guides, held, opened
from tests.odd_addresses import ODD_IDS
from tests.small_service import PASSWORD, SmallService
from tests.web_app import JudgingClient

ClientAs = Callable[[str], JudgingClient]


@pytest.fixture
def ready(small_sqlite: SmallService, library: Library) -> SmallService:
    accept_guides(small_sqlite, library)
    return with_standard(small_sqlite, library)


def sheet(marks: str = "222222") -> dict[str, str]:
    words = {f"said_{letter}": f"the words said to {letter}" for letter in "abcdef"}
    return words | {f"mark_{letter}": mark for letter, mark in zip("abcdef", marks, strict=True)}


def test_from_choosing_to_the_person_reading_it(client_as: ClientAs, ready: SmallService) -> None:
    client = client_as("ines")
    assert "Nothing is open" in client.get("/discussions").text
    begun = client.submit("/discussions/new", {"person": ready.person_id("mira"), "code": "D02"})
    address = str(begun.location)
    page = client.get(address).text
    assert "Talk “Moving, flying, and handing over” through with Mira." in page
    assert "For question e let the person speak" in page
    answer = client.submit(address, {**sheet(), "next": "sign"}, action=address)
    shown = client.get(str(answer.location)).text
    assert "You are about to sign: Mira, D02" in shown
    assert "the words said to f" in shown
    wrong = client.submit(str(answer.location), {"password": "no such password"}, action=str(answer.location))
    assert wrong.status_code == 422
    assert "Nothing was signed" in wrong.text
    done = client.submit(str(answer.location), {"password": PASSWORD}, action=str(answer.location))
    assert done.location == address
    mine = client_as("mira")
    assert address in mine.get("/my-evidence").text
    record = mine.get(address).text
    assert "was shown" in record
    assert "Signed by Ines" in record
    assert "A full answer contains" not in record


def test_a_critical_error_that_was_said_is_ticked_by_its_words(
    client_as: ClientAs, ready: SmallService, library: Library
) -> None:
    address = f"/discussions/{opened(ready, library, by='ines')}"
    client = client_as("ines")
    error = library.competencies["C10"].critical_errors[0]
    answer = client.submit(address, {**sheet(), "critical_errors": [error], "next": "sign"}, action=address)
    shown = client.get(str(answer.location)).text
    assert f"A critical error was said: {error}." in shown
    assert "not shown." in shown


def test_kept_without_signing(client_as: ClientAs, ready: SmallService, library: Library) -> None:
    address = f"/discussions/{opened(ready, library, by='ines')}"
    client = client_as("ines")
    answer = client.submit(address, {**sheet("22210-"), "mark_f": "", "said_f": "", "next": "keep"}, action=address)
    page = client.get(str(answer.location)).text
    assert "Kept at" in page
    assert "So far: 7." in page
    assert "One discussion is open." in client.get("/discussions").text


def test_a_mark_without_words_is_asked_about_and_everything_is_kept(
    client_as: ClientAs, ready: SmallService, library: Library
) -> None:
    address = f"/discussions/{opened(ready, library, by='ines')}"
    client = client_as("ines")
    answer = client.submit(address, {**sheet(), "said_c": "", "next": "sign"}, action=address)
    assert answer.status_code == 422
    assert "Question c has a mark but no words." in answer.text
    assert "the words said to b" in client.get(address).text


def test_what_was_missed_is_explained_to_the_person(client_as: ClientAs, ready: SmallService, library: Library) -> None:
    discussion_id = held(ready, library, marks="122222")
    record = client_as("mira").get(f"/discussions/{discussion_id}").text
    assert "was not shown" in record
    assert "Question a is critical and was not answered in full." in record
    assert record.count("A full answer contains") == 1


def test_the_desk_leads_to_what_was_said(client_as: ClientAs, small_sqlite: SmallService, library: Library) -> None:
    accept_guides(small_sqlite, library)
    with_standard(small_sqlite, library, replace(requirement("C10", knowledge=True), needs_discussion=True))
    desk = f"/decisions/{small_sqlite.person_id('mira')}"
    assert "a structured discussion" in client_as("cleo").get(desk).text
    address = f"/discussions/{held(small_sqlite, library)}"
    client = client_as("cleo")
    assert address in client.get(desk).text
    assert "said to a" in client.get(address).text


def test_the_guide_is_read_before_it_is_accepted(client_as: ClientAs, ready: SmallService) -> None:
    lead = client_as("cleo")
    assert "/discussions/guides/D01" in lead.get("/content").text
    page = lead.get("/discussions/guides/D01").text
    assert "6 questions, 12 points; it is shown from 9 on." in page
    assert "2, in full:" in page
    assert lead.get("/discussions/guides/D99").status_code == 404
    for name in ("mira", "tor", "leif", "ada"):
        assert client_as(name).get("/discussions/guides/D01").status_code == 403


def test_discarding(client_as: ClientAs, ready: SmallService, library: Library) -> None:
    address = f"/discussions/{opened(ready, library)}"
    client = client_as("tor")
    assert client.submit(f"{address}/discard", {"reason": "no"}).status_code == 422
    done = client.submit(f"{address}/discard", {"reason": "opened with the wrong person"})
    assert done.location == "/discussions"
    assert "counts for nothing" in client.get(address).text


@pytest.mark.parametrize("name", ["mira", "una", "leif", "petra", "ada"])
def test_nobody_else_sees_it_before_it_is_signed(
    client_as: ClientAs, ready: SmallService, library: Library, name: str
) -> None:
    assert client_as(name).get(f"/discussions/{opened(ready, library)}").status_code == 404


@pytest.mark.parametrize("odd", ODD_IDS)
def test_odd_ids_are_not_found(client_as: ClientAs, ready: SmallService, odd: str) -> None:
    assert client_as("ines").get(f"/discussions/{odd}").status_code in {404, 405}
