"""A sitting as pages: saved at each answer, one effect however often it is sent, nothing given away before the end."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import timedelta
from decimal import Decimal
from typing import Any

import pytest
from sqlalchemy import func, select

from quizapp.content.library import Library
from quizapp.store.audit import AuditRow
from quizapp.store.sittings import Answer, Sitting
from tests.knowledge_forms import (
    answer,
    begun,
    composed,
    evidence,
    handed_in,
    practice,
    questions,
    refreeze,
    right_entries,
    right_text,
)
from tests.small_service import SmallService
from tests.web_app import JudgingClient, form_of, values_of

ClientAs = Callable[[str], JudgingClient]
CAUTION = "Training and assessment only. Not for use while caring for a patient."


@pytest.fixture
def sitting_id(small_sqlite: SmallService, library: Library) -> str:
    """Mira's sitting, begun and still open; every question asks for a number."""
    return begun(small_sqlite, library, composed(small_sqlite, library))


def rows(small: SmallService, model: type[object]) -> int:
    with small.database.reading() as session:
        return session.scalar(select(func.count()).select_from(model)) or 0


def entries_of(client: JudgingClient, address: str) -> dict[str, object]:
    return values_of(form_of(client.get(address).text, address))


def test_begin_from_my_currency_leads_to_the_first_question(
    client_as: ClientAs, small_sqlite: SmallService, library: Library
) -> None:
    assessment_id = composed(small_sqlite, library)
    client = client_as("mira")
    assert "Begin, about 4 min" in client.get("/").text
    answer = client.submit("/", {}, action=f"/sitting/begin/{assessment_id}")
    assert answer.status_code == 303
    question = client.get(client.get(answer.location).location)
    assert "Question 1 of 3" in question.text
    again = client.submit("/", {}, action="/sign-out")
    assert again.status_code == 303


def test_a_whole_sitting_by_plain_forms(client_as: ClientAs, small_sqlite: SmallService, sitting_id: str) -> None:
    client = client_as("mira")
    for one in questions(small_sqlite, sitting_id):
        address = f"/sitting/{sitting_id}/{one.position}"
        saved = client.submit(address, right_entries(one), action=address)
        assert saved.status_code == 303
    assert saved.location == f"/sitting/{sitting_id}/end"
    assert "All 3 questions are answered." in client.get(saved.location).text
    done = client.submit(saved.location, {}, action="/end")
    assert done.status_code == 303
    result = client.get(done.location).text
    assert "3 of 3 right; 2 were needed." in result
    assert "an educator decides" in result
    assert CAUTION in result
    assert len(evidence(small_sqlite)) == 2


def test_what_cannot_be_read_stays_on_the_page_with_what_to_write(
    client_as: ClientAs, small_sqlite: SmallService, sitting_id: str
) -> None:
    address = f"/sitting/{sitting_id}/1"
    entry = "about <b>twelve</b>"
    refused = client_as("mira").submit(address, {"answer_0": entry}, action=address)
    assert refused.status_code == 422
    assert values_of(form_of(refused.text, address))["answer_0"] == entry
    assert "<b>" not in refused.text
    assert 'aria-invalid="true"' in refused.text
    assert rows(small_sqlite, Answer) == 0


def test_a_number_without_its_unit_is_refused_and_kept(
    client_as: ClientAs, small_sqlite: SmallService, library: Library
) -> None:
    practised = practice_with_units(small_sqlite, library)
    address = f"/sitting/{practised}/1"
    refused = client_as("mira").submit(address, {"answer_0": "12"}, action=address)
    assert refused.status_code == 422
    assert "Choose a unit" in refused.text
    assert values_of(form_of(refused.text, address))["answer_0"] == "12"


def test_the_same_sending_twice_has_one_effect_and_one_receipt(
    client_as: ClientAs, small_sqlite: SmallService, sitting_id: str
) -> None:
    """The answer of the server was lost and the page is sent again."""
    client = client_as("mira")
    address = f"/sitting/{sitting_id}/1"
    sent = {**entries_of(client, address), **right_entries(questions(small_sqlite, sitting_id)[0])}
    first, again = (client.post(address, data=sent) for _ in range(2))
    assert (first.status_code, again.status_code) == (303, 303)
    assert first.location == again.location
    assert rows(small_sqlite, Answer) == 1
    receipts = {receipt_on(client, first.location) for _ in range(2)}
    assert len(receipts) == 1


