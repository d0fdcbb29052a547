"""What a reviewer wants to answer to a challenge, and the exact statement that is shown and signed for it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from quizapp.assessment.audit_chain import JsonValue
from quizapp.assessment.challenges import ChallengeOutcome, Scope
from quizapp.assessment.corrected_key import CorrectedBlank, Correction
from quizapp.errors import Conflict
from quizapp.services.act import Act
from quizapp.services.challenges_list import ChallengeSeen
from quizapp.services.correct_observation import ObservationChange
from quizapp.services.plan_remark import SittingChange

MEANING = {
    ChallengeOutcome.UPHELD: "I have looked at this again and find that the result stands.",
    ChallengeOutcome.CORRECTED: "I have looked at this again and correct it as it stands here, for everybody named.",
    ChallengeOutcome.VOID: "I have looked at this again and declare it void, for everybody named.",
}


NOTHING_CORRECTED = Correction()


@dataclass(frozen=True, kw_only=True)
class AnswerWanted:
    """What the reviewer entered. `mark` is the right mark of a step of an observation."""

    outcome: ChallengeOutcome
    reason: str
    scope: Scope = Scope.DRAW
    correction: Correction = NOTHING_CORRECTED
    mark: str = ""


def statement_of(
    act: Act,
    seen: ChallengeSeen,
    wanted: AnswerWanted,
    *,
    sittings: Sequence[SittingChange] = (),
    observation: ObservationChange | None = None,
) -> dict[str, JsonValue]:
    """Return what is shown and signed: text only, so that the same answer gives the same bytes."""
    return {
        "challenge": seen.line.id,
        "thing": seen.line.thing,
        "person": seen.line.person_name,
        "words": seen.words,
        "shown_sha256": seen.shown_hash,
        "outcome": wanted.outcome.value,
        "scope": wanted.scope.value,
        "correction": _correction(wanted),
        "mark": wanted.mark,
        "reason": wanted.reason.strip(),
        "meaning": MEANING[wanted.outcome],
        "answered_on": act.today.isoformat(),
        "touched": [_sitting(one) for one in sittings] + ([_observation(observation)] if observation else []),
    }


def _correction(wanted: AnswerWanted) -> dict[str, JsonValue]:
    correction = wanted.correction
    return {
        "blanks": [
            {"name": one.name, "key": f"{one.key:f}", "tolerance": f"{one.tolerance:f}"} for one in correction.blanks
        ],
        "right_options": list(correction.right_options),
        "free_pairs": list(correction.free_pairs),
        "is_from_file": correction.is_from_file,
    }


def _sitting(change: SittingChange) -> dict[str, JsonValue]:
    return {
        "id": change.sitting.id,
        "person": change.person_name,
        "what": change.title,
        "begun_at": change.sitting.started_at.isoformat(),
        "effect": change.effect.value,
        "before": change.before.get("finding", "not handed in"),
        "after": change.after.get("finding", "not handed in"),
        "answers": [{"position": one.asked.position, "effect": one.effect.value} for one in change.answers],
        "evidence": [
            {"id": one.before.id, "before": one.before.summary, "after": one.after.sentence} for one in change.evidence
        ],
    }


def _observation(change: ObservationChange) -> dict[str, JsonValue]:
    return {
        "id": change.sheet.id,
        "person": change.sheet.person_name,
        "what": f"{change.sheet.procedure.code} {change.sheet.procedure.title}, step {change.step}",
        "begun_at": change.sheet.opened_at.isoformat(),
        "effect": change.effect.value,
        "before": f"step {change.step} {_mark(change.mark_before.value)}; {_mark(change.before.decision.value)}",
        "after": f"step {change.step} {_mark(change.mark.value)}; {_mark(change.after.decision.value)}",
        "answers": [],
        "evidence": [],
    }


def _mark(value: str) -> str:
    return value.replace("_", " ")


def wanted_from(statement: dict[str, Any]) -> AnswerWanted:
    """Read back from a statement what was wanted; raises Conflict where it cannot be read."""
    try:
        correction = statement["correction"]
        return AnswerWanted(
            outcome=ChallengeOutcome(statement["outcome"]),
            reason=statement["reason"],
            scope=Scope(statement["scope"]),
            mark=statement["mark"],
            correction=Correction(
                blanks=tuple(
                    CorrectedBlank(name=one["name"], key=Decimal(one["key"]), tolerance=Decimal(one["tolerance"]))
                    for one in correction["blanks"]
                ),
                right_options=tuple(correction["right_options"]),
                free_pairs=tuple(correction["free_pairs"]),
                is_from_file=correction["is_from_file"],
            ),
        )
    except (KeyError, TypeError, ValueError):
        raise Conflict("What was shown cannot be read. Nothing was signed; open it again.") from None
