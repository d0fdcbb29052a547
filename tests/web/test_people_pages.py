"""Administrators add, move, invite and take rosters over on pages; each act asks for what it must ask for."""

from __future__ import annotations

import io
import re
from collections.abc import Callable
from datetime import date, timedelta

import pytest
from sqlalchemy import func, select

from quizapp.store.accounts import Account
from quizapp.store.audit import Signature
from quizapp.store.decisions import Decision
from quizapp.store.import_drafts import ImportDraft
from quizapp.store.people import Person
from quizapp.store.receipts import ActReceipt
from tests.small_service import PASSWORD, SmallService
from tests.web_app import JudgingClient

ClientAs = Callable[[str], JudgingClient]
NEW = {"staff_number": "N-1", "name": "Nils Berg", "profession": "doctor", "email": "", "joined_on": "2026-03-02"}
ROSTER = "staff_number;name;profession;base;joined_on;email;sign_in_name\nN-1;Nils Berg;doctor;CAI;2026-03-02;;nils\n"
NEW_PASSWORD = "seven kettles under the pier"


def person(small: SmallService, number: str) -> Person:
    with small.database.reading() as session:
        return session.scalars(select(Person).where(Person.staff_number == number)).one()


def count(small: SmallService, table: type) -> int:
    with small.database.reading() as session:
        return session.scalar(select(func.count()).select_from(table)) or 0


def test_the_list_says_how_many_and_finds_part_of_a_name(client_as: ClientAs) -> None:
    ada = client_as("ada")
    page = ada.get("/people").text
    assert "10 people belong to this service." in page
    assert "administrator, whole service" in page
    found = ada.get("/people?search=t-MIR").text
    assert ("Mira" in found, "Petra" in found) == (True, False)
    assert "Nobody was found" in ada.get("/people?search=100%25").text


def test_a_person_is_added_corrected_moved_and_leaves(client_as: ClientAs, small_sqlite: SmallService) -> None:
    ada, small = client_as("ada"), small_sqlite
    answer = ada.submit("/people/new", {**NEW, "base_id": small.base_id}, action="/people/new")
    assert answer.status_code == 303
    where = answer.headers["Location"]
    assert ada.get(where).status_code == 200
    entries = {"name": "Nils Bergh", "profession": "doctor", "email": "n@x.org"}
    assert ada.submit(f"{where}/change", entries, action="/change").status_code == 303
    assert ada.submit(f"{where}/move", {"base_id": small.other_base_id}, action="/move").status_code == 303
    assert (person(small, "N-1").name, person(small, "N-1").base_id) == ("Nils Bergh", small.other_base_id)
    leaving = {"left_on": "2026-03-02", "password": "wrong"}
    refused = ada.submit(f"{where}/leave", leaving, action="/leave")
    assert (refused.status_code, "That is not your password" in refused.text) == (422, True)
    assert ada.submit(f"{where}/leave", {**leaving, "password": PASSWORD}, action="/leave").status_code == 303
    assert person(small, "N-1").left_on == date(2026, 3, 2)
    assert "left on 2 March 2026" in ada.get(where).text
    back = {"base_id": small.base_id, "joined_on": "2026-03-03", "password": PASSWORD}
    assert ada.submit(f"{where}/return", back, action="/return").status_code == 303


@pytest.mark.parametrize(
    ("entry", "words"),
    [
        ({"staff_number": "T-MIRA"}, "belongs to somebody already"),
        ({"staff_number": "1.2E+05"}, "digits are lost"),
        ({"joined_on": "03/04/2026"}, "day and month could be exchanged"),
        ({"joined_on": "２０２６-03-02"}, "use the digits 0-9"),
        ({"joined_on": ""}, "Give the first day"),
        ({"name": "Nils\u202e"}, "cannot be printed"),
        ({"base_id": "0" * 32}, "Not a valid choice"),
    ],
)
def test_a_fault_is_shown_beside_its_field_and_the_text_is_kept(
    client_as: ClientAs, small_sqlite: SmallService, entry: dict[str, str], words: str
) -> None:
    answer = client_as("ada").submit(
        "/people/new", {**NEW, "base_id": small_sqlite.base_id, **entry}, action="/people/new"
    )
    assert answer.status_code == 422
    assert words in answer.text
    assert 'value="doctor"' in answer.text
    assert count(small_sqlite, Person) == 10


def test_a_form_sent_twice_adds_one_person(client_as: ClientAs, small_sqlite: SmallService) -> None:
    ada = client_as("ada")
    keys = dict(re.findall(r'type="hidden" name="(\w+)" value="([^"]+)"', ada.get("/people/new").text))
    data = {**keys, **NEW, "base_id": small_sqlite.base_id}
    first, second = (ada.post("/people/new", data=data) for _ in range(2))
    assert (first.status_code, second.status_code) == (303, 303)
    assert first.headers["Location"] == second.headers["Location"]
    assert count(small_sqlite, Person) == 11


