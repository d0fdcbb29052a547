"""A procedure as plain values and back, exactly: what an observation or a rehearsal keeps of the list it used."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict
from datetime import date
from typing import Any

from quizapp.assessment.procedures import (
    BeforePair,
    LimitBasis,
    Procedure,
    ProfileCondition,
    Step,
    TimeLimit,
    Variant,
)


def to_json(procedure: Procedure) -> dict[str, Any]:
    """The procedure as values that JSON can hold (tuples as lists, dates as YYYY-MM-DD)."""
    plain = _plain(asdict(procedure))
    assert isinstance(plain, dict)
    return plain


def from_json(values: Mapping[str, Any]) -> Procedure:
    """The procedure that `to_json` gave these values for; raises KeyError, TypeError or ValueError for others."""
    return Procedure(
        **_texts_as_tuples(values, "competencies", "sources", "timing_notes", "cautions", "authors"),
        review_by=date.fromisoformat(values["review_by"]),
        steps=tuple(_step(step) for step in values["steps"]),
        pairs=tuple(BeforePair(**pair) for pair in values["pairs"]),
        critical_pairs=_pairs(values["critical_pairs"]),
        limits=tuple(_limit(limit) for limit in values["limits"]),
        variants=tuple(Variant(**{**variant, "drops": _pairs(variant["drops"])}) for variant in values["variants"]),
    )


_BUILT = {"review_by", "steps", "pairs", "critical_pairs", "limits", "variants"}


def _texts_as_tuples(values: Mapping[str, Any], *lists: str) -> dict[str, Any]:
    return {name: tuple(value) if name in lists else value for name, value in values.items() if name not in _BUILT}


def _step(values: Mapping[str, Any]) -> Step:
    condition = values["only_with"]
    return Step(**{**values, "only_with": ProfileCondition(**condition) if condition else None})


def _limit(values: Mapping[str, Any]) -> TimeLimit:
    recorded_on = values["recorded_on"]
    return TimeLimit(
        **{
            **values,
            "from_steps": tuple(values["from_steps"]),
            "to_steps": tuple(values["to_steps"]),
            "basis": LimitBasis(values["basis"]),
            "recorded_on": date.fromisoformat(recorded_on) if recorded_on else None,
        }
    )


def _pairs(values: Sequence[Sequence[str]]) -> tuple[tuple[str, str], ...]:
    return tuple((first, then) for first, then in values)


def _plain(value: object) -> object:
    if isinstance(value, Mapping):
        return {str(name): _plain(inner) for name, inner in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(inner) for inner in value]
    if isinstance(value, LimitBasis):
        return value.value
    return value.isoformat() if isinstance(value, date) else value
