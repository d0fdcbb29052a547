"""What an educator just signed, for the receipt that is shown after it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import select

from quizapp.assessment.standing import Outcome
from quizapp.services.act import Act
from quizapp.store.audit import Signature
from quizapp.store.decisions import Decision
from quizapp.store.people import Person


@dataclass(frozen=True, kw_only=True)
class SignedDecision:
    """What was signed: outcome, person, competencies, when, and the receipt of the signature."""

    outcome: Outcome
    person: str
    competencies: tuple[str, ...]
    signed_at: datetime
    receipt: str


def signed_decision(act: Act, decision_id: str) -> SignedDecision | None:
    """Return what the actor signed with a decision, None where there is no such decision of theirs."""
    signature = act.session.scalar(
        select(Signature)
        .join(Decision, Decision.signature_id == Signature.id)
        .where(Decision.id == decision_id, Decision.decided_by == act.actor.person_id)
    )
    if signature is None:
        return None
    rows = act.session.execute(
        select(Decision.competency, Decision.outcome, Person.name)
        .join(Person, Person.id == Decision.person_id)
        .where(Decision.signature_id == signature.id)
    ).all()
    return SignedDecision(
        outcome=Outcome(rows[0].outcome),
        person=rows[0].name,
        competencies=tuple(sorted((row.competency for row in rows), key=lambda code: (len(code), code))),
        signed_at=signature.signed_at,
        receipt=signature.signature_hash[:16],
    )