def test_hidden_extra_fields_have_no_effect(client_as: ClientAs, small_sqlite: SmallService) -> None:
    extra = {"role": "administrator", "left_on": "2020-01-01", "id": "1" * 32}
    client_as("ada").submit("/people/new", {**NEW, "base_id": small_sqlite.base_id, **extra}, action="/people/new")
    assert person(small_sqlite, "N-1").left_on is None
    assert person(small_sqlite, "N-1").id != "1" * 32


def account(ada: JudgingClient, small: SmallService, name: str, **entries: str) -> str:
    where = f"/people/{small.person_id(name)}/account"
    answer = ada.submit(where, {"password": PASSWORD, **entries}, action="/account")
    assert answer.status_code in {200, 303}, answer.text
    return answer.text


def test_a_code_is_shown_once_and_kept_nowhere(
    client_as: ClientAs, client: JudgingClient, small_sqlite: SmallService
) -> None:
    ada, small = client_as("ada"), small_sqlite
    page = account(ada, small, "mira", what="invite")
    code = re.search(r"(?:[0-9a-f]{4}-){7}[0-9a-f]{4}", page)
    assert code is not None
    with small.database.reading() as session:
        outcomes = [str(row.outcome) for row in session.scalars(select(ActReceipt))]
    assert not any(code[0] in outcome for outcome in outcomes)
    wrong = {"sign_in_name": "mira", "code": code[0], "new_password": NEW_PASSWORD, "again": "another"}
    assert "The two are not the same" in client.submit("/set-password", wrong, action="/set-password").text
    answer = client.submit("/set-password", {**wrong, "again": NEW_PASSWORD}, action="/set-password")
    assert answer.headers["Location"] == "/set-password/done"
    assert client.get("/set-password/done").status_code == 200
    again = client.submit("/set-password", {**wrong, "again": NEW_PASSWORD}, action="/set-password")
    assert (again.status_code, "used or too old" in again.text) == (422, True)
    signed_in = client.submit("/sign-in", {"name": "mira", "password": NEW_PASSWORD}, action="/sign-in")
    assert signed_in.status_code == 303


def test_an_account_is_closed_and_opened_again(client_as: ClientAs, small_sqlite: SmallService) -> None:
    ada, mira = client_as("ada"), client_as("mira")
    assert mira.get("/account").status_code == 200
    account(ada, small_sqlite, "mira", what="close")
    assert mira.get("/account").headers["Location"].startswith("/sign-in")
    account(ada, small_sqlite, "mira", what="open")
    assert mira.get("/account").status_code == 302
    with small_sqlite.database.reading() as session:
        assert session.scalar(select(Account.password_hash).where(Account.sign_in_name == "mira")) is None


def test_one_changes_ones_own_password(client_as: ClientAs, small_sqlite: SmallService) -> None:
    here, there = client_as("mira"), client_as("mira")
    entries = {"password": PASSWORD, "new_password": NEW_PASSWORD, "again": NEW_PASSWORD}
    short = {**entries, "new_password": "short", "again": "short"}
    assert "Use at least 15 characters" in here.submit("/account", short, action="/account/password").text
    assert here.submit("/account", entries, action="/account/password").status_code == 303
    assert "Your password is changed." in here.get("/account?was=changed").text
    assert there.get("/account").status_code == 302


def test_a_roster_is_checked_shown_confirmed_and_not_kept(client_as: ClientAs, small_sqlite: SmallService) -> None:
    ada, small = client_as("ada"), small_sqlite
    upload = {"file": (io.BytesIO(ROSTER.encode()), "staff.csv")}
    answer = ada.submit("/people/import", upload, action="/people/import")
    assert answer.status_code == 303
    draft = answer.headers["Location"]
    page = ada.get(draft).text
    assert "This roster adds 1 and changes 0." in page
    assert count(small, Person) == 10
    assert client_as("bea").get(draft).status_code == 404
    refused = ada.submit(draft, {"password": "wrong"}, action=draft)
    assert (refused.status_code, count(small, Person)) == (422, 10)
    done = ada.submit(draft, {"password": PASSWORD}, action=draft)
    assert "1 new, 0 changed, 0 the same" in ada.get(done.headers["Location"]).text
    assert (count(small, Person), count(small, ImportDraft)) == (11, 0)
    assert ada.get(draft).status_code == 404


