"""Column types that behave alike on SQLite and PostgreSQL: opaque ids, aware UTC times, exact decimals, JSON text."""

from __future__ import annotations

import json
from datetime import UTC, datetime
from decimal import Decimal
from typing import Annotated, Any

from sqlalchemy import Dialect, ForeignKey, String, Text
from sqlalchemy.dialects.postgresql import TIMESTAMP
from sqlalchemy.orm import mapped_column
from sqlalchemy.types import TypeDecorator, TypeEngine

STORED_TIME = "%Y-%m-%dT%H:%M:%S.%fZ"


class UtcDateTime(TypeDecorator[datetime]):
    """An aware UTC time; naive values are refused. Text of fixed width on SQLite, so that it sorts by time."""

    impl = Text
    cache_ok = True

    def load_dialect_impl(self, dialect: Dialect) -> TypeEngine[Any]:
        """Use the database's own type where there is one that keeps the zone."""
        if dialect.name == "postgresql":
            return dialect.type_descriptor(TIMESTAMP(timezone=True))
        return dialect.type_descriptor(Text())

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> Any:
        """Refuse naive times; store UTC."""
        if value is None:
            return None
        if value.tzinfo is None:
            raise ValueError(f"a time without a zone cannot be stored: {value!r}")
        in_utc = value.astimezone(UTC)
        return in_utc if dialect.name == "postgresql" else in_utc.strftime(STORED_TIME)

    def process_result_value(self, value: Any, dialect: Dialect) -> datetime | None:
        """Return aware UTC."""
        if value is None:
            return None
        if isinstance(value, datetime):
            return value.astimezone(UTC)
        return datetime.fromisoformat(value).astimezone(UTC)


class DecimalText(TypeDecorator[Decimal]):
    """An exact decimal kept as text, since SQLite would turn it into a binary float."""

    impl = Text
    cache_ok = True

    def process_bind_param(self, value: Decimal | None, dialect: Dialect) -> str | None:
        """Store finite values only."""
        if value is None:
            return None
        if not value.is_finite():
            raise ValueError(f"only finite numbers can be stored, not {value}")
        return format(value, "f")

    def process_result_value(self, value: str | None, dialect: Dialect) -> Decimal | None:
        """Return the exact decimal."""
        return None if value is None else Decimal(value)


class JsonText(TypeDecorator[Any]):
    """JSON kept as text with sorted keys: the same value gives the same bytes, so it can be hashed."""

    impl = Text
    cache_ok = True

    def process_bind_param(self, value: Any, dialect: Dialect) -> str | None:
        """Store without NaN and with sorted keys."""
        if value is None:
            return None
        return json.dumps(value, sort_keys=True, ensure_ascii=False, separators=(",", ":"), allow_nan=False)

    def process_result_value(self, value: str | None, dialect: Dialect) -> Any:
        """Return the parsed value."""
        return None if value is None else json.loads(value)


Id = Annotated[str, mapped_column(String(32), primary_key=True)]
Code = Annotated[str, mapped_column(String(64))]
Line = Annotated[str, mapped_column(String(255))]
Prose = Annotated[str, mapped_column(Text)]
Moment = Annotated[datetime, mapped_column(UtcDateTime)]
MaybeMoment = Annotated[datetime | None, mapped_column(UtcDateTime)]
Json = Annotated[Any, mapped_column(JsonText)]
PersonId = Annotated[str, mapped_column(String(32), ForeignKey("person.id", ondelete="RESTRICT"), index=True)]
BaseId = Annotated[str, mapped_column(String(32), ForeignKey("base.id", ondelete="RESTRICT"), index=True)]
