"""The statement that was signed, as rows of words for its page: every value as it stands in the signed bytes."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

NOT_SHOWN_AGAIN = {"person_id", "meaning", "terms", "draft", "revision", "needs_second", "profile", "profile_revision"}


def shown_statement(statement: Mapping[str, Any]) -> list[tuple[str, str]]:
    """Return (name, value) pairs; ids of people and what stands elsewhere on the page are left out."""
    return list(_rows(statement, ""))


def _rows(value: Mapping[str, Any], before: str) -> Iterator[tuple[str, str]]:
    for name, inner in value.items():
        words = f"{before}{name.replace('_', ' ')}"
        if name in NOT_SHOWN_AGAIN or inner in ("", [], None):
            continue
        if isinstance(inner, Mapping):
            yield from _rows(inner, f"{words}, ")
        elif isinstance(inner, list):
            yield words, "; ".join(_in_line(one) for one in inner)
        else:
            yield words, _in_line(inner)


def _in_line(value: Any) -> str:
    if isinstance(value, Mapping):
        parts = [_in_line(inner) for name, inner in value.items() if name not in {*NOT_SHOWN_AGAIN, "id"}]
        return ", ".join(part for part in parts if part)
    if isinstance(value, list):
        return "; ".join(_in_line(one) for one in value)
    if isinstance(value, bool):
        return "yes" if value else "no"
    return str(value).replace("_", " ") if isinstance(value, str) and "_" in value and " " not in value else str(value)
