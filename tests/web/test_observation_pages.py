"""An observation without any script, from the card to the signature, and who sees which page."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

import pytest
from sqlalchemy import event as database_event

from tests.observing import Phone, accept, opened, performed, put_in_service, require, sent, sign_off, signed
from tests.observing import locked as lock_it
from tests.small_service import PASSWORD, SmallService
from tests.web_app import JudgingClient

ClientAs = Callable[[str], JudgingClient]


@pytest.fixture
def ready(small_sqlite: SmallService) -> SmallService:
    put_in_service(small_sqlite)
    require(small_sqlite, "C8")
    sign_off(small_sqlite, "tor", "C8")
    accept(small_sqlite, "P06")
    return small_sqlite


def card_of(small: SmallService, name: str = "mira", procedure: str = "P06") -> str:
    return f"/observe/card?person={small.person_id(name)}&procedure={procedure}"


def opened_by_form(client: JudgingClient, small: SmallService, **entries: Any) -> str:
    answer = client.submit(card_of(small), {"setting": "bench", **entries}, action="/observe/card")
    assert answer.status_code == 303
    return str(answer.location)


def tapped(client: JudgingClient, sheet: str, **pressed: str) -> str:
    """Press one button of the sheet and return the page one lands on."""
    page = client.get(sheet).text
    answer = client.post(sheet + "/tap", data={**keys_of(page), **pressed})
    assert answer.status_code == 303
    return client.get(str(answer.location)).text


def keys_of(page: str) -> dict[str, str]:
    """The hidden keys of a page's forms; all its buttons share them."""
    found = {
        name: re.search(rf'name="{name}" value="([^"]+)"', page.partition("<main")[2])
        for name in ("csrf_token", "act_key")
    }
    return {name: match[1] for name, match in found.items() if match}


def test_the_card_offers_what_the_base_and_the_procedure_have(client_as: ClientAs, ready: SmallService) -> None:
    client = client_as("tor")
    assert "Mira, flight paramedic" in client.get("/observe/new?procedure=P06").text
    text = client.get(card_of(ready)).text
    assert "TV-A revision 1" in text
    assert "k, Second failure: device out of use, bag to destination" in text
    assert "c, Chest rise" not in text
    assert "counter-signature" not in text


def test_the_card_says_when_the_assessor_may_only_note(client_as: ClientAs, ready: SmallService) -> None:
    assert "You may note what you see, but not sign it" in client_as("una").get(card_of(ready)).text


def test_without_a_device_in_service_nothing_can_be_opened(client_as: ClientAs, small_sqlite: SmallService) -> None:
    assert "No device is in service at this base today" in client_as("tor").get(card_of(small_sqlite)).text


def test_a_card_without_a_setting_is_refused_and_kept(client_as: ClientAs, ready: SmallService) -> None:
    answer = client_as("tor").submit(card_of(ready), {"presented": ["k"]}, action="/observe/card")
    assert answer.status_code == 422
    assert "Choose where you watch." in answer.text
    assert re.search(r'name="presented" value="k" checked', answer.text)


@pytest.mark.parametrize(("of", "status"), [("tor", 403), ("petra", 404), ("nobody", 404)])
def test_nobody_opens_a_sheet_for_themselves_or_a_stranger(
    client_as: ClientAs, ready: SmallService, of: str, status: int
) -> None:
    assert client_as("tor").get(card_of(ready, of)).status_code == status


@pytest.mark.parametrize("name", ["mira", "ines", "leif", "ada"])
def test_only_assessors_come_to_the_observing_pages(client_as: ClientAs, ready: SmallService, name: str) -> None:
    client = client_as(name)
    observation_id = opened(ready)
    for page in ("/observe", "/observe/new", card_of(ready), f"/observe/{observation_id}"):
        assert client.get(page).status_code == 403


