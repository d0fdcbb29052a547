"""Counts what a block of code asks the database."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from sqlalchemy import event

from quizapp.store.database import Database


@contextmanager
def counted_statements(database: Database) -> Iterator[list[str]]:
    """Give a list that grows by each statement sent to the database inside the block."""
    statements: list[str] = []

    def note(*arguments: Any) -> None:
        statements.append(arguments[2])

    event.listen(database.engine, "before_cursor_execute", note)
    try:
        yield statements
    finally:
        event.remove(database.engine, "before_cursor_execute", note)
