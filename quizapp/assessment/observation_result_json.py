"""A result of an observation or a rehearsal as plain JSON values, for keeping beside what it was made from.

One way only: a result is always judged again from the frozen procedure and the events, never read back.
"""

from __future__ import annotations

from enum import Enum
from fractions import Fraction
from typing import Any

from quizapp.assessment.broken_pairs import BrokenPair
from quizapp.assessment.observation_rules import ObservationResult
from quizapp.assessment.order_scoring import OrderScore
from quizapp.assessment.rehearsal import RehearsalResult


def observation_result_to_json(result: ObservationResult) -> dict[str, Any]:
    """The decision, its reasons and all components; fractions are written exactly, such as "4/5"."""
    return {
        "decision": result.decision.value,
        "reasons": [
            {"kind": reason.kind.value, "steps": list(reason.steps), "sentence": reason.sentence}
            for reason in result.reasons
        ],
        "marks": {letter: mark.value for letter, mark in result.marks},
        "omitted": list(result.omitted),
        "prompted": list(result.prompted),
        "not_seen": list(result.not_seen),
        "unmarked": list(result.unmarked),
        "steps_fraction": _exact(result.steps_fraction),
        "non_critical_fraction": _exact(result.non_critical_fraction),
        "cut_fraction": _exact(result.cut_fraction),
        "order": _order(result.order),
        "broken": [_broken(pair) for pair in result.broken],
        "intervals": [
            {name: _value(getattr(interval, name)) for name in sorted(interval.__dataclass_fields__)}
            for interval in result.intervals
        ],
    }


def rehearsal_result_to_json(result: RehearsalResult) -> dict[str, Any]:
    """Whether the order was accepted, its numbers and each broken dependency in words."""
    return {
        "accepted": result.accepted,
        "order": _order(result.order),
        "broken": [_broken(pair) for pair in result.broken],
    }


def _order(score: OrderScore) -> dict[str, Any]:
    return {
        "performed": list(score.performed),
        "judged": len(score.judged),
        "violations": score.violations,
        "largest_consistent": score.largest_consistent,
        "misplaced": score.misplaced,
        "distance": score.distance,
        "order_fraction": _exact(score.order_fraction),
    }


def _broken(pair: BrokenPair) -> dict[str, Any]:
    return {"first": pair.first, "then": pair.then, "critical": pair.critical, "sentence": pair.sentence_in_full}


def _exact(value: Fraction | None) -> str | None:
    return None if value is None else f"{value.numerator}/{value.denominator}"


def _value(value: object) -> object:
    return value.value if isinstance(value, Enum) else value
