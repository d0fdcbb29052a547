"""What a person is given of themselves: all of their own rows, nobody else's name, no secret, no key still in use."""

from __future__ import annotations

import json
import zipfile
from pathlib import Path

import pytest
from sqlalchemy import select

from quizapp.assessment.audit_events import AuditEvent
from quizapp.cli import main
from quizapp.content.library import Library
from quizapp.services.tell_person import SECRETS, tell_person
from quizapp.store import Record
from quizapp.store.audit import AuditRow
from quizapp.store.people import Person
from quizapp.store.sittings import SittingQuestion
from tests.answering import answer_with, begun_with
from tests.commanded_service import commanded
from tests.deciding import decide, show, with_standard
from tests.knowledge_forms import composed, handed_in
from tests.small_service import SmallService

CLOSED, OPEN = "K09", "N27"


@pytest.fixture
def full(small: SmallService, library: Library) -> SmallService:
    """Mira has sat a form with an open and a closed question, was observed, and was decided on."""
    with_standard(small, library)
    show(small, "C5")
    show(small, "C8", assessor="tor")
    assert library.family(CLOSED).use == "assessment"
    sitting_id = begun_with(small, library, composed(small, library), [OPEN, CLOSED, "N07"])
    with small.database.writing() as session:
        for row in session.scalars(select(SittingQuestion)):
            row.frozen = {**row.frozen, "keep": "canary-keep", "worked": "canary-worked"}
    for position in (1, 2, 3):
        answer_with(small, sitting_id, position)
    handed_in(small, sitting_id)
    decide(small, library)
    return small


def told_text(small: SmallService, name: str = "mira") -> tuple[str, dict[str, list[dict[str, object]]]]:
    with small.acting("ada") as act:
        number = act.session.scalars(select(Person.staff_number).where(Person.id == small.person_id(name))).one()
        told = tell_person(act, staff_number=number)
    return json.dumps([dict(told.tables), *told.acts], ensure_ascii=False), dict(told.tables)


def test_every_row_about_the_person_is_there(full: SmallService) -> None:
    _, tables = told_text(full)
    mira = full.person_id("mira")
    with full.database.reading() as session:
        for table in Record.metadata.sorted_tables:
            if "person_id" in table.columns and table.name not in {"signing_intent", "act_receipt",
                                                                   "competence_prediction"}:  # fmt: skip
                count = len(session.execute(select(table).where(table.columns["person_id"] == mira)).all())
                assert len(tables.get(table.name, [])) == count, table.name
    assert len(tables["answer"]) == len(tables["sitting_question"]) == 3
    assert tables["decision"]
    assert tables["person"][0]["name"] == "Mira"


def test_nobody_else_is_named_and_no_secret_is_told(full: SmallService) -> None:
    text, _ = told_text(full)
    with full.database.reading() as session:
        others = [person.name for person in session.scalars(select(Person)) if person.id != full.person_id("mira")]
    assert [name for name in others if f'"{name}"' in text or f" {name} " in text] == []
    assert not [secret for secret in SECRETS if f'"{secret}"' in text]
    assert "$argon2" not in text


def test_keys_stay_out_and_marks_of_questions_still_asked_are_kept_back(full: SmallService) -> None:
    text, tables = told_text(full)
    assert "canary" not in text
    by_question = {row["question_id"]: row["grade"] for row in tables["answer"]}
    by_family = {str(row["family"]): by_question[row["id"]] for row in tables["sitting_question"]}
    assert by_family[CLOSED] == "kept back until the window has closed"
    assert isinstance(by_family[OPEN], dict)


def test_it_stands_on_the_trail(full: SmallService) -> None:
    told_text(full)
    with full.database.reading() as session:
        assert session.scalars(select(AuditRow.event).order_by(AuditRow.seq.desc())).first() == AuditEvent.PERSON_TOLD


def test_by_command(
    small_sqlite: SmallService, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    commanded(small_sqlite, tmp_path, monkeypatch)
    with small_sqlite.database.reading() as session:
        number = session.get_one(Person, small_sqlite.person_id("mira")).staff_number
    target = tmp_path / "mira.zip"
    assert main(["people", "tell", number, str(target), "--as", "ada"]) == 0
    assert target.stat().st_mode & 0o777 == 0o600
    with zipfile.ZipFile(target) as archive:
        records = json.loads(archive.read("records.json"))
        page = archive.read("records.html").decode()
    assert records["tables"]["person"][0]["staff_number"] == number
    assert "Everything kept about Mira" in page
    assert "http" not in page.replace("http-equiv", "")
    capsys.readouterr()
    assert main(["people", "tell", number, str(target), "--as", "ada"]) == 1
    assert "Name another file" in capsys.readouterr().err
    assert main(["people", "tell", "nobody", str(tmp_path / "x.zip"), "--as", "ada"]) == 1
    assert main(["people", "tell", number, str(tmp_path / "x.zip"), "--as", "mira"]) == 1
    assert not (tmp_path / "x.zip").exists()
