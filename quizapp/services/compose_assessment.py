"""An educator composes an assessment: questions per competency, a cut with its reason, perhaps a time allowance."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

from quizapp.assessment.audit_events import AuditEvent
from quizapp.assessment.form_selection import FormPart
from quizapp.assessment.permissions import Right
from quizapp.content.library import Library
from quizapp.errors import BadInput
from quizapp.psychometrics.binomial_form import LONGEST_FORM, FormChances, shortest_form
from quizapp.services.act import Act
from quizapp.services.audit_trail import record
from quizapp.services.require_right import require_right
from quizapp.store.assessments import Assessment, AssessmentPart

FEWEST_FOR_A_MINIMUM = 5
LONGEST_ALLOWANCE_MIN = 480
SHORTEST_REASON = 10


@dataclass(frozen=True, kw_only=True)
class Part(FormPart):
    """Questions on one competency, perhaps with its own least number right (only from five questions on)."""

    minimum_right: int | None = None


@dataclass(frozen=True, kw_only=True)
class Composition:
    """What the educator entered. `time_allowance_min` None means no limit."""

    title: str
    parts: Sequence[Part]
    cut: int
    cut_reason: str
    profile_code: str
    profile_revision: int
    time_allowance_min: int | None = None

    @property
    def question_count(self) -> int:
        """Return the length of the form."""
        return sum(part.question_count for part in self.parts)


@cache
def proposed_form() -> FormChances:
    """Return the shortest form that keeps both ways of erring within 5 %; the educator still chooses length and cut."""
    return shortest_form()


def compose_assessment(act: Act, library: Library, composition: Composition) -> str:
    """Check and store an assessment; return its id.

    Raises BadInput naming the field, NotAllowed without the right, NotFound for an unknown device revision.
    """
    require_right(act, Right.COMPOSE_ASSESSMENT)
    _check(library, composition)
    assessment = Assessment(
        id=act.randomness.new_id(),
        title=composition.title.strip(),
        cut=composition.cut,
        cut_reason=composition.cut_reason.strip(),
        time_allowance_min=composition.time_allowance_min,
        profile_code=composition.profile_code,
        profile_revision=composition.profile_revision,
        composed_by=act.actor.person_id,
        composed_at=act.now,
        closed_at=None,
    )
    act.session.add(assessment)
    act.session.flush()
    for part in composition.parts:
        act.session.add(
            AssessmentPart(
                id=act.randomness.new_id(),
                assessment_id=assessment.id,
                competency=part.competency,
                question_count=part.question_count,
                minimum_right=part.minimum_right,
            )
        )
    after = {"cut": composition.cut, "questions": composition.question_count}
    record(act, AuditEvent.ASSESSMENT_COMPOSED, "assessment", assessment.id, after=after)
    return assessment.id


def _check(library: Library, composition: Composition) -> None:
    if not composition.title.strip():
        raise BadInput("Give the assessment a title.", field="title")
    if not composition.parts:
        raise BadInput("Ask at least one question on one competency.", field="parts")
    if not 1 <= composition.question_count <= LONGEST_FORM:
        raise BadInput(f"Ask between 1 and {LONGEST_FORM} questions altogether.", field="parts")
    if not 1 <= composition.cut <= composition.question_count:
        raise BadInput(f"The cut lies between 1 and the {composition.question_count} questions asked.", field="cut")
    if len(composition.cut_reason.strip()) < SHORTEST_REASON:
        raise BadInput("Say in a sentence why the cut lies there; people will ask.", field="cut_reason")
    allowance = composition.time_allowance_min
    if allowance is not None and not 1 <= allowance <= LONGEST_ALLOWANCE_MIN:
        raise BadInput(f"Allow between 1 and {LONGEST_ALLOWANCE_MIN} minutes, or none.", field="time_allowance_min")
    profile = library.profile(composition.profile_code, composition.profile_revision)
    for part in composition.parts:
        _check_part(part, has_families=bool(library.families_for(profile, part.competency)))


def _check_part(part: Part, *, has_families: bool) -> None:
    if not has_families:
        raise BadInput(f"{part.competency}: there are no questions on it for this device.", field="parts")
    if part.minimum_right is None:
        return
    if part.question_count < FEWEST_FOR_A_MINIMUM:
        raise BadInput(
            f"{part.competency}: its own minimum needs at least {FEWEST_FOR_A_MINIMUM} questions on it.", field="parts"
        )
    if not 1 <= part.minimum_right <= part.question_count:
        raise BadInput(f"{part.competency}: its minimum lies between 1 and {part.question_count}.", field="parts")
