"""Two sheets, late marks, paper, discarding and faults as pages, without any script."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from tests.observing import Phone, accept, locked, opened, performed, put_in_service, require, sent, sign_off
from tests.small_service import SmallService
from tests.web_app import JudgingClient

ClientAs = Callable[[str], JudgingClient]


@pytest.fixture
def ready(small_sqlite: SmallService) -> SmallService:
    put_in_service(small_sqlite)
    require(small_sqlite, "C8")
    for name in ("tor", "una"):
        sign_off(small_sqlite, name, "C8")
    accept(small_sqlite, "P06")
    return small_sqlite


def card_of(small: SmallService) -> str:
    return f"/observe/card?person={small.person_id('mira')}&procedure=P06"


def joined(client_as: ClientAs, small: SmallService) -> tuple[str, str]:
    """Tor opens a sheet, Una one of her own for the same performance; both are locked, and differ."""
    first = opened(small)
    page = client_as("una").get(card_of(small)).text
    assert "I and Tor, each on a sheet of our own" in page
    answer = client_as("una").submit(card_of(small), {"setting": "bench", "together": first}, action="/observe/card")
    second = str(answer.location).rsplit("/", 1)[1]
    performed(small, first)
    sent(small, second, [Phone(small.now, device_id="1").mark("a")], by="una")
    locked(small, first)
    assert client_as("una").get(f"/observe/doubles/{first}").status_code == 404
    locked(small, second, by="una")
    return first, second


def test_two_sheets_are_compared_and_settled_with_a_reason(client_as: ClientAs, ready: SmallService) -> None:
    first, _ = joined(client_as, ready)
    page = f"/observe/doubles/{first}"
    assert "differ" in client_as("tor").get("/observe").text
    text = client_as("tor").get(page).text
    assert "The sheets differ: shown and incomplete" in text
    assert "An educator of the base who marked neither sheet decides" in text
    assert "The two sheets of this performance say different things" in client_as("tor").get(
        f"/observe/{first}/result"
    ).text  # fmt: skip
    ines = client_as("ines")
    assert ines.submit(page, {"outcome": "one_stands", "reason": "x"}, action=page).status_code == 422
    entries = {"outcome": "one_stands", "stands": first, "reason": "Una came late."}
    assert ines.submit(page, entries, action=page).status_code == 303
    assert "Una came late." in ines.get(page).text
    assert "Sign what you saw" in client_as("tor").get(f"/observe/{first}/result").text


def test_agreement_says_how_many_and_nothing_about_one_assessor(client_as: ClientAs, ready: SmallService) -> None:
    assert "nothing can be said about agreement" in client_as("ines").get("/observe/agreement").text
    joined(client_as, ready)
    text = client_as("ines").get("/observe/agreement?procedure=P06").text
    assert "One performance was marked by two assessors." in text
    assert "Too few to say anything: 29 of 30 are missing." in text
    assert client_as("tor").get("/observe/agreement").status_code == 403


def test_a_late_mark_is_listed_and_decided_on(client_as: ClientAs, ready: SmallService) -> None:
    sheet = opened(ready)
    phone = performed(ready, sheet, "abcdefghi")
    locked(ready, sheet)
    sent(ready, sheet, [phone.mark("j")])
    client = client_as("tor")
    assert "Late marks, 1 to decide" in client.get("/observe").text
    text = client.get("/observe/late").text
    assert "j, done, Mira, P06" in text
    assert "arrived after the sheet was locked" in text
    page = text.partition('href="/observe/late/')[2].partition('"')[0]
    assert client.submit(f"/observe/late/{page}", {"outcome": "taken_in"}, action=page).status_code == 422
    answer = client.submit(f"/observe/late/{page}", {"outcome": "taken_in", "reason": "Second device."}, action=page)
    assert answer.location == f"/observe/{sheet}/finish"
    assert "“Second device.”" in client.get("/observe/late").text
    assert client.get(f"/observe/late/{page}").status_code == 200
    assert client_as("una").get(f"/observe/late/{page}").status_code == 404


def test_a_paper_sheet_is_written_over_under_both_names(client_as: ClientAs, ready: SmallService) -> None:
    una = client_as("una")
    page = f"/observe/paper?person={ready.person_id('mira')}&procedure=P06"
    assert "Tor" in una.get(page).text
    entries = {
        "assessor": ready.person_id("tor"), "watched_on": "2026-03-01", "watched_from": "07:30", "setting": "bench",
    }  # fmt: skip
    assert una.submit(page, {**entries, "watched_on": "2026-04-01"}, action="/observe/paper").status_code == 422
    sheet = str(una.submit(page, entries, action="/observe/paper").location)
    assert "From the paper sheet of Tor" in una.get(sheet).text
    observation_id = sheet.rsplit("/", 1)[1]
    sent(ready, observation_id, [Phone(ready.now).mark(step) for step in "abcdefghij"], by="una")
    finish = una.get(f"{sheet}/finish").text
    assert "As the paper says of Mira" in finish
    answer = una.submit(f"{sheet}/finish", {"global_rating": "4", "confirmed": "seen"}, action="/finish")
    assert answer.status_code == 303
    assert "from paper, marked by Tor" in client_as("tor").get("/observe").text
    assert "Entered from the paper sheet of Tor by Una" in client_as("tor").get(f"{sheet}/result").text


def test_a_sheet_opened_by_mistake_is_discarded_and_kept(client_as: ClientAs, ready: SmallService) -> None:
    client, sheet = client_as("tor"), f"/observe/{opened(ready)}"
    assert client.submit(f"{sheet}/discard", {}, action="/discard").status_code == 422
    assert client.submit(f"{sheet}/discard", {"reason": "Wrong person."}, action="/discard").location == "/observe"
    assert "“Wrong person.”" in client.get("/observe").text
    assert client.get(sheet).location == f"{sheet}/result"
    assert "was discarded; it is kept and counts for nothing" in client.get(f"{sheet}/result").text
    assert client.get(f"{sheet}/discard").status_code == 409


def test_a_fault_is_reported_beside_the_sheet_and_listed_for_the_team_lead(
    client_as: ClientAs, ready: SmallService
) -> None:
    client, sheet = client_as("tor"), f"/observe/{opened(ready)}"
    assert client.submit(f"{sheet}/fault", {"what": "No cycling."}, action="/fault").status_code == 422
    answer = client.submit(
        f"{sheet}/fault", {"lot_number": "L 204", "step": "b", "what": "No cycling."}, action="/fault"
    )
    assert answer.location == f"{sheet}#fault"
    assert "Fault reported, lot L 204: No cycling." in client.get(sheet).text
    listed = client_as("leif").get("/observe/faults").text
    assert "One fault of a device was reported." in listed
    assert "Mira" not in listed


def test_sheets_for_several_people_are_opened_at_once(client_as: ClientAs, ready: SmallService) -> None:
    client = client_as("tor")
    entries = {"setting": "bench", "connection": "Same crew.", "others": [ready.person_id("una")]}
    assert client.submit(card_of(ready), entries, action="/observe/card").location == "/observe"
    text = client.get("/observe").text
    assert text.count(">go on<") == 2
    assert "2 observations wait for you." in text
