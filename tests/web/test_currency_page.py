"""My currency as a page: one sentence that is true, one thing to do next, and nothing for those who need none."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import timedelta

import pytest
from sqlalchemy import select, text
from sqlalchemy.orm import Session

from quizapp.assessment.standing_event_kind import StandingEventKind
from quizapp.content.library import Library
from quizapp.services.change_standing import StandingChange, change_standing
from quizapp.store.decisions import Decision
from quizapp.store.people import Service
from tests.conftest import StandingClock
from tests.deciding import decide, requirement, show, with_standard
from tests.knowledge_forms import begun, composed
from tests.small_service import SmallService
from tests.web_app import JudgingClient

ClientAs = Callable[[str], JudgingClient]
CAUTION = "Training and assessment only. Not for use while caring for a patient."
HEADING = re.compile(r"<h1[^>]*>(.*?)</h1>", re.DOTALL)


def finding(client: JudgingClient) -> str:
    page = client.get("/")
    found = HEADING.search(page.text)
    assert found
    return found[1]


@pytest.fixture
def signed_off(small_sqlite: SmallService, library: Library) -> SmallService:
    """Mira is signed off in C5 and C8, both until 2 March 2027."""
    with_standard(small_sqlite, library)
    show(small_sqlite, "C5")
    show(small_sqlite, "C8", assessor="tor")
    decide(small_sqlite, library)
    return small_sqlite


def ends(small: SmallService, days: int, *competencies: str) -> None:
    """Let these sign-offs (without more: all) end so many days from now, behind the back of the database's refusal."""
    with small.database.writing() as session, without_triggers(session, "decision"):
        for decision in session.scalars(select(Decision)):
            if competencies and decision.competency not in competencies:
                continue
            decision.valid_from -= timedelta(days=100)
            decision.last_valid_day = (small.now + timedelta(days=days)).date()
        session.flush()


@contextmanager
def without_triggers(session: Session, table: str) -> Iterator[None]:
    """Take the refusals of a SQLite table away, and put them back."""
    named = text("select name, sql from sqlite_master where type = 'trigger' and tbl_name = :table")
    triggers = session.execute(named, {"table": table}).all()
    for name, _ in triggers:
        session.execute(text(f"drop trigger {name}"))
    yield
    for _, statement in triggers:
        session.execute(text(statement))


def test_current_with_nothing_due_offers_practice(client_as: ClientAs, signed_off: SmallService) -> None:
    client = client_as("mira")
    assert finding(client) == "Current until 2 March 2027 on TV-A revision 1."
    page = client.get("/")
    assert "Nothing is due." in page.text
    assert CAUTION in page.text
    assert page.headers["Cache-Control"] == "no-store"
    assert page.headers["Content-Security-Policy"].startswith("default-src 'none'")


def test_lapsing_says_how_many_days_and_not_what_ends_first_where_all_end_together(
    client_as: ClientAs, signed_off: SmallService
) -> None:
    ends(signed_off, 6)
    assert finding(client_as("mira")) == "Current until 8 March 2026 on TV-A revision 1: 6 days left."


def test_what_ends_first_is_named(client_as: ClientAs, signed_off: SmallService) -> None:
    ends(signed_off, 6, "C8")
    assert finding(client_as("mira")).endswith(": 6 days left, C8 ends first.")


@pytest.mark.parametrize(
    ("days", "words"),
    [(0, "today is the last day"), (1, "1 day left"), (60, "60 days left"), (61, ""), (-1, "Lapsed")],
)
def test_the_last_valid_day_counts_and_the_next_one_does_not(
    client_as: ClientAs, signed_off: SmallService, days: int, words: str
) -> None:
    ends(signed_off, days)
    assert words in finding(client_as("mira"))


def test_never_signed_off_leads_to_the_first_thing_to_show(
    client_as: ClientAs, small_sqlite: SmallService, library: Library
) -> None:
    with_standard(small_sqlite, library)
    client = client_as("mira")
    assert finding(client) == "Not yet signed off on TV-A revision 1: C5, C8 still open."
    assert "/practice?competency=C5" in client.get("/").text


def test_a_form_given_comes_first_and_can_be_gone_on_with(
    client_as: ClientAs, signed_off: SmallService, library: Library
) -> None:
    assessment_id = composed(signed_off, library)
    client = client_as("mira")
    assert "3 questions, about 4 minutes." in client.get("/").text
    sitting_id = begun(signed_off, library, assessment_id)
    page = client.get("/").text
    assert "Go on where you were" in page
    assert f"/sitting/{sitting_id}" in page
    assert page.count('class="act pen"') == 1


def test_a_restriction_shows_its_conditions(client_as: ClientAs, signed_off: SmallService) -> None:
    with signed_off.acting("ines") as act:
        change = StandingChange(
            kind=StandingEventKind.RESTRICTED, from_day=act.today, until_day=act.today + timedelta(days=30),
            reason="Works with a current colleague",
        )  # fmt: skip
        change_standing(act, signed_off.person_id("mira"), change)
    page = client_as("mira").get("/").text
    assert "Restricted until 1 April 2026: Works with a current colleague." in page


def test_somebody_who_is_no_clinician_is_not_told_to_show_anything(
    client_as: ClientAs, small_sqlite: SmallService, library: Library
) -> None:
    with_standard(small_sqlite, library)
    for name in ("ada", "leif", "ines"):
        client = client_as(name)
        assert finding(client) == "Nothing is required of you."
        text = client.get("/").text
        assert "not yet signed off" not in text
        assert "watched by an assessor" not in text


def test_without_a_standard_the_page_says_who_sets_it(client_as: ClientAs) -> None:
    assert "Your educator sets the standard; then your path starts here." in client_as("mira").get("/").text


def test_competencies_stand_in_the_order_of_their_numbers(
    client_as: ClientAs, small_sqlite: SmallService, library: Library
) -> None:
    with_standard(small_sqlite, library, *(requirement(f"C{number}", knowledge=True) for number in range(1, 11)))
    text = client_as("mira").get("/").text
    assert "C1, C2, C3, C4, C5, C6, C7, C8, C9, C10 still open." in text
    rows = re.findall(r'href="/my-evidence#(C\d+)"', text)
    assert rows == [f"C{number}" for number in range(1, 11)]


def test_in_the_demo_every_page_says_that_it_is_invented(client_as: ClientAs, small_sqlite: SmallService) -> None:
    with small_sqlite.database.writing() as session:
        session.scalars(select(Service)).one().is_demo = True
    for address in ("/", "/practice", "/my-evidence", "/sitting/nothing"):
        assert "Invented for the demo" in client_as("mira").get(address).text


def test_a_session_that_idled_out_leads_to_sign_in_and_back(
    client_as: ClientAs, small_sqlite: SmallService, clock: StandingClock
) -> None:
    client = client_as("mira")
    clock.advance(timedelta(minutes=31))
    assert client.get("/", headers={"Accept": "text/html"}).location == "/sign-in?next=/"
