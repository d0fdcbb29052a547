"""Which records a writing unit changed, and the salted hash of each, to be put on the audit chain.

The salt is made anew at each change and stands in one place only: once a record is changed or erased, the hashes of
what it said before cannot be tried out any more.
"""

from __future__ import annotations

import secrets
from collections.abc import Iterable, Iterator, Sequence
from datetime import UTC, date, datetime
from functools import cache
from typing import Any

from sqlalchemy import (
    Boolean,
    Column,
    Date,
    Integer,
    String,
    Table,
    Text,
    bindparam,
    delete,
    event,
    inspect,
    select,
    tuple_,
    type_coerce,
)
from sqlalchemy.dialects import postgresql, sqlite
from sqlalchemy.orm import Mapped, ORMExecuteState, Session, UOWTransaction, mapped_column

from quizapp.assessment.record_hashes import SALT_BYTES, FieldValue, row_hash
from quizapp.store.columns import STORED_TIME, DecimalText, JsonText, UtcDateTime
from quizapp.store.model import Record

# Rows of the moment, the chain itself, and what can be rebuilt from records; every other table is a record.
NOT_SEALED = frozenset(
    {
        "audit", "audit_head", "record_seal", "session", "sign_in_throttle", "account_invitation", "act_receipt",
        "signing_intent", "import_draft", "competence_state", "notice", "kept_standing",
    }
)  # fmt: skip
CHANGED = "changed records"
KEYS_AT_ONCE = 400


class RecordSeal(Record):
    """The salt of one record's newest hash; the hash itself stands on the audit chain."""

    __tablename__ = "record_seal"

    record_table: Mapped[str] = mapped_column(String(64), primary_key=True)
    record_key: Mapped[str] = mapped_column(String(255), primary_key=True)
    salt: Mapped[str] = mapped_column(String(32))


class WritingSession(Session):
    """A session that remembers which records it changed."""


def sealed_tables() -> list[Table]:
    """Return the tables whose rows are sealed, in the order of their names."""
    return [table for name, table in sorted(Record.metadata.tables.items()) if name not in NOT_SEALED]


def _note(session: Session, table: str, keys: Iterable[Sequence[Any]]) -> None:
    if table not in NOT_SEALED:
        changed: dict[str, dict[tuple[Any, ...], None]] = session.info.setdefault(CHANGED, {})
        changed.setdefault(table, {}).update((tuple(key), None) for key in keys)


@event.listens_for(WritingSession, "after_flush")
def _note_flushed(session: Session, _context: UOWTransaction) -> None:
    dirty = (one for one in session.dirty if session.is_modified(one))
    for one in (*session.new, *dirty, *session.deleted):
        state = inspect(one)
        _note(session, state.mapper.local_table.name, [state.mapper.primary_key_from_instance(one)])


@event.listens_for(WritingSession, "do_orm_execute")
def _note_statement(state: ORMExecuteState) -> None:
    """Note what an insert, update or delete names by keys or finds by its condition, before it runs."""
    if not (state.is_insert or state.is_update or state.is_delete):
        return
    statement: Any = state.statement
    table, condition = statement.table, getattr(statement, "whereclause", None)
    if table.name in NOT_SEALED:
        return
    names = [column.name for column in table.primary_key.columns]
    rows = state.parameters if isinstance(state.parameters, list) else [state.parameters or statement.compile().params]
    if condition is not None:
        _note(state.session, table.name, [tuple(row) for row in state.session.execute(_keys_where(table, condition))])
    elif all(name in row for row in rows for name in names):
        _note(state.session, table.name, [[row[name] for name in names] for row in rows])
    else:
        raise NotImplementedError(f"a change of {table.name} must name its rows, or they cannot be sealed")


def _keys_where(table: Table, condition: Any) -> Any:
    return select(*table.primary_key.columns).where(condition)


def take_seals(session: Session) -> list[tuple[str, str, str]]:
    """Return (table, key, hash in hex) for each record changed since the last call; the hash is "" for one removed.

    Flushes first and keeps the new salts. Only a session of `Database.writing` knows what it changed.
    """
    session.flush()
    changed = session.info.pop(CHANGED, {})
    seals: list[tuple[str, str, str]] = []
    for name, keys in changed.items():
        table = Record.metadata.tables[name]
        for some in _in_parts(list(keys)):
            seals += _seal(session, table, some)
    return seals