def test_pasted_rows_with_faults_show_them_all_and_keep_the_text(client_as: ClientAs) -> None:
    rows = ROSTER.replace("CAI", "XX").replace("2026-03-02", "2026-13-02")
    answer = client_as("ada").submit("/people/import", {"text": rows}, action="/people/import")
    assert answer.status_code == 422
    assert "Line 2: base: there is no base" in answer.text
    assert "Line 2: joined_on: There is no day" in answer.text
    assert "N-1;Nils Berg;doctor;XX" in answer.text
    nothing = client_as("ada").submit("/people/import", {}, action="/people/import")
    assert "Choose a file or paste its rows." in nothing.text


def test_names_from_a_file_are_only_text(client_as: ClientAs) -> None:
    marker = '"><svg onload=x>{{7*7}}'
    rows = ROSTER.replace("CAI", marker.replace(";", ""))
    answer = client_as("ada").submit("/people/import", {"text": rows}, action="/people/import")
    assert "<svg onload" not in answer.text
    assert "{{7*7}}" in answer.text


def test_files_may_be_large_only_where_files_are_taken(client_as: ClientAs) -> None:
    ada = client_as("ada")
    large = {"text": ROSTER + "#" * 2_000_000}
    assert ada.submit("/people/import", large, action="/people/import").status_code == 422
    assert ada.submit("/people/new", {**NEW, "name": "x" * 2_000_000}, action="/people/new").status_code == 413
    too_large = {"file": (io.BytesIO(b"x" * 21 * 1_048_576), "big.csv")}
    assert ada.submit("/people/import", too_large, action="/people/import").status_code == 413


def test_a_waiting_file_is_gone_after_an_hour(client_as: ClientAs, clock: Callable[[], object]) -> None:
    ada = client_as("ada")
    draft = ada.submit("/people/import", {"text": ROSTER}, action="/people/import").headers["Location"]
    for _ in range(3):
        clock.advance(timedelta(minutes=20))  # type: ignore[attr-defined]
        ada.get("/people")
    assert ada.get(draft).status_code == 200
    clock.advance(timedelta(seconds=1))  # type: ignore[attr-defined]
    assert ada.get(draft).status_code == 404


def test_sign_offs_are_recognised_with_a_second_person(client_as: ClientAs, small_sqlite: SmallService) -> None:
    ada = client_as("ada")
    rows = (
        "staff_number,competency,signed_on,last_valid_day,profile,revision,recognised_reason\n"
        "T-mira,C5,2025-06-01,2026-06-01,TV-A,1,Signed in the paper log of last year\n"
    )
    for second, words in (("ada", "somebody else than you"), ("mira", "administrator or an educator")):
        answer = ada.submit("/people/sign-offs", {"text": rows, "second": second}, action="/people/sign-offs")
        assert (answer.status_code, words in answer.text) == (422, True)
    faulty = {"text": rows.replace("C5", "C99"), "second": "bea"}
    assert "Line 2: competency" in ada.submit("/people/sign-offs", faulty, action="/people/sign-offs").text
    answer = ada.submit("/people/sign-offs", {"text": rows, "second": "bea"}, action="/people/sign-offs")
    draft = answer.headers["Location"]
    assert "You and Bea stand for these." in ada.get(draft).text
    refused = ada.submit(draft, {"password": "wrong"}, action=draft)
    assert (refused.status_code, "Nothing was signed" in refused.text) == (422, True)
    assert ada.submit(draft, {"password": PASSWORD}, action=draft).status_code == 303
    assert ada.get(draft).status_code == 404
    second_signs(client_as, small_sqlite, draft.rsplit("/", 1)[-1])


def second_signs(client_as: ClientAs, small: SmallService, draft_id: str) -> None:
    """Until the second person signs too, with a password of their own, nothing counts."""
    page, bea = f"/recognise/{draft_id}", client_as("bea")
    with small.database.reading() as session:
        assert session.scalars(select(Decision)).all() == []
    assert client_as("ada").get(page).status_code == 404
    assert "1 list waits for your signature." in bea.get("/recognise").text
    assert "sign-offs that wait for your signature" in bea.get("/people").text
    assert "Ada signed 1 sign-off given elsewhere" in bea.get(page).text
    assert bea.submit(page, {"password": ""}, action=page).status_code == 422
    signed = bea.submit(page, {"password": PASSWORD}, action=page)
    assert signed.status_code == 303
    assert "1 sign-off was recognised." in bea.get(signed.location).text
    assert bea.get(page).status_code == 404
    with small.database.reading() as session:
        decision = session.scalars(select(Decision)).one()
        signers = {one.id: one.printed_name for one in session.scalars(select(Signature))}
    assert (decision.origin, decision.second_by) == ("recognised", small.person_id("bea"))
    assert [signers[one or ""] for one in (decision.signature_id, decision.second_signature_id)] == ["Ada", "Bea"]
