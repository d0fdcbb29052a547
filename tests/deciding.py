"""What tests of decisions share: a standard in force, evidence as it were found, and a decision signed."""

from __future__ import annotations

from datetime import date, timedelta

from quizapp.assessment.sign_off import EvidenceKind, EvidenceOutcome
from quizapp.assessment.standing import Outcome
from quizapp.content.library import Library
from quizapp.services.decision_statement import DecisionWanted
from quizapp.services.sign_decision import SecondPerson, prepare_decision, sign_decision
from quizapp.services.standards import Requirement, Terms, record_standard
from quizapp.store.devices import DeviceInService
from quizapp.store.evidence import Evidence
from tests.small_service import FIRST_DAY, PASSWORD, SmallService

REASON = "All parts were seen and shown."


def with_standard(small: SmallService, library: Library, *wanted_here: Requirement) -> SmallService:
    """Set a standard (without more: C5 by questions and C8 by P06) and put TV-A revision 1 in service."""
    usual = (requirement("C5", knowledge=True), requirement("C8", procedures=("P06",)))
    with small.acting("ines", at=small.now - timedelta(days=1)) as act:
        wanted = Terms(
            name="Standard",
            starts_on=FIRST_DAY,
            reason="a first standard",
            agreed_by="the educators",
            requirements=wanted_here or usual,
        )
        record_standard(act, library, wanted)
        act.session.add(
            DeviceInService(
                id=act.randomness.new_id(),
                base_id=small.base_id,
                profile_code="TV-A",
                profile_revision=1,
                from_day=FIRST_DAY,
                until_day=None,
                recorded_by=act.actor.person_id,
                recorded_at=act.now,
            )
        )
    return small


def requirement(code: str, *, knowledge: bool = False, procedures: tuple[str, ...] = ()) -> Requirement:
    return Requirement(
        competency=code,
        is_critical=True,
        validity_months=12,
        practice_months=6,
        needs_knowledge=knowledge,
        procedures=procedures,
    )


def show(small: SmallService, competency: str, *, assessor: str = "", outcome: EvidenceOutcome = EvidenceOutcome.SHOWN,
         days_ago: int = 1, who: str = "mira") -> None:  # fmt: skip
    """Write evidence straight into the store: a sitting, or an observation of P06 by an assessor."""
    with small.acting("cleo") as act:
        act.session.add(
            Evidence(
                id=act.randomness.new_id(),
                person_id=small.person_id(who),
                competency=competency,
                kind=(EvidenceKind.OBSERVATION if assessor else EvidenceKind.SITTING).value,
                source_id=act.randomness.new_id(),
                procedure="P06" if assessor else None,
                outcome=outcome.value,
                summary=f"{competency} seen",
                counts_for_sign_off=True,
                profile_code="TV-A",
                profile_revision=1,
                assessor_id=small.person_id(assessor) if assessor else None,
                details={"questions": 5},
                happened_at=small.now - timedelta(days=days_ago),
                recorded_at=small.now,
            )
        )


def decide(
    small: SmallService,
    library: Library,
    *,
    by: str = "ines",
    competencies: tuple[str, ...] = ("C5", "C8"),
    outcome: Outcome = Outcome.COMPETENT,
    second: SecondPerson | None = None,
    after: timedelta = timedelta(),
    who: str = "mira",
) -> list[str]:
    """Prepare and sign a decision."""
    wanted = DecisionWanted(
        outcome=outcome,
        competencies=competencies,
        reason=REASON,
        conditions="Works with a current colleague." if outcome is Outcome.RESTRICTED else "",
        restricted_until=date(2026, 5, 1) if outcome is Outcome.RESTRICTED else None,
    )
    with small.acting(by, at=small.now + after) as act:
        intent_id = prepare_decision(act, library, small.person_id(who), wanted)
    with small.acting(by, at=small.now + after) as act:
        return sign_decision(act, library, intent_id, password=PASSWORD, second=second)