def _seal(session: Session, table: Table, keys: list[tuple[Any, ...]]) -> Iterator[tuple[str, str, str]]:
    found = dict(_rows_of(session, table, keys))
    names = [key_text(key) for key in keys]
    salts = {name: secrets.token_bytes(SALT_BYTES) for name in names if name in found}
    _keep_salts(session, table.name, salts)
    if gone := [name for name in names if name not in found]:
        where = (RecordSeal.record_table == table.name, RecordSeal.record_key.in_(gone))
        session.execute(delete(RecordSeal).where(*where))
    for name in names:
        sealed = row_hash(table.name, found[name], salt=salts[name]).hex() if name in found else ""
        yield table.name, name, sealed


def _keep_salts(session: Session, table: str, salts: dict[str, bytes]) -> None:
    if not salts:
        return
    keep = _keeping(session.get_bind().dialect.name)
    rows = [{"record_table": table, "record_key": key, "salt": salt.hex()} for key, salt in salts.items()]
    session.connection().execute(keep, rows)


@cache
def _keeping(dialect: str) -> Any:
    """The statement that keeps a salt over the one before; made once, since it is needed at every act."""
    first = postgresql.insert(RecordSeal) if dialect == "postgresql" else sqlite.insert(RecordSeal)
    return first.on_conflict_do_update(
        index_elements=["record_table", "record_key"], set_={"salt": first.excluded.salt}
    )


def _rows_of(
    session: Session, table: Table, keys: list[tuple[Any, ...]]
) -> Iterator[tuple[str, dict[str, FieldValue]]]:
    single = len(table.primary_key.columns) == 1
    named = [key[0] for key in keys] if single else [tuple(key) for key in keys]
    yield from _read(session, table, _rows_by_key(table), {"named": named})


@cache
def _rows_by_key(table: Table) -> Any:
    """The statement that reads rows by their keys; made once for each table, as above."""
    primary = list(table.primary_key.columns)
    key = primary[0] if len(primary) == 1 else tuple_(*primary)
    return _all_rows(table).where(key.in_(bindparam("named", expanding=True)))


@cache
def _all_rows(table: Table) -> Any:
    return select(*(_as_stored(column) for column in table.columns)).execution_options(yield_per=1000)


def records_of(session: Session, table: Table, *conditions: Any) -> Iterator[tuple[str, dict[str, FieldValue]]]:
    """Give (key, fields as hashed) of the rows of a table, alike on both kinds of database."""
    yield from _read(session, table, _all_rows(table).where(*conditions), {})


def _read(
    session: Session, table: Table, wanted: Any, parameters: dict[str, Any]
) -> Iterator[tuple[str, dict[str, FieldValue]]]:
    columns = list(table.columns)
    names = [column.name for column in columns]
    keys = [names.index(column.name) for column in table.primary_key.columns]
    for row in session.execute(wanted, parameters):
        yield key_text([row[place] for place in keys]), dict(zip(names, map(_plain, row, columns), strict=True))


def _as_stored(column: Column[Any]) -> Any:
    """Read what is kept as text or as a number on SQLite as just that, so that the very bytes count."""
    if isinstance(column.type, Boolean):
        return type_coerce(column, Integer)
    return type_coerce(column, Text) if isinstance(column.type, (JsonText, DecimalText, UtcDateTime, Date)) else column


def _plain(value: Any, column: Column[Any]) -> FieldValue:
    if isinstance(column.type, Boolean) and value in {0, 1}:
        return bool(value)
    if isinstance(value, datetime):
        return value.astimezone(UTC).strftime(STORED_TIME)
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, bytes):
        return value.hex()
    if value is None or isinstance(value, (str, int)):
        return value
    return f"{type(value).__name__} {value!r}"


def key_text(key: Iterable[Any]) -> str:
    """Write a primary key as one text."""
    return "/".join(str(part) for part in key)


def _in_parts(keys: list[Any]) -> Iterator[list[Any]]:
    for start in range(0, len(keys), KEYS_AT_ONCE):
        yield keys[start : start + KEYS_AT_ONCE]
