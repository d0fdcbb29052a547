"""Readiness as a page and as a file: only one's own bases, counted once, and a file that opens harmlessly."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Callable
from datetime import timedelta

import pytest
from sqlalchemy import func, select

from quizapp.content.library import Library
from quizapp.store.audit import AuditRow
from quizapp.store.kept_standings import KeptStanding
from quizapp.store.people import Person
from quizapp.store.places import Place, SessionDay
from tests.counted_statements import counted_statements
from tests.crewing import entered
from tests.deciding import decide, show, with_standard
from tests.many_people import add_clinicians
from tests.odd_addresses import ODD_IDS
from tests.small_service import SmallService
from tests.web_app import JudgingClient, form_of, values_of

ClientAs = Callable[[str], JudgingClient]
CAUTION = "Training and assessment only. Not for use while caring for a patient."


@pytest.fixture
def ruled(small_sqlite: SmallService, library: Library) -> SmallService:
    """Mira is signed off, Tor and Una are not."""
    with_standard(small_sqlite, library)
    show(small_sqlite, "C5")
    show(small_sqlite, "C8", assessor="tor")
    decide(small_sqlite, library)
    return small_sqlite


def exported(client: JudgingClient, **entries: str) -> list[dict[str, str]]:
    answer = client.submit("/readiness", entries, action="/readiness/csv")
    assert answer.status_code == 200
    assert answer.headers["Content-Type"] == "text/csv; charset=utf-8"
    assert answer.headers["Content-Disposition"] == 'attachment; filename="readiness-2026-03-02.csv"'
    assert answer.headers["Cache-Control"] == "no-store"
    assert answer.headers["X-Content-Type-Options"] == "nosniff"
    return list(csv.DictReader(io.StringIO(answer.text, newline="")))


def test_who_is_current_and_who_is_not(client_as: ClientAs, ruled: SmallService) -> None:
    page = client_as("leif").get("/readiness")
    assert "1 of 3 is current; 2 not yet signed off." in page.text
    assert "Not yet signed off on TV-A revision 1: C5, C8 still open." in page.text
    assert CAUTION in page.text
    assert page.headers["Cache-Control"] == "no-store"


def test_a_base_without_people_or_standard_is_said_in_words(client_as: ClientAs) -> None:
    assert "0 of 3 are current; 3 not yet signed off." in client_as("leif").get("/readiness").text
    assert "0 of 1 are current; 1 not yet signed off." in client_as("olaf").get("/readiness").text


def test_the_file_says_the_same(client_as: ClientAs, ruled: SmallService) -> None:
    rows = exported(client_as("leif"))
    assert [row["name"] for row in rows] == ["Mira", "Tor", "Una"]
    assert [row["standing"] for row in rows] == ["current", "not yet signed off", "not yet signed off"]
    assert rows[0]["first_last_valid_day"] == "2027-03-02"
    assert rows[0]["C8"] == "current 2027-03-02 TV-A revision 1"
    assert list(rows[0])[-2:] == ["C5", "C8"]


@pytest.mark.parametrize("name", ["=1+1", "+1", "-1", "@sum", "\t=1", "\r=1", "＝1", 'a "quoted", name', "two\nlines"])
def test_no_name_becomes_a_formula(client_as: ClientAs, ruled: SmallService, name: str) -> None:
    """What a spreadsheet would run is disarmed; RFC 4180 quoting brings everything else back unchanged."""
    with ruled.database.writing() as session:
        session.get_one(Person, ruled.person_id("mira")).name = name
    found = [row["name"] for row in exported(client_as("leif")) if row["standing"] == "current"]
    assert len(found) == 1
    assert found[0][0] not in "=+-@\t\r＝"
    assert found[0].lstrip("'").strip() == name.strip()


def test_taking_it_away_is_noted(client_as: ClientAs, ruled: SmallService) -> None:
    exported(client_as("leif"))
    with ruled.database.reading() as session:
        events = list(session.scalars(select(AuditRow.event)))
    assert events.count("list_exported") == 1


@pytest.mark.parametrize(("name", "status"), [("mira", 403), ("tor", 403), ("ada", 403), ("ines", 200), ("leif", 200)])
def test_who_may_see_it(client_as: ClientAs, ruled: SmallService, name: str, status: int) -> None:
    client = client_as(name)
    assert client.get("/readiness").status_code == status
    sent = values_of(form_of(client.get("/practice").text, "/practice"))
    assert client.post("/readiness/csv", data=sent).status_code == status


def test_another_base_is_not_found(client_as: ClientAs, ruled: SmallService) -> None:
    client = client_as("leif")
    assert client.get(f"/readiness?base={ruled.base_id}").status_code == 200
    assert client.get(f"/readiness?base={ruled.other_base_id}").status_code == 404
    sent = values_of(form_of(client.get("/readiness").text, "/readiness/csv"))
    assert client.post("/readiness/csv", data={**sent, "base": ruled.other_base_id}).status_code == 404


@pytest.mark.parametrize("odd", ODD_IDS)
def test_odd_bases_are_refused(client_as: ClientAs, odd: str) -> None:
    assert client_as("leif").get(f"/readiness?base={odd}").status_code in {404, 422}


def test_a_change_by_get_is_not_possible(client_as: ClientAs) -> None:
    assert client_as("leif").get("/readiness/csv").status_code == 405


def test_300_people_take_as_many_statements_as_3(client_as: ClientAs, ruled: SmallService) -> None:
    client = client_as("leif")
    client.get("/readiness")
    found = []
    for start, number in ((0, 3), (3, 297)):
        add_clinicians(ruled, number, start=start)
        with counted_statements(ruled.database) as statements:
            page = client.get("/readiness").text
        found.append(len(statements))
    assert len(re.findall(r'<th scope="row">Clinician \d+<', page)) == 300
    assert found[0] == found[1]


def test_shifts_come_first_and_the_rest_in_its_order(
    client_as: ClientAs, ruled: SmallService, library: Library
) -> None:
    hole = entered(ruled, library, "una")
    entered(ruled, library, "mira", crew="Boat")
    page = client_as("leif").get("/readiness").text
    assert "One shift has nobody current at some minute." in page
    assert "1 of 2 shifts in the next 14 days are covered, 1 of them by one person only." in page
    assert f'class="act pen" href="/cover/shift/{hole}"' in page
    heads = [page.index(f'id="{part}"') for part in ("shifts", "not-current", "competencies", "heads", "ahead")]
    assert heads == sorted(heads)


def test_without_shifts_it_says_that_cover_cannot_be_told(client_as: ClientAs, ruled: SmallService) -> None:
    assert (
        "No shift is entered for the next 14 days, so cover cannot be told." in client_as("leif").get("/readiness").text
    )


def test_the_forecast_with_and_without_places(
    client_as: ClientAs, ruled: SmallService, library: Library, clock: Callable[[], object]
) -> None:
    """300 days on Mira has 65 days left; Una, never signed off, holds a place in ten days: 1 + 0.9 in 90 days."""
    leif = client_as("leif")
    assert "No place is held in the next 90 days" in leif.get("/readiness").text
    held_on = ruled.now.date() + timedelta(days=10)
    with ruled.database.writing() as session:
        session.add(SessionDay(
            id="5" * 32, base_id=ruled.base_id, held_on=held_on, starts_at="09:00", ends_at="12:00", about="P06",
            capacity=2, takes_bookings=True, created_by=ruled.person_id("leif"), created_at=ruled.now,
            changed_at=ruled.now, sequence=0,
        ))  # fmt: skip
        session.flush()
        session.add(Place(
            id="6" * 32, session_day_id="5" * 32, person_id=ruled.person_id("una"), seat=1, is_fallback=False,
            booked_by=ruled.person_id("leif"), booked_at=ruled.now, changed_at=ruled.now, sequence=0,
        ))  # fmt: skip
    page = leif.get("/readiness").text
    assert "1 person holds a place." in page
    assert "Place held on 12 Mar 2026." in page
    assert re.search(r"31 May 2026</th><td class=\"n\">1 of 3</td><td class=\"n\">1.9</td><td class=\"n\">2<", page)
    assert re.search(r">2</th><td class=\"n\">90 in 100</td><td class=\"n\">no</td>", page)
    assert re.search(r">1</th><td class=\"n\">10 in 100</td><td class=\"n\">certain</td>", page)


def test_all_bases_are_counted_and_kept(client_as: ClientAs, ruled: SmallService) -> None:
    page = client_as("leif").get("/readiness/all").text
    assert "1 of 3 at 1 base is current." in page
    assert "2 not yet signed off" in page
    assert "Skerrandy" not in page
    with ruled.database.reading() as session:
        assert session.scalar(select(func.count()).select_from(KeptStanding)) == 3
    assert "1 of 3 at 1 base is current." in client_as("leif").get("/readiness/all").text