def test_every_button_of_the_sheet_works_without_scripts(client_as: ClientAs, ready: SmallService) -> None:
    client = client_as("tor")
    sheet = opened_by_form(client, ready, presented=["k"])
    text = client.get(sheet).text
    assert text.count("not called for</span></span>") == 1  # l, which this scenario does not present
    tapped(client, sheet, kind="start")
    text = tapped(client, sheet, step="b", mark="done")
    assert re.search(r'id="step-b".*?done 00:00', text, re.DOTALL)
    text = tapped(client, sheet, step="h", mark="not_seen")
    text = tapped(client, sheet, step="b", mark="prompted")
    assert "done 00:00, prompted" in text
    assert "Undo <span data-undo-words>b, prompted" in text
    text = tapped(client, sheet, kind="undo", undoes=_undo_target(text))
    assert "done 00:00, prompted" not in text
    text = tapped(client, sheet, kind="note", step="b", text="Bag on within a breath.")
    assert "b: Bag on within a breath." in text


def _undo_target(text: str) -> str:
    found = re.search(r'name="undoes" value="([0-9a-f]{32})"', text)
    assert found
    return found[1]


def test_a_note_opens_its_entry_and_an_empty_one_is_said(client_as: ClientAs, ready: SmallService) -> None:
    client = client_as("tor")
    sheet = opened_by_form(client, ready)
    assert "Note on step c" in tapped(client, sheet, step="c", mark="note")
    keys = keys_of(client.get(sheet).text)
    answer = client.post(sheet + "/tap", data={**keys, "kind": "note", "step": "c", "text": " "})
    assert answer.status_code == 422
    assert "The note is empty" in answer.text


def test_the_three_dots_are_a_link_that_opens_the_row(client_as: ClientAs, ready: SmallService) -> None:
    client = client_as("tor")
    sheet = opened_by_form(client, ready)
    assert re.search(r'id="four-c"[^>]* hidden>', client.get(sheet).text)
    assert not re.search(r'id="four-c"[^>]* hidden>', client.get(sheet + "?open=c").text)


@pytest.mark.parametrize(
    "pressed", [{"mark": "maybe", "step": "b"}, {"kind": "wipe"}, {}, {"mark": "done", "step": "z"}]
)
def test_a_button_the_sheet_does_not_have_is_refused(
    client_as: ClientAs, ready: SmallService, pressed: dict[str, str]
) -> None:
    client = client_as("tor")
    sheet = opened_by_form(client, ready)
    keys = keys_of(client.get(sheet).text)
    assert client.post(sheet + "/tap", data={**keys, **pressed}).status_code == 422


def test_the_end_says_what_is_unmarked_and_moves_a_step(client_as: ClientAs, ready: SmallService) -> None:
    client = client_as("tor")
    sheet = opened_by_form(client, ready)
    for step in "abc":
        tapped(client, sheet, step=step, mark="done")
    text = tapped(client, sheet, kind="stop")
    assert "5 steps are marked, 7 are not." in text
    assert re.findall(r'<li id="step-(\w)">', text) == ["a", "b", "c"]
    text = tapped(client, sheet, kind="move", step="c", before="a", back="finish")
    assert re.findall(r'<li id="step-(\w)">', text) == ["c", "a", "b"]


def test_lock_and_sign_without_scripts(client_as: ClientAs, ready: SmallService) -> None:
    client = client_as("tor")
    observation_id = opened(ready)
    performed(ready, observation_id, "afbcdeghij")
    finish, result = f"/observe/{observation_id}/finish", f"/observe/{observation_id}/result"
    answer = client.submit(finish, {"person_comment": "The flow had dropped."}, action="/finish")
    assert answer.status_code == 422
    assert "Choose one of the five ratings." in answer.text
    assert "The flow had dropped." in answer.text
    entries = {"global_rating": "2", "confirmed": "seen", "person_comment": "The flow had dropped."}
    assert client.submit(finish, entries, action="/finish").location == result
    assert client.get(finish).location == result
    text = client.get(result).text
    assert "Mira has not yet shown P06 Cycling stops, for one reason." in text
    assert "f was done before b: turning a dial gives no certain breath" in text
    assert "not signed yet" in text
    page = client.submit(result, {}, action="/sign").location
    shown = client.get(page).text
    assert "You are about to sign: Mira, P06 Cycling stops, not yet shown." in shown
    assert "I watched this person do this and marked what I saw." in shown
    refused = client.submit(page, {"password": "wrong"}, action=page)
    assert refused.status_code == 422
    assert "That is not your password. Nothing was signed" in refused.text
    assert client.submit(page, {"password": PASSWORD}, action=page).location == result
    assert "Observed and signed by Tor, assessor" in client.get(result).text
    assert client.get(page).status_code == 409


