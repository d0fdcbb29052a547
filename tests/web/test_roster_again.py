"""A roster taken over again, by page: joiners, movers, who is missing; leaving by choice, the last one warned of."""

from __future__ import annotations

from collections.abc import Callable

from quizapp.content.library import Library
from quizapp.store.people import Person
from tests.crewing import entered, signed_off
from tests.small_service import PASSWORD, SmallService
from tests.web_app import JudgingClient

ClientAs = Callable[[str], JudgingClient]
ROSTER = (
    "staff_number,name,profession,base,joined_on\n"
    "N-1,Nils Berg,doctor,CAI,2026-03-02\n"
    "T-tor,Tor,flight paramedic,SKE,2025-01-01\n"
    "T-leif,Leif,flight paramedic,CAI,2025-01-01\n"
)


def test_the_difference_and_the_choice(client_as: ClientAs, small_sqlite: SmallService, library: Library) -> None:
    signed_off(small_sqlite, library, "una")
    entered(small_sqlite, library, "una")
    ada, una = client_as("ada"), small_sqlite.person_id("una")
    where = ada.submit("/people/import", {"text": ROSTER}, action="/import").headers["Location"]
    page = ada.get(where).text
    assert "This roster adds 1 and changes 1." in page
    for words in ("To another base", "Not in the file; they stay unless you mark them", "Una, T-una, CAI"):
        assert words in page
    assert "Every assessor who belongs to Cairnlow moves or is missing in the file." in page
    taken = ada.submit(where, {"leaving": [una], "password": PASSWORD}, action=where)
    assert taken.status_code == 303
    assert "1 left." in ada.get(taken.headers["Location"]).text
    with small_sqlite.database.reading() as session:
        assert session.get_one(Person, una).left_on is not None
        assert session.get_one(Person, small_sqlite.person_id("mira")).left_on is None
    first_page = client_as("leif").get("/").text
    assert "The last assessor of Cairnlow left or moved." in first_page
    assert "A shift at Cairnlow has nobody current at some minute" in first_page


def test_leaving_by_hand_warns_as_well(client_as: ClientAs, small_sqlite: SmallService) -> None:
    ada = client_as("ada")
    for name, warned in (("tor", False), ("una", True)):
        where = f"/people/{small_sqlite.person_id(name)}/leave"
        assert ("is the last assessor who belongs to Cairnlow" in ada.get(where).text) is warned
        entries = {"left_on": "2026-03-02", "password": PASSWORD}
        assert ada.submit(where, entries, action="/leave").status_code == 303


def test_somebody_who_is_in_the_file_cannot_be_marked(client_as: ClientAs, small_sqlite: SmallService) -> None:
    ada = client_as("ada")
    where = ada.submit("/people/import", {"text": ROSTER}, action="/import").headers["Location"]
    refused = ada.submit(where, {"leaving": [small_sqlite.person_id("tor")], "password": PASSWORD}, action=where)
    assert (refused.status_code, "is in the file" in refused.text) == (422, True)
