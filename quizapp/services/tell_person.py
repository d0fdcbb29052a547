"""Everything kept about one person, for that person: each row that names them and each row that hangs from one.

Names of others, secrets, and what lies behind questions that others still have to answer stay out.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from sqlalchemy import Column, Table, select
from sqlalchemy.orm import Session

from quizapp.assessment.audit_events import AuditEvent
from quizapp.assessment.permissions import Right
from quizapp.assessment.sitting_purpose import SittingPurpose
from quizapp.errors import NotFound
from quizapp.services.act import Act
from quizapp.services.audit_trail import record
from quizapp.services.export_audit import acts_of
from quizapp.services.require_right import require_right
from quizapp.store import Record
from quizapp.store.assessments import Assessment
from quizapp.store.people import Person
from quizapp.store.sittings import Sitting

JsonRow = dict[str, Any]
SECRETS = frozenset(
    {"password_hash", "token_hash", "code_hash", "secret_hash", "sealed_secret", "sealed_seed", "seed", "act_key"}
)
BEHIND_A_QUESTION = frozenset({"grade", "corrected"})
"""Columns that say whether an answer was right, kept back while a question of that design may still be asked."""

NOT_TOLD = frozenset({"signing_intent", "act_receipt", "competence_prediction"})
"""Tables of the program's own business: half-made acts, and forecasts stored to judge the estimate."""

ROW_LIMIT = 400
"""Ids looked for in one statement."""


@dataclass(frozen=True, kw_only=True)
class Told:
    """One person's records: rows by table, in the order of the tables, and every act by or about them."""

    name: str
    staff_number: str
    told_at: datetime
    tables: Mapping[str, list[JsonRow]]
    acts: tuple[JsonRow, ...]


def tell_person(act: Act, *, staff_number: str) -> Told:
    """Put one person's records together; raises NotFound. The act stands on the audit trail, where they can see it."""
    require_right(act, Right.MANAGE_ACCOUNTS)
    person = act.session.scalar(select(Person).where(Person.staff_number == staff_number))
    if person is None:
        raise NotFound(f"Nobody has the staff number {staff_number!r}. Nothing was written.")
    found = {"person": _rows(act.session, Person.__table__, "id", [person.id])}  # type: ignore[arg-type]
    for table in Record.metadata.sorted_tables:
        if table.name not in NOT_TOLD and "person_id" in table.columns:
            found[table.name] = _rows(act.session, table, "person_id", [person.id])
    _add_what_hangs(act.session, found)
    _keep_back(act.session, found)
    record(act, AuditEvent.PERSON_TOLD, "person", person.id, person_id=person.id)
    told = acts_of(act.session, staff_number=staff_number, names_others=False)
    return Told(
        name=person.name,
        staff_number=staff_number,
        told_at=act.now,
        tables={name: [_plain(row) for row in rows] for name, rows in found.items() if rows},
        acts=tuple({"at": one.at.isoformat(), "said": one.said} for one in told),
    )


def _rows(session: Session, table: Table, column: str, values: Iterable[str]) -> list[JsonRow]:
    wanted, rows = list(values), []
    for start in range(0, len(wanted), ROW_LIMIT):
        chosen = select(table).where(table.columns[column].in_(wanted[start : start + ROW_LIMIT]))
        rows += [dict(row) for row in session.execute(chosen).mappings()]
    return rows


def _add_what_hangs(session: Session, found: dict[str, list[JsonRow]]) -> None:
    """Add the rows of tables without a person of their own that belong to rows found before, parents first."""
    for table in Record.metadata.sorted_tables:
        parent = _parent_of(table)
        if table.name in found or table.name in NOT_TOLD or parent is None:
            continue
        ids = [row["id"] for row in found.get(parent.foreign_table, [])]
        found[table.name] = _rows(session, table, parent.column, ids)


@dataclass(frozen=True, kw_only=True)
class _Parent:
    column: str
    foreign_table: str


def _parent_of(table: Table) -> _Parent | None:
    """The row this one is a part of: the first foreign key of a table that names no person itself."""
    owners = {"account_id", "sitting_id", "question_id", "observation_id", "take_away_id", "path_id"}
    columns: list[Column[Any]] = [column for column in table.columns if column.name in owners and column.foreign_keys]
    if not columns:
        return None
    return _Parent(column=columns[0].name, foreign_table=next(iter(columns[0].foreign_keys)).column.table.name)


def _keep_back(session: Session, found: dict[str, list[JsonRow]]) -> None:
    """Take out keys and reasons always, and whether an answer was right where the window is still open."""
    still_asked = set(
        session.scalars(
            select(Sitting.id)
            .join(Assessment, Assessment.id == Sitting.assessment_id)
            .where(Sitting.purpose != SittingPurpose.PRACTICE.value, Assessment.closed_at.is_(None))
        )
    )
    for question in found.get("sitting_question", []):
        frozen = question.pop("frozen")
        question["asked"] = frozen.get("stem", "")
        question["kept_back"] = question["sitting_id"] in still_asked and frozen.get("use") != "open"
    kept_back = {one["id"] for one in found.get("sitting_question", []) if one["kept_back"]}
    for name in ("answer", "remarked_question"):
        for row in found.get(name, []):
            if row["question_id"] in kept_back:
                row.update(dict.fromkeys(BEHIND_A_QUESTION & row.keys(), "kept back until the window has closed"))


def _plain(row: JsonRow) -> JsonRow:
    """The row without secrets, as JSON values."""
    return {name: _value(value) for name, value in row.items() if name not in SECRETS}


def _value(value: Any) -> Any:
    if isinstance(value, (datetime, date)):
        return value.isoformat()
    if isinstance(value, bytes):
        return _bytes(value)
    return format(value, "f") if isinstance(value, Decimal) else value


def _bytes(value: bytes) -> str:
    """What was shown at a signature is text; the estimate's numbers are given as hex digits."""
    try:
        return value.decode()
    except UnicodeDecodeError:
        return value.hex()
