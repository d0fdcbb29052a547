"""Roles, devices and content on pages: proposed, answered, ended, accepted, withdrawn; with the password each time."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import date

import pytest
from sqlalchemy import select

from quizapp.content.library import Library
from quizapp.services.accept_content import accepted_hashes
from quizapp.services.sign_in import roles_of
from quizapp.store.accepted_content import ContentWithdrawal
from quizapp.store.devices import DeviceInService
from tests.small_service import PASSWORD, SmallService
from tests.web_app import JudgingClient

ClientAs = Callable[[str], JudgingClient]
TODAY = date(2026, 3, 2)


def proposal(small: SmallService, **changed: str) -> dict[str, str]:
    plain = {
        "staff_number": "T-mira", "role": "assessor", "base_id": small.base_id, "from_day": "2026-03-02",
        "until_day": "", "reason": "agreed at the governance meeting", "password": PASSWORD,
    }  # fmt: skip
    return {**plain, **changed}


def roles_today(small: SmallService, name: str) -> set[str]:
    with small.database.reading() as session:
        held = roles_of(session, [small.person_id(name)])[small.person_id(name)]
    return {one.role.value for one in held if one.is_held_on(TODAY)}


def test_a_role_is_proposed_by_one_and_confirmed_by_another(client_as: ClientAs, small_sqlite: SmallService) -> None:
    ada, bea = client_as("ada"), client_as("bea")
    assert ada.submit("/roles/new", proposal(small_sqlite), action="/roles/new").status_code == 303
    page = ada.get("/roles").text
    assert "1 proposal waits for a second administrator." in page
    found = re.search(r"/roles/proposals/[0-9a-f]{32}", page)
    assert found is not None
    where = found[0]
    assert "You proposed this, so you cannot confirm it." in ada.get(where).text
    answer = {"answer": "confirm", "password": PASSWORD}
    assert ada.submit(where, answer, action=where).status_code == 403
    assert bea.submit(where, {**answer, "password": "wrong"}, action=where).status_code == 422
    assert roles_today(small_sqlite, "mira") == {"clinician"}
    assert bea.submit(where, answer, action=where).status_code == 303
    assert roles_today(small_sqlite, "mira") == {"clinician", "assessor"}
    assert bea.get(where).status_code == 404


def test_a_proposal_about_oneself_is_answered_by_others(client_as: ClientAs, small_sqlite: SmallService) -> None:
    ada, bea = client_as("ada"), client_as("bea")
    ada.submit("/roles/new", proposal(small_sqlite, staff_number="t-BEA"), action="/roles/new")
    where = re.findall(r"/roles/proposals/[0-9a-f]{32}", bea.get("/roles").text)[0]
    assert "This is about you" in bea.get(where).text
    declined = ada.submit(where, {"answer": "decline", "password": PASSWORD}, action=where)
    assert declined.status_code == 303
    assert roles_today(small_sqlite, "bea") == {"administrator"}


@pytest.mark.parametrize(
    ("changed", "status", "words"),
    [
        ({"staff_number": "T-ada"}, 403, "Nobody may grant themselves a role"),
        ({"staff_number": "nobody"}, 422, "Nobody here has that staff number"),
        ({"staff_number": "T-tor"}, 409, "holds this role there already"),
        ({"recognised": "y"}, 422, "ends within 12 months"),
        ({"from_day": "2026-03-01"}, 422, "never in the past"),
        ({"until_day": "02/03/26"}, 422, "day and month could be exchanged"),
        ({"password": "wrong"}, 422, "That is not your password"),
        ({"role": "owner"}, 422, "Not a valid choice"),
        ({"role": "administrator"}, 422, "whole service"),
    ],
)
def test_a_proposal_that_cannot_be(
    client_as: ClientAs, small_sqlite: SmallService, changed: dict[str, str], status: int, words: str
) -> None:
    answer = client_as("ada").submit("/roles/new", proposal(small_sqlite, **changed), action="/roles/new")
    assert (answer.status_code, words in answer.text) == (status, True)


def test_a_role_ended_on_the_page_is_gone_at_the_holders_next_request(
    client_as: ClientAs, small_sqlite: SmallService
) -> None:
    ada, ines = client_as("ada"), client_as("ines")
    assert ines.get("/content").status_code == 200
    page = ada.get(f"/people/{small_sqlite.person_id('ines')}").text
    where = re.findall(r"/roles/[0-9a-f]{32}/end", page)[0]
    assert ada.submit(where, {"password": "wrong"}, action=where).status_code == 422
    assert ada.submit(where, {"password": PASSWORD}, action=where).status_code == 303
    assert ines.get("/content").status_code == 403


def test_guessing_the_password_of_an_open_browser_has_to_wait(client_as: ClientAs, small_sqlite: SmallService) -> None:
    ada = client_as("ada")
    for _ in range(4):
        wrong = proposal(small_sqlite, password="wrong")
        assert ada.submit("/roles/new", wrong, action="/roles/new").status_code == 422
    right = ada.submit("/roles/new", proposal(small_sqlite), action="/roles/new")
    assert (right.status_code, "too many tries" in right.text) == (422, True)
    assert roles_today(small_sqlite, "mira") == {"clinician"}


def test_a_device_is_put_in_service_and_taken_out(client_as: ClientAs, small_sqlite: SmallService) -> None:
    leif = client_as("leif")
    assert "No device is recorded in any pack." in leif.get("/devices").text
    entries = {"base_id": small_sqlite.base_id, "profile": "tv-a-1", "from_day": "2026-02-01"}
    assert leif.submit("/devices", entries, action="/devices/put").status_code == 303
    page = leif.get("/devices").text
    assert "1 device revision is in the packs today." in page
    assert leif.submit("/devices", entries, action="/devices/put").status_code == 409
    where = re.findall(r"/devices/[0-9a-f]{32}/take-out", page)[0]
    assert client_as("olaf").get(where).status_code == 404
    assert leif.submit(where, {"until_day": "2026-01-31"}, action=where).status_code == 422
    assert leif.submit(where, {"until_day": "2026-03-01"}, action=where).status_code == 303
    assert "not in service today" in leif.get("/devices").text
    with small_sqlite.database.reading() as session:
        assert session.scalars(select(DeviceInService)).one().until_day == date(2026, 3, 1)


def test_a_team_lead_records_only_for_the_own_base(client_as: ClientAs, small_sqlite: SmallService) -> None:
    entries = {"base_id": small_sqlite.base_id, "profile": "tv-a-1", "from_day": "2026-02-01"}
    answer = client_as("olaf").submit("/devices", entries, action="/devices/put")
    assert (answer.status_code, "Not a valid choice" in answer.text) == (422, True)


def test_content_is_accepted_and_withdrawn_on_pages(
    client_as: ClientAs, small_sqlite: SmallService, library: Library
) -> None:
    cleo, ines = client_as("cleo"), client_as("ines")
    procedure = next(iter(library.procedures.values()))
    item = f"procedure {procedure.code} {procedure.content_hash}"
    assert "Accept for this service" not in ines.get("/content").text
    entries = {"items": [item], "local_changes": "", "password": PASSWORD}
    assert cleo.submit("/content", {**entries, "password": ""}, action="/content/accept").status_code == 422
    assert cleo.submit("/content", {**entries, "items": []}, action="/content/accept").status_code == 422
    assert cleo.submit("/content", {**entries, "items": ["x y z w"]}, action="/content/accept").status_code == 422
    assert cleo.submit("/content", {**entries, "items": [item[:-1]]}, action="/content/accept").status_code == 409
    assert cleo.submit("/content", entries, action="/content/accept").status_code == 303
    with small_sqlite.database.reading() as session:
        assert accepted_hashes(session) == {procedure.content_hash}
    where = f"/content/procedure/{procedure.code}"
    step = procedure.letters[0]
    reason = {"reason": "this step misled two people", "password": PASSWORD}
    assert ines.submit(where, {**reason, "step": step}, action="/withdraw").status_code == 303
    assert ines.submit(where, {**reason, "step": "zz"}, action="/withdraw").status_code == 422
    with small_sqlite.database.reading() as session:
        withdrawal_id = session.scalars(select(ContentWithdrawal.id)).one()
    lift = f"{where}/withdrawals/{withdrawal_id}"
    assert ines.get(lift).status_code == 403
    assert cleo.submit(lift, {"password": PASSWORD}, action=lift).status_code == 303
    assert ines.submit(where, {**reason, "step": ""}, action="/withdraw").status_code == 303
    assert "is withdrawn." in ines.get(where).text
    with small_sqlite.database.reading() as session:
        assert accepted_hashes(session) == frozenset()


@pytest.mark.parametrize("where", ["/content/family/none", "/content/none/P01", "/content/profile/tv-z-9"])
def test_content_that_is_not_there(client_as: ClientAs, where: str) -> None:
    assert client_as("ines").get(where).status_code == 404
