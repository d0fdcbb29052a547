"""My evidence as a page: everything written about oneself, who wrote it, and nobody else's."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest

from quizapp.assessment.sign_off import EvidenceKind
from quizapp.content.library import Library
from quizapp.store.evidence import Evidence
from tests.counted_statements import counted_statements
from tests.deciding import REASON, decide, show, with_standard
from tests.knowledge_forms import answer, begun, composed, handed_in, practice, questions, right_text
from tests.small_service import SmallService
from tests.web_app import JudgingClient

ClientAs = Callable[[str], JudgingClient]
CAUTION = "Training and assessment only. Not for use while caring for a patient."


def test_nothing_yet_says_where_it_starts(client_as: ClientAs) -> None:
    page = client_as("mira").get("/my-evidence")
    assert "There is no evidence on your record yet." in page.text
    assert CAUTION in page.text
    assert page.headers["Cache-Control"] == "no-store"


def test_evidence_and_decisions_with_names_and_receipt(
    client_as: ClientAs, small_sqlite: SmallService, library: Library
) -> None:
    with_standard(small_sqlite, library)
    show(small_sqlite, "C5")
    show(small_sqlite, "C8", assessor="tor")
    decide(small_sqlite, library)
    text = client_as("mira").get("/my-evidence").text
    assert "2 pieces of evidence are on your record." in text
    for word in ("C8 seen", "Tor", "own sitting", REASON, "Ines", "2 Mar 2027", "decided here"):
        assert word in text
    assert re.search(r"receipt [0-9a-f]{16}", text)


def test_a_sitting_leads_to_its_result(client_as: ClientAs, small_sqlite: SmallService, library: Library) -> None:
    sitting_id = begun(small_sqlite, library, composed(small_sqlite, library))
    handed_in(small_sqlite, sitting_id)
    client = client_as("mira")
    assert followed(client) == [200, 200]


def followed(client: JudgingClient) -> list[int]:
    """Where the links to sittings lead."""
    links = re.findall(r'href="(/sitting/[^"]+)"', client.get("/my-evidence").text)
    return [client.get(link).status_code for link in links]


def test_a_danger_cleared_in_practice_leads_nowhere_closed(
    client_as: ClientAs, small_sqlite: SmallService, library: Library
) -> None:
    """The practice that cleared it is still open, so it has no result to look at."""
    sitting_id = begun(small_sqlite, library, composed(small_sqlite, library, cut=1))
    (oxygen,) = [one for one in questions(small_sqlite, sitting_id) if one.competency == "C3"]
    answer(small_sqlite, sitting_id, oxygen.position, f"{oxygen.question.blanks[0].key * 2:.1f}")
    handed_in(small_sqlite, sitting_id)
    twin = practice(small_sqlite, library, oxygen.question.family)
    answer(small_sqlite, twin, 1, right_text(questions(small_sqlite, twin)[0].question))
    client = client_as("mira")
    assert f"{oxygen.question.family} answered right with new numbers." in client.get("/my-evidence").text
    assert set(followed(client)) == {200}


def test_nobody_sees_another_persons_evidence(
    client_as: ClientAs, small_sqlite: SmallService, library: Library
) -> None:
    with_standard(small_sqlite, library)
    show(small_sqlite, "C8", assessor="tor")
    for name in ("tor", "ines", "leif", "ada"):
        assert "C8 seen" not in client_as(name).get("/my-evidence").text


def test_summaries_are_shown_as_text(client_as: ClientAs, small_sqlite: SmallService) -> None:
    write(small_sqlite, 1, summary="<script>alert(1)</script>")
    assert "<script>alert" not in client_as("mira").get("/my-evidence").text


@pytest.mark.parametrize("kind", [EvidenceKind.RECOGNISED, EvidenceKind.DISCUSSION])
def test_evidence_that_is_no_sitting_is_not_said_to_be_one(
    client_as: ClientAs, small_sqlite: SmallService, kind: EvidenceKind
) -> None:
    write(small_sqlite, 1, kind=kind)
    assert "own sitting" not in client_as("mira").get("/my-evidence").text


def test_300_pieces_take_as_many_statements_as_3(client_as: ClientAs, small_sqlite: SmallService) -> None:
    client = client_as("mira")
    client.get("/my-evidence")
    found = []
    for number in (3, 297):
        write(small_sqlite, number)
        with counted_statements(small_sqlite.database) as statements:
            page = client.get("/my-evidence").text
        found.append(len(statements))
    assert page.count("One of many") == 300
    assert found[0] == found[1]


def write(
    small: SmallService, number: int, *, summary: str = "One of many", kind: EvidenceKind = EvidenceKind.SITTING
) -> None:
    with small.acting("cleo") as act:
        act.session.add_all(
            Evidence(
                id=act.randomness.new_id(), person_id=small.person_id("mira"), competency="C5", kind=kind.value,
                source_id=act.randomness.new_id(), procedure=None, outcome="shown", summary=summary,
                counts_for_sign_off=True, profile_code="TV-A", profile_revision=1, assessor_id=None, details={},
                happened_at=act.now, recorded_at=act.now,
            )
            for _ in range(number)
        )  # fmt: skip
