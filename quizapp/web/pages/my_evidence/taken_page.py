"""A statement of evidence laid out for the page, for paper and for the file: texts turned into days and moments."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime
from typing import Any

from quizapp.store.columns import STORED_TIME


@dataclass(frozen=True, kw_only=True)
class StatedPage:
    """Everything the templates need of one statement."""

    code: str
    service: str
    is_invented: bool
    zone: str
    made_at: datetime
    made_on: date
    name: str
    who: str
    standing: str
    sentence: str
    conditions: tuple[str, ...]
    standings: tuple[dict[str, Any], ...]
    competencies: tuple[dict[str, Any], ...]


def stated_page(statement: Mapping[str, Any]) -> StatedPage:
    """Lay out a statement."""
    person = statement["person"]
    return StatedPage(
        code=statement["code"],
        service=statement["service"],
        is_invented=statement["is_invented"],
        zone=statement["zone"],
        made_at=_moment(statement["made_at"]),
        made_on=date.fromisoformat(statement["made_on"]),
        name=person["name"],
        who=f"{person['profession']}, {person['staff_number']}, {person['base']}",
        standing=statement["standing"],
        sentence=statement["sentence"],
        conditions=tuple(statement["conditions"]),
        standings=tuple({**one, "last_valid_day": _day(one["last_valid_day"])} for one in statement["standings"]),
        competencies=tuple(_competency(one) for one in statement["competencies"]),
    )


def _competency(one: Mapping[str, Any]) -> dict[str, Any]:
    return {
        **one,
        "decisions": [
            {**row, "last_valid_day": _day(row["last_valid_day"]), "decided_at": _moment(row["decided_at"])}
            for row in one["decisions"]
        ],
        "evidence": [
            {
                **row,
                "source": row["from"],
                "usable_until": _day(row["usable_until"]),
                "happened_at": _moment(row["happened_at"]),
            }
            for row in one["evidence"]
        ],
    }


def _day(text: str) -> date | None:
    return date.fromisoformat(text) if text else None


def _moment(text: str) -> datetime:
    return datetime.strptime(text, STORED_TIME).replace(tzinfo=UTC)
