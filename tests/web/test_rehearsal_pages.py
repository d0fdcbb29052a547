"""Procedures and rehearsals as pages: what they say, every button without scripts, nobody else's rehearsal."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest

from quizapp.content.library import Library
from tests.observing import put_in_service, withdraw
from tests.small_service import SmallService
from tests.web_app import JudgingClient, form_of, values_of

ClientAs = Callable[[str], JudgingClient]
CAUTION = "Training and assessment only. Not for use while caring for a patient."


def started(client: JudgingClient, code: str = "P06") -> str:
    answer = client.submit(f"/procedures/{code}", {}, action="/rehearsal")
    assert answer.status_code == 303
    return answer.location


def pressed(client: JudgingClient, text: str, address: str, name: str, value: str) -> str:
    """Press one button of the numbering as a browser without scripts would."""
    answer = client.post(address, data={**values_of(form_of(text, address)), name: value})
    assert answer.status_code == 200
    return answer.text


def order_given(text: str) -> str:
    return str(values_of(form_of(text, "/rehearsal/" + rehearsal_id_in(text)))["order"])


def rehearsal_id_in(text: str) -> str:
    found = re.search(r'action="/rehearsal/([0-9a-f]{32})"', text)
    assert found
    return found[1]


def places_of(client: JudgingClient, address: str, library: Library, letters: str) -> str:
    """The places of the shuffle that stand for letters of P06."""
    texts = re.findall(r'value="(\d+)" data-step="\d+" [^>]*>.*?<span data-text>(.*?)</span>', client.get(address).text)
    place = {text: number for number, text in texts}
    return ",".join(place[library.procedure("P06").step(letter).text] for letter in letters)


def compared(client: JudgingClient, address: str, order: str) -> str:
    answer = client.submit(address, {"order": order, "compare": "yes"}, action=address)
    assert answer.status_code == 303
    return client.get(answer.location).text


def test_every_procedure_has_its_page_and_its_sheet_with_the_caution(client_as: ClientAs, library: Library) -> None:
    client = client_as("mira")
    index = client.get("/procedures").text
    for code, procedure in library.procedures.items():
        assert f"{code} {procedure.title}" in index
        page, sheet = client.get(f"/procedures/{code}").text, client.get(f"/procedures/{code}/sheet").text
        assert CAUTION in page
        assert CAUTION in sheet
        assert sheet.count('class="box"><span>') == 4 * len(procedure.steps)


def test_the_page_of_p06_puts_the_bag_first_and_asks_for_no_call_before_it(client_as: ClientAs) -> None:
    text = client_as("mira").get("/procedures/P06").text
    assert "11\u202f484 orders of all steps are right." in text
    assert "b, Disconnect and ventilate by bag with oxygen" in text
    assert "the bag comes before any dial" in text
    assert "a, Call it: not ventilating" not in text
    assert "a teaching target, shown and never decisive" in text


def test_a_step_the_device_at_the_base_does_not_have_is_not_shown(
    client_as: ClientAs, small_sqlite: SmallService
) -> None:
    put_in_service(small_sqlite)
    assert "TV-A revision 1" in client_as("mira").get("/procedures/P01").text


def test_unknown_and_withdrawn_procedures(client_as: ClientAs, small_sqlite: SmallService) -> None:
    client = client_as("mira")
    assert client.get("/procedures/P99").status_code == 404
    withdraw(small_sqlite, "P06")
    assert client.get("/procedures/P06").status_code == 409


def test_numbers_are_given_taken_back_and_moved_without_scripts(client_as: ClientAs) -> None:
    client = client_as("mira")
    address = started(client)
    text = client.get(address).text
    for place in ("3", "1", "2"):
        text = pressed(client, text, address, "give", place)
    assert order_given(text) == "3,1,2"
    text = pressed(client, text, address, "earlier", "2")
    assert order_given(text) == "3,2,1"
    text = pressed(client, text, address, "later", "3")
    assert order_given(text) == "2,3,1"
    text = pressed(client, text, address, "earlier", "2")
    assert order_given(text) == "2,3,1"
    text = pressed(client, text, address, "give", "3")
    assert order_given(text) == "2,1"
    text = pressed(client, text, address, "clear", "yes")
    assert order_given(text) == ""


def test_the_shuffled_steps_carry_no_letters(client_as: ClientAs) -> None:
    client = client_as("mira")
    text = client.get(started(client)).text
    assert sorted(re.findall(r'data-step="(\w*)"', text)) == sorted([*map(str, range(1, 13)), ""])


def test_an_incomplete_order_is_kept_and_said(client_as: ClientAs) -> None:
    client = client_as("mira")
    address = started(client)
    answer = client.submit(address, {"order": "5,3,99,3,x", "compare": "yes"}, action=address)
    assert answer.status_code == 422
    assert "10 steps have no number yet. Your order is kept" in answer.text
    assert order_given(answer.text) == "5,3"


@pytest.mark.parametrize("letters", ["abcdefghijkl", "bacehfgdijkl"])
def test_any_order_that_works_is_accepted(client_as: ClientAs, library: Library, letters: str) -> None:
    client = client_as("mira")
    address = started(client)
    text = compared(client, address, places_of(client, address, library, letters))
    assert "This order keeps every real dependency." in text
    assert "out of place" not in text


def test_each_broken_dependency_is_named_with_its_reason(client_as: ClientAs, library: Library) -> None:
    client = client_as("mira")
    address = started(client)
    text = compared(client, address, places_of(client, address, library, "afbcdeghijkl"))
    assert "1 step is out of place; 1 dependency is broken." in text
    assert "“Flow back to the starting value or above” was done before “Disconnect" in text
    assert "turning a dial gives no certain breath, the bag does" in text


def test_comparing_twice_shows_the_same_result(client_as: ClientAs, library: Library) -> None:
    client = client_as("mira")
    address = started(client)
    order = places_of(client, address, library, "abcdefghijkl")
    form = {**values_of(form_of(client.get(address).text, address)), "order": order, "compare": "yes"}
    assert [client.post(address, data=form).status_code for _ in range(2)] == [303, 303]


def test_another_persons_rehearsal_is_not_there(client_as: ClientAs) -> None:
    address = started(client_as("mira"))
    other = client_as("tor")
    assert other.get(address).status_code == 404
    key = values_of(form_of(other.get("/procedures/P06").text, "/rehearsal"))
    assert other.post(address, data={**key, "give": "1"}).status_code == 404


def test_nobody_rehearses_without_signing_in(client: JudgingClient) -> None:
    assert client.get("/procedures").status_code == 302
    assert client.get("/rehearsal/" + "a" * 32).status_code == 302


def test_a_timed_rehearsal_says_how_soon_the_first_critical_action_came(client_as: ClientAs, library: Library) -> None:
    client = client_as("mira")
    answer = client.submit("/procedures/P06", {"timed": "yes"}, action="/rehearsal")
    address = str(answer.location)
    order = places_of(client, address, library, "abcdefghijkl")
    first_critical = next(letter for letter in "abcdefghijkl" if library.procedure("P06").step(letter).critical)
    times = f"{places_of(client, address, library, first_critical)}:4300,99:12,x:1"
    text = client.get(address).text
    assert "data-rehearsal-clock" in text
    sent = client.submit(address, {"order": order, "times": times, "compare": "yes"}, action=address)
    assert sent.status_code == 303
    assert "First critical action after 4 seconds." in client.get(address).text


def test_a_timed_rehearsal_without_a_script_says_that_it_was_not_timed(client_as: ClientAs, library: Library) -> None:
    client = client_as("mira")
    address = str(client.submit("/procedures/P06", {"timed": "yes"}, action="/rehearsal").location)
    text = compared(client, address, places_of(client, address, library, "abcdefghijkl"))
    assert "could not be timed" in text


def test_an_untimed_rehearsal_says_nothing_of_time(client_as: ClientAs, library: Library) -> None:
    client = client_as("mira")
    address = started(client)
    assert "data-rehearsal-clock" not in client.get(address).text
    text = compared(client, address, places_of(client, address, library, "abcdefghijkl"))
    assert "critical action after" not in text


def test_a_step_is_put_after_another_without_a_script(client_as: ClientAs) -> None:
    client = client_as("mira")
    address = started(client)
    text = client.get(address).text
    for place in ("3", "5", "1"):
        text = pressed(client, text, address, "give", place)
    values = {**values_of(form_of(text, address)), "place": "yes", "put_step": "1", "put_after": "3"}
    assert order_given(client.post(address, data=values).text) == "3,1,5"