def receipt_on(client: JudgingClient, address: str) -> str:
    found = re.search(r"\b[0-9a-f]{16}\b", client.get(address).text.partition('class="receipt')[2])
    assert found
    return found[0]


def test_the_same_key_with_another_answer_changes_nothing(
    client_as: ClientAs, small_sqlite: SmallService, sitting_id: str
) -> None:
    client = client_as("mira")
    address = f"/sitting/{sitting_id}/1"
    sent = {**entries_of(client, address), **right_entries(questions(small_sqlite, sitting_id)[0])}
    client.post(address, data=sent)
    other = client.post(address, data={**sent, "answer_0": "19"})
    assert other.status_code == 409
    assert "The first one was kept" in other.text
    assert rows(small_sqlite, Answer) == 1


@pytest.mark.parametrize("key", ["", "short", "k" * 65, "k" * 5000, "key with blanks and more"])
def test_a_sending_without_a_proper_key_is_refused(
    client_as: ClientAs, small_sqlite: SmallService, sitting_id: str, key: str
) -> None:
    client = client_as("mira")
    address = f"/sitting/{sitting_id}/1"
    sent = {**entries_of(client, address), **right_entries(questions(small_sqlite, sitting_id)[0]), "act_key": key}
    refused = client.post(address, data=sent)
    assert refused.status_code == 422
    assert "Nothing was changed" in refused.text
    assert rows(small_sqlite, Answer) == 0


def test_a_stale_second_tab_gets_both_values_and_overwrites_nothing(
    client_as: ClientAs, small_sqlite: SmallService, sitting_id: str
) -> None:
    client = client_as("mira")
    address = f"/sitting/{sitting_id}/1"
    right = right_entries(questions(small_sqlite, sitting_id)[0])
    first_tab, second_tab = entries_of(client, address), entries_of(client, address)
    client.post(address, data={**first_tab, **right, "answer_0": "12.5"})
    stale = client.post(address, data={**second_tab, **right, "answer_0": "13.5"})
    assert stale.status_code == 409
    assert re.search(r"it says 12\.5\b.*, this page sent 13\.5\b", stale.text)
    assert "Nothing was overwritten" in stale.text
    assert rows(small_sqlite, Answer) == 1


def test_two_tabs_that_differ_in_the_unit_alone_are_told_apart(
    client_as: ClientAs, small_sqlite: SmallService, library: Library
) -> None:
    practised = practice_with_units(small_sqlite, library)
    client = client_as("mira")
    address = f"/sitting/{practised}/1"
    first_tab, second_tab = entries_of(client, address), entries_of(client, address)
    blank = questions(small_sqlite, practised)[0].question.blanks[0]
    client.post(address, data={**first_tab, "answer_0": "12.5", "answer_0_unit": blank.units[0]})
    stale = client.post(address, data={**second_tab, "answer_0": "12.5", "answer_0_unit": blank.units[1]})
    assert stale.status_code == 409
    assert f"it says 12.5 {blank.unit_labels[0]}, this page sent 12.5 {blank.unit_labels[1]}" in stale.text


def practice_with_units(small: SmallService, library: Library) -> str:
    """A practice of one question whose number may be given in mL or in L."""
    family = next(code for code, one in library.families.items() if one.blanks and one.blanks[0].units == ("mL",))
    practised = practice(small, library, family)

    def two_units(frozen: dict[str, Any]) -> None:
        frozen["blanks"][0]["units"] = frozen["blanks"][0]["unit_labels"] = ["mL", "L"]

    refreeze(small, practised, two_units)
    return practised


def test_a_changed_mind_is_a_new_revision(client_as: ClientAs, small_sqlite: SmallService, sitting_id: str) -> None:
    client = client_as("mira")
    address = f"/sitting/{sitting_id}/1"
    right = right_entries(questions(small_sqlite, sitting_id)[0])
    for text in ("12", "13"):
        assert client.submit(address, {**right, "answer_0": text}, action=address).status_code == 303
    assert entries_of(client, address)["answer_0"] == "13"
    assert rows(small_sqlite, Answer) == 2


def test_the_back_button_after_handing_in_finds_the_answer_closed(
    client_as: ClientAs, small_sqlite: SmallService, sitting_id: str
) -> None:
    client = client_as("mira")
    address = f"/sitting/{sitting_id}/1"
    old_page = {**entries_of(client, address), **right_entries(questions(small_sqlite, sitting_id)[0])}
    handed_in(small_sqlite, sitting_id)
    assert client.get(address).location == f"{address}/why"
    assert client.get(f"/sitting/{sitting_id}/end").location == f"/sitting/{sitting_id}/result"
    refused = client.post(address, data=old_page)
    assert refused.status_code == 409
    assert "handed in already" in refused.text
    assert client.get(address).headers["Cache-Control"] == "no-store"
    assert rows(small_sqlite, Answer) == 0


