"""The calendar of crews and its acts as pages: a hole on a Friday night, seen, mended and read by the crew."""

from __future__ import annotations

import io
from collections.abc import Callable
from datetime import timedelta
from itertools import count

import pytest
from sqlalchemy import func, select

from quizapp.content.library import Library
from quizapp.store.shifts import CrewShift, ShiftAnswer, ShiftMember
from tests.counted_statements import counted_statements
from tests.crewing import NIGHT, crews_file, entered, signed_off
from tests.many_people import add_clinicians
from tests.odd_addresses import ODD_IDS
from tests.small_service import PASSWORD, SmallService
from tests.web_app import JudgingClient

ClientAs = Callable[[str], JudgingClient]
ROW = "CAI,Helicopter,2026-03-06 19:00,2026-03-07 07:00"
REASON = "No flight is planned; the next base covers the road."


@pytest.fixture
def hole(small_sqlite: SmallService, library: Library) -> str:
    """Una is alone on a Friday night and not signed off; Mira and Tor are."""
    signed_off(small_sqlite, library, "mira", "tor")
    return entered(small_sqlite, library, "una")


def rows(small: SmallService, table: type) -> int:
    with small.database.reading() as session:
        return session.scalar(select(func.count()).select_from(table)) or 0


def test_the_calendar_counts_holes_first(client_as: ClientAs, small_sqlite: SmallService, hole: str) -> None:
    page = client_as("leif").get("/cover").text
    assert "One shift has nobody current at some minute." in page
    assert f'href="/cover/shift/{hole}"' in page
    assert 'class="shift none"' in page
    assert "Una" not in page.split("<main")[1]


def test_an_empty_calendar_says_so(client_as: ClientAs) -> None:
    assert "No shift is entered for these days." in client_as("leif").get("/cover").text
    assert "No shift is entered" in client_as("leif").get("/cover?from=2026-05-01").text
    assert client_as("leif").get("/cover?from=01/05/2026").status_code == 422


def test_the_shift_offers_four_ways_in_order(client_as: ClientAs, hole: str) -> None:
    page = client_as("leif").get(f"/cover/shift/{hole}").text
    assert "Nobody on Helicopter is current on this shift." in page
    places = [page.index(words) for words in (
        "Swap one of the crew", "Bring an assessor", "Restrict the device", "Accept it")]  # fmt: skip
    assert places == sorted(places)
    assert "Current and free then: Mira, Tor." in page
    assert "Una: P06 watched, about 12 min; a sitting is needed as well, for C5." in page


def test_a_swap_by_page(client_as: ClientAs, small_sqlite: SmallService, hole: str) -> None:
    leif, where = client_as("leif"), f"/cover/shift/{hole}"
    una, mira = small_sqlite.person_id("una"), small_sqlite.person_id("mira")
    refused = leif.submit(f"{where}/swap", {"out_id": una}, action="/swap")
    assert (refused.status_code, "Choose who comes." in refused.text) == (422, True)
    answer = leif.submit(f"{where}/swap", {"out_id": una, "in_id": mira, "reason": "asked by phone"}, action="/swap")
    assert (answer.status_code, answer.headers["Location"]) == (303, where)
    page = leif.get(where).text
    assert "Helicopter is covered, at some minute by one person only." in page
    assert "Mira for Una" in page
    assert "asked by phone" in page
    assert "The crew of Helicopter, 6 March 2026, 19:00 to 07:00 changed" in client_as("mira").get("/").text


def test_the_other_ways_by_page(client_as: ClientAs, small_sqlite: SmallService, hole: str) -> None:
    small, leif, where = small_sqlite, client_as("leif"), f"/cover/shift/{hole}"
    bring = {"person_id": small.person_id("una"), "assessor_id": small.person_id("tor"), "reason": "Thursday, 10:00"}
    assert leif.submit(f"{where}/assessor", bring, action="/assessor").status_code == 303
    restrict = {"authority_id": small.person_id("cleo"), "ends_at": "2026-03-07 03:00", "reason": REASON}
    assert leif.submit(f"{where}/restrict", {**restrict, "password": "no"}, action="/restrict").status_code == 422
    wrong = {**restrict, "ends_at": "7 March", "password": PASSWORD}
    assert "cannot be read as a time" in leif.submit(f"{where}/restrict", wrong, action="/restrict").text
    assert leif.submit(f"{where}/restrict", {**restrict, "password": PASSWORD}, action="/restrict").status_code == 303
    assert "current from 03:00 on 7 Mar 2026 to 07:00 on 7 Mar 2026" in leif.get(where).text
    accept = {"authority_id": small.person_id("ines"), "reason": REASON, "password": PASSWORD}
    assert leif.submit(f"{where}/accept", accept, action="/accept").status_code == 303
    assert "has nobody current at some minute, and this is seen to" in leif.get(where).text
    assert "Every shift is seen to." in leif.get("/cover").text
    with small.database.reading() as session:
        answer_id = session.scalars(select(ShiftAnswer.id).where(ShiftAnswer.kind == "accept")).one()
    address = f"{where}/answers/{answer_id}/take-back"
    assert leif.submit(address, {"reason": "Una has become free."}, action="/take-back").status_code == 303
    assert "by Leif" in leif.get(where).text


