"""An educator closes an assessment for everybody: no answer is taken any more, every question may be explained."""

from __future__ import annotations

from sqlalchemy import func, select

from quizapp.assessment.audit_events import AuditEvent
from quizapp.assessment.permissions import Right
from quizapp.errors import Conflict, NotFound
from quizapp.services.act import Act
from quizapp.services.audit_trail import record
from quizapp.services.require_right import require_right
from quizapp.store.assessments import Assessment
from quizapp.store.sittings import Sitting


def people_in_the_middle(act: Act, assessment_id: str) -> int:
    """Return how many people have begun the assessment and not handed it in."""
    require_right(act, Right.COMPOSE_ASSESSMENT)
    open_sittings = select(func.count()).where(Sitting.assessment_id == assessment_id, Sitting.submitted_at.is_(None))
    return act.session.scalar(open_sittings) or 0


def close_assessment(act: Act, assessment_id: str) -> str:
    """Close an assessment and return its id; who has begun keeps what was saved and may still hand it in.

    Raises NotFound, NotAllowed without the right, Conflict when it is closed already.
    """
    require_right(act, Right.COMPOSE_ASSESSMENT)
    assessment = act.session.get(Assessment, assessment_id, with_for_update=True, populate_existing=True)
    if assessment is None:
        raise NotFound("There is no such assessment.")
    if assessment.closed_at is not None:
        raise Conflict("This assessment is closed already. Nothing was changed.")
    assessment.closed_at = act.now
    record(act, AuditEvent.ASSESSMENT_CLOSED, "assessment", assessment.id, thing=assessment.id)
    return assessment.id