def test_handing_in_twice_is_handing_in_once(client_as: ClientAs, small_sqlite: SmallService, sitting_id: str) -> None:
    client = client_as("mira")
    end = f"/sitting/{sitting_id}/end"
    sent = values_of(form_of(client.get(end).text, "/end"))
    answers = [client.post(end, data=sent) for _ in range(2)]
    assert [one.status_code for one in answers] == [303, 303]
    assert len(evidence(small_sqlite)) == 2
    with small_sqlite.database.reading() as session:
        handed = session.scalars(select(AuditRow).where(AuditRow.event == "sitting_submitted"))
        assert len(list(handed)) == 1


def test_result_and_reasons_stay_closed_until_the_end(client_as: ClientAs, sitting_id: str) -> None:
    client = client_as("mira")
    assert client.get(f"/sitting/{sitting_id}/result").status_code == 409
    assert client.get(f"/sitting/{sitting_id}/1/why").status_code == 404


def test_the_page_behind_a_wrong_answer_names_the_idea_and_leads_to_a_twin(
    client_as: ClientAs, small_sqlite: SmallService, sitting_id: str
) -> None:
    asked = questions(small_sqlite, sitting_id)[0]
    idea = asked.question.blanks[0].ideas[0]
    answer(small_sqlite, sitting_id, 1, f"{idea.value:.3f}")
    handed_in(small_sqlite, sitting_id)
    client = client_as("mira")
    why = client.get(f"/sitting/{sitting_id}/1/why").text
    assert CAUTION in why
    assert asked.question.blanks[0].key_printed in why
    twin = client.submit(f"/sitting/{sitting_id}/1/why", {}, action="/twin")
    assert twin.status_code == 303
    fresh = client.get(twin.location).text
    assert "Practice, without consequences." in fresh
    assert twin.location.endswith("/1")


def test_asking_twice_for_a_twin_begins_one(client_as: ClientAs, small_sqlite: SmallService, sitting_id: str) -> None:
    handed_in(small_sqlite, sitting_id)
    client = client_as("mira")
    why = f"/sitting/{sitting_id}/1/why"
    sent = values_of(form_of(client.get(why).text, "/twin"))
    first, again = (client.post(f"/sitting/{sitting_id}/1/twin", data=sent) for _ in range(2))
    assert first.location == again.location
    assert rows(small_sqlite, Sitting) == 2


def test_a_change_without_its_token_is_refused(client_as: ClientAs, sitting_id: str) -> None:
    refused = client_as("mira").post(f"/sitting/{sitting_id}/1", data={"answer_0": "1", "act_key": "k" * 20})
    assert refused.status_code == 400
    assert "Nothing was changed" in refused.text


def test_a_question_carries_the_caution_and_says_when_the_time_ends(
    client_as: ClientAs, small_sqlite: SmallService, library: Library
) -> None:
    sitting = begun(small_sqlite, library, composed(small_sqlite, library, time_allowance_min=10))
    page = client_as("mira").get(f"/sitting/{sitting}/1").text
    assert CAUTION in page
    assert "until 09:10:00" in page


def test_an_answer_after_the_time_is_kept_and_marked_so(
    client_as: ClientAs, small_sqlite: SmallService, library: Library
) -> None:
    sitting = begun(small_sqlite, library, composed(small_sqlite, library, time_allowance_min=10))
    asked = questions(small_sqlite, sitting)[0]
    answer(small_sqlite, sitting, 1, right_text(asked.question), after=timedelta(minutes=11))
    handed_in(small_sqlite, sitting)
    assert "after time" in client_as("mira").get(f"/sitting/{sitting}/result").text


def test_a_dangerous_answer_is_said_to_be_one(client_as: ClientAs, small_sqlite: SmallService, sitting_id: str) -> None:
    (oxygen,) = [one for one in questions(small_sqlite, sitting_id) if one.competency == "C3"]
    answer(small_sqlite, sitting_id, oxygen.position, f"{oxygen.question.blanks[0].key * Decimal(2):.1f}")
    handed_in(small_sqlite, sitting_id)
    why = client_as("mira").get(f"/sitting/{sitting_id}/{oxygen.position}/why").text
    assert "This error is on the side that can hurt somebody." in why