def test_the_person_observed_sees_the_own_result_and_nobody_elses(client_as: ClientAs, ready: SmallService) -> None:
    observation_id = opened(ready)
    performed(ready, observation_id)
    result = f"/observe/{observation_id}/result"
    assert client_as("mira").get(result).status_code == 404
    lock_it(ready, observation_id)
    signed(ready, observation_id)
    text = client_as("mira").get(result).text
    assert "Mira has shown P06 Cycling stops." in text
    assert "Look, then sign" not in text
    statuses = {name: client_as(name).get(result).status_code for name in ("ines", "una", "leif", "ada", "petra")}
    assert statuses == {"ines": 200, "una": 404, "leif": 404, "ada": 404, "petra": 404}


def test_another_assessors_sheet_is_not_there(client_as: ClientAs, ready: SmallService) -> None:
    observation_id = opened(ready)
    client = client_as("una")
    for page in ("", "/finish", "/events", "/sign/" + "a" * 32):
        assert client.get(f"/observe/{observation_id}{page}").status_code == 404


def test_marks_that_need_a_counter_signature_say_so_and_get_it(client_as: ClientAs, ready: SmallService) -> None:
    client = client_as("una")
    sheet = opened_by_form(client, ready)
    assert "needs counter-signature" in client.get(sheet).text
    observation_id = sheet.rsplit("/", 1)[1]
    performed_by_una(ready, observation_id)
    result = f"/observe/{observation_id}/result"
    text = client.get(result).text
    assert "counter-signature of an assessor who was there" in text
    assert "Look, then sign" not in text
    tor = client_as("tor")
    assert "Counter-signature wanted" in tor.get("/observe").text
    page = tor.submit(result, {}, action="/sign").location
    assert "I was there and saw the same." in tor.get(page).text
    assert tor.submit(page, {"password": PASSWORD}, action=page).status_code == 303
    assert "Counter-signed and signed by Tor" in client.get(result).text


def performed_by_una(small: SmallService, observation_id: str) -> None:
    phone = Phone(small.now)
    taps = [phone.mark(step) for step in "abcdefghij"]
    assert set(sent(small, observation_id, taps, by="una")) == {"saved"}
    lock_it(small, observation_id, by="una")


def test_taps_come_in_as_json_with_a_key_and_are_answered_one_by_one(client_as: ClientAs, ready: SmallService) -> None:
    client = client_as("tor")
    observation_id = opened(ready)
    address = f"/observe/{observation_id}/events"
    key = client.get(address).json["csrf_token"]  # type: ignore[index]
    tap = Phone(ready.now).mark("b")
    assert client.post(address, json={"events": [tap]}).status_code == 400
    answers = [client.post(address, json={"events": [tap, 7]}, headers={"X-CSRFToken": key}).json for _ in range(2)]
    assert [[one["taken"] for one in answer["outcomes"]] for answer in answers if answer] == [
        ["saved", "refused"],
        ["known", "refused"],
    ]
    assert [event["step"] for event in client.get(address).json["events"]] == ["b"]  # type: ignore[index]
    assert client.post(address, data="[]", headers={"X-CSRFToken": key}).status_code == 422


def test_the_list_costs_the_same_number_of_statements_however_long(client_as: ClientAs, ready: SmallService) -> None:
    counted: list[str] = []
    database_event.listen(ready.database.engine, "before_cursor_execute", lambda *a: counted.append(a[2]))
    client, costs = client_as("tor"), []
    client.get("/observe")
    for more in (3, 12):
        for _ in range(more):
            opened(ready)
        counted.clear()
        client.get("/observe")
        costs.append(len(counted))
    assert costs[0] == costs[1]