def test_the_crew_reads_it_on_the_first_page(client_as: ClientAs, small_sqlite: SmallService, hole: str) -> None:
    accept = {"authority_id": small_sqlite.person_id("ines"), "reason": REASON, "password": PASSWORD}
    client_as("leif").submit(f"/cover/shift/{hole}/accept", accept, action="/accept")
    page = client_as("una").get("/").text
    assert "Your next shifts" in page
    assert "Friday 6 March 2026, 19:00 to 07:00" in page
    assert f"Accepted by Ines: {REASON}" in page
    assert "Your next shifts" not in client_as("mira").get("/").text


def test_a_shift_by_hand(client_as: ClientAs, small_sqlite: SmallService, hole: str) -> None:
    leif = client_as("leif")
    new = {"base_id": small_sqlite.base_id, "crew": "Boat", "starts": "2026-03-08 07:00", "ends": "2026-03-08 19:00"}
    for lines, words in (("T-mira", "is not staff number"), ("T-nobody, doctor", "nobody here"),
                         ("T-mira, doctor, 2026-03-08 06:00, 2026-03-08 09:00", "within the shift")):  # fmt: skip
        refused = leif.submit("/cover/new", {**new, "members": lines}, action="/new")
        assert (refused.status_code, words in refused.text, lines in refused.text) == (422, True, True)
    lines = "T-mira, doctor, 2026-03-08 07:00, 2026-03-08 12:00\nT-tor, paramedic"
    where = leif.submit("/cover/new", {**new, "members": lines}, action="/new").headers["Location"]
    assert "Boat is covered, at some minute by one person only." in leif.get(where).text
    assert lines in leif.get(f"{where}/change").text
    assert leif.submit(f"{where}/change", {"members": "T-tor, paramedic"}, action="/change").status_code == 303
    assert leif.submit(f"{where}/remove", {}, action="/remove").status_code == 303
    assert leif.get(where).status_code == 404


def test_a_file_is_checked_then_taken(client_as: ClientAs, small_sqlite: SmallService, hole: str) -> None:
    leif = client_as("leif")
    bad = crews_file(f"{ROW},T-nobody,doctor", f"{ROW},T-mira,")
    refused = leif.submit("/cover/import", {"file": (io.BytesIO(bad), "crews.csv")}, action="/import")
    assert refused.status_code == 422
    assert "Line 2: staff_number: T-nobody: nobody here has this staff number" in refused.text
    assert "Line 3: role: write 1 to 60" in refused.text
    good = crews_file("CAI,Boat,2026-03-06 07:00,2026-03-06 19:00,T-mira,doctor").decode()
    where = leif.submit("/cover/import", {"text": good}, action="/import").headers["Location"]
    page = leif.get(where).text
    assert "This file adds 1 and changes 0 of the shifts." in page
    assert "Helicopter, Friday 6 March 2026, 19:00 to 07:00" in page
    assert rows(small_sqlite, CrewShift) == 1
    assert client_as("ines").get(where).status_code == 403
    assert leif.submit(where, {"remove": hole}, action=where).status_code == 303
    assert "Somebody current is on every shift." in leif.get("/cover").text
    assert rows(small_sqlite, ShiftMember) == 2


@pytest.mark.parametrize(("name", "status"), [("mira", 403), ("tor", 403), ("ada", 403), ("ines", 200), ("olaf", 404)])
def test_who_sees_a_shift(client_as: ClientAs, hole: str, name: str, status: int) -> None:
    assert client_as(name).get(f"/cover/shift/{hole}").status_code == status


def test_an_educator_sees_and_changes_nothing(client_as: ClientAs, hole: str) -> None:
    ines = client_as("ines")
    assert "Ways out" not in ines.get(f"/cover/shift/{hole}").text
    for page in ("swap", "assessor", "restrict", "accept", "change", "remove"):
        assert ines.get(f"/cover/shift/{hole}/{page}").status_code == 403


@pytest.mark.parametrize("odd", ODD_IDS)
def test_odd_addresses_are_refused(client_as: ClientAs, odd: str) -> None:
    assert client_as("leif").get(f"/cover/shift/{odd}").status_code in {400, 404, 422}


def test_300_shifts_take_as_many_statements_as_3(
    client_as: ClientAs, small_sqlite: SmallService, library: Library, hole: str
) -> None:
    leif, found, number = client_as("leif"), [], count()
    leif.get("/cover")
    for start, people in ((0, 3), (3, 297)):
        names = add_clinicians(small_sqlite, people, start=start)
        with small_sqlite.database.writing() as session:
            for name in names:
                shift_id = f"{next(number):032x}"
                session.add(
                    CrewShift(
                        id=shift_id, base_id=small_sqlite.base_id, crew=name, starts_at=NIGHT.start, ends_at=NIGHT.end,
                        confirmed_at=small_sqlite.now - timedelta(days=40), known_cover="none",
                        confirmed_by=small_sqlite.person_id("leif"), removed_at=None,
                    )
                )  # fmt: skip
                session.flush()
                session.add(
                    ShiftMember(
                        shift_id=shift_id, person_id=small_sqlite.person_id(name), crew_role="doctor",
                        from_at=NIGHT.start, until_at=NIGHT.end,
                    )
                )  # fmt: skip
        with counted_statements(small_sqlite.database) as statements:
            page = leif.get("/cover").text
        found.append(len(statements))
        assert page.count("stale</span>") == start + people
    assert found[0] == found[1]
