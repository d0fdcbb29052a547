"""kill -9 of the server while six clients answer questions: no acknowledged answer is lost, none is doubled."""

from __future__ import annotations

import sys
import time
from collections import Counter
from datetime import UTC, datetime
from pathlib import Path

import pytest
from sqlalchemy import func, select, text

from quizapp.assessment.audit_events import AuditEvent
from quizapp.content.library import Library
from quizapp.services.assign_assessment import assign_assessment
from quizapp.services.compose_assessment import Composition, Part, compose_assessment
from quizapp.services.sittings_of import asked_questions
from quizapp.services.start_sitting import start_sitting
from quizapp.services.verify_audit import verify_stored_chain
from quizapp.services.verify_records import verify_records
from quizapp.store.audit import AuditRow
from quizapp.store.sittings import Answer
from tests.commanded_service import seal_all
from tests.kill_loop import Client, kill_often, server
from tests.knowledge_forms import composed
from tests.sample_families import make_content_folder
from tests.small_service import SmallService
from tests.web_app import signed_in_cookie

PARTS = [Part(competency="C3", question_count=2), Part(competency="C5", question_count=4)]
PEOPLE = ("mira", "tor", "una")


@pytest.fixture
def clients(small_sqlite: SmallService, library: Library) -> list[Client]:
    """Six browsers: two sittings each of three people."""
    small = small_sqlite
    small.now = datetime.now(UTC)
    assessments = [composed(small, library, title="First", parts=PARTS), another(small, library)]
    made = []
    for name in PEOPLE:
        for assessment_id in assessments:
            with small.acting(name) as act:
                sitting_id = start_sitting(act, library, assessment_id)
                asked = asked_questions(act, sitting_id)
            units = {one.position: one.question.blanks[0].units[0] for one in asked if len(one.question.blanks) == 1}
            cookie = signed_in_cookie(small, name, lambda: small.now)
            made.append(Client(cookie=cookie, sitting_id=sitting_id, units=units))
    seal_all(small)
    return made


def another(small: SmallService, library: Library) -> str:
    """A second assessment of the same make, since there is one open sitting of a person for each."""
    with small.acting("ines") as act:
        made = Composition(title="Second", parts=PARTS, cut=2, cut_reason="as the first", profile_code="TV-A",
                           profile_revision=1)  # fmt: skip
        assessment_id = compose_assessment(act, library, made)
        assign_assessment(act, assessment_id, base_ids=[small.base_id])
    return assessment_id


def run(
    small: SmallService, clients: list[Client], folder: Path, *, kills: int, acks: tuple[int, int], early: bool = False
) -> None:
    content = make_content_folder(folder / "content")
    with server(small.database.url, content, clients, early=early) as starter:
        kill_often(starter, clients, kills=kills, acks=acks)


def kept(small: SmallService) -> Counter[str]:
    with small.database.reading() as session:
        return Counter(session.scalars(select(Answer.act_key)))


def judge(small: SmallService, clients: list[Client]) -> None:
    """Nothing acknowledged is missing, nothing is there twice, and every record fits the audit trail."""
    stored = kept(small)
    acknowledged = [key for client in clients for key in client.acknowledged]
    sent = {key for client in clients for key in client.sent}
    assert [key for key in acknowledged if key not in stored] == []
    assert [key for key, count in stored.items() if count > 1] == []
    assert set(stored) <= sent
    assert len(stored) - len(acknowledged) <= len(clients)
    assert [client.refused for client in clients] == [[]] * len(clients)
    with small.database.reading() as session:
        assert session.scalar(text("PRAGMA integrity_check")) == "ok"
        saved = select(func.count()).where(AuditRow.event == AuditEvent.ANSWER_SAVED.value)
        assert session.scalar(saved) == sum(stored.values())
        report = verify_stored_chain(session)
        assert report.faults == ()
        assert verify_records(session, report.seals)[1] == []


def test_twenty_kills_lose_and_double_nothing(
    small_sqlite: SmallService, clients: list[Client], tmp_path: Path
) -> None:
    run(small_sqlite, clients, tmp_path, kills=20, acks=(1, 12))
    judge(small_sqlite, clients)
    assert sum(len(client.acknowledged) for client in clients) >= 40


def test_the_loop_sees_a_server_that_acknowledges_too_early(
    small_sqlite: SmallService, clients: list[Client], tmp_path: Path
) -> None:
    run(small_sqlite, clients, tmp_path, kills=4, acks=(4, 8), early=True)
    stored = kept(small_sqlite)
    assert [key for client in clients for key in client.acknowledged if key not in stored] != []


@pytest.mark.soak
def test_a_thousand_kills_lose_and_double_nothing(
    small_sqlite: SmallService, clients: list[Client], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    began = time.monotonic()
    run(small_sqlite, clients, tmp_path, kills=1_000, acks=(5, 36))
    judge(small_sqlite, clients)
    acknowledged = sum(len(client.acknowledged) for client in clients)
    retried, took_s = sum(client.after_a_retry for client in clients), time.monotonic() - began
    with capsys.disabled():
        sys.stdout.write(
            f"\n1,000 kills, {acknowledged:,} acknowledged, {retried:,} of them after a retry, 0 lost, 0 doubled, "
            f"{took_s:.0f} s\n"
        )
    assert acknowledged >= 20_000
