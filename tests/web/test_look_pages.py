"""Asking how somebody stood, as a page, and reading who looked at one's own record."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from sqlalchemy import func, select

from quizapp.content.library import Library
from quizapp.store.record_looks import RecordLook
from tests.deciding import decide, show, with_standard
from tests.odd_addresses import ODD_IDS
from tests.small_service import SmallService
from tests.web_app import JudgingClient, form_of, values_of

ClientAs = Callable[[str], JudgingClient]
PURPOSE = "review of <b>a call</b> in March"


@pytest.fixture
def ruled(small_sqlite: SmallService, library: Library) -> SmallService:
    with_standard(small_sqlite, library)
    show(small_sqlite, "C5")
    show(small_sqlite, "C8", assessor="tor")
    decide(small_sqlite, library)
    return small_sqlite


def entries(small: SmallService, **changes: str) -> dict[str, str]:
    usual = {"person": small.person_id("mira"), "day": "2026-03-02", "time": "09:00", "purpose": PURPOSE}
    return {**usual, **changes}


def looks(small: SmallService) -> int:
    with small.database.reading() as session:
        return session.scalar(select(func.count()).select_from(RecordLook)) or 0


def test_from_the_question_to_the_person_reading_it(client_as: ClientAs, ruled: SmallService) -> None:
    mira = client_as("mira")
    assert "Nobody has looked at your record." in mira.get("/looks").text
    lead = client_as("leif")
    answer = lead.submit("/looks/ask", entries(ruled))
    assert answer.status_code == 303
    page = lead.get(str(answer.location)).text
    assert "Current until 2 March 2027 on TV-A revision 1." in page
    assert "known on 2 March 2026, 09:00" in page
    assert "the standing rests on it" in page
    assert "C5 seen" not in page
    mine = mira.get("/looks").text
    assert "1 person looked at your record, once in all." in mine
    assert "review of &lt;b&gt;a call&lt;/b&gt; in March" in mine
    assert "Leif" in mine
    assert looks(ruled) == 1


def test_an_educator_reads_what_the_evidence_says(client_as: ClientAs, ruled: SmallService) -> None:
    ines = client_as("ines")
    page = ines.get(str(ines.submit("/looks/ask", entries(ruled)).location)).text
    assert "C5 seen" in page
    assert "All parts were seen and shown." in page


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"purpose": "short"}, "Say for what, in 10 to 500 characters."),
        ({"day": "2026-03-03"}, "That minute is still to come."),
        ({"day": "03/02/2026"}, "day and month could be exchanged"),
        ({"time": "25:00"}, "There is no time 25:00"),
        ({"day": "2025-03-30", "time": "01:30"}, "2025-03-30"),
        ({"person": "0" * 32}, "Not a valid choice"),
    ],
)
def test_what_cannot_be_asked_is_said_and_nothing_is_written(
    client_as: ClientAs, ruled: SmallService, changes: dict[str, str], said: str
) -> None:
    refused = client_as("leif").submit("/looks/ask", entries(ruled, **changes))
    assert refused.status_code == 422
    assert said in refused.text
    assert looks(ruled) == 0


def test_the_same_question_sent_twice_is_one_look(client_as: ClientAs, ruled: SmallService) -> None:
    lead = client_as("leif")
    data = {**values_of(form_of(lead.get("/looks/ask").text)), **entries(ruled)}
    first, second = (lead.post("/looks/ask", data=data) for _ in range(2))
    assert first.location == second.location
    assert looks(ruled) == 1


def test_opening_the_pages_about_somebody_is_written_down_too(client_as: ClientAs, ruled: SmallService) -> None:
    ines, mira = client_as("ines"), ruled.person_id("mira")
    for path in (f"/decisions/{mira}", f"/standing/{mira}", f"/standing/{mira}"):
        assert ines.get(path).status_code == 200
    client_as("mira").get(f"/standing/{mira}")
    assert client_as("olaf").get(f"/standing/{mira}").status_code == 404
    assert looks(ruled) == 2
    mine = client_as("mira").get("/looks").text
    assert "Your evidence, for a decision" in mine
    assert "no other purpose was stated" in mine


@pytest.mark.parametrize("odd", ODD_IDS)
def test_odd_ids_are_no_questions(client_as: ClientAs, ruled: SmallService, odd: str) -> None:
    assert client_as("leif").get(f"/looks/{odd}").status_code in {404, 308, 400}
    assert client_as("leif").get("/looks/ask", query_string={"person": odd[:100]}).status_code in {200, 422}
