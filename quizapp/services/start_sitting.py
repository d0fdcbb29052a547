"""A sitting begins: its questions are drawn and frozen, whatever happens to the content later."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from datetime import datetime
from decimal import Decimal

from sqlalchemy import func, select

from quizapp.assessment.audit_events import AuditEvent
from quizapp.assessment.competence_settings import Track
from quizapp.assessment.exposure import weight_percent
from quizapp.assessment.families import Family, Use
from quizapp.assessment.form_selection import Chosen, FormPart, TooFewFamilies, choose_families
from quizapp.assessment.number_stream import NumberStream
from quizapp.assessment.questions import Question
from quizapp.assessment.sitting_purpose import SittingPurpose
from quizapp.content.library import Library
from quizapp.errors import BadInput, Conflict, NotFound
from quizapp.services.act import Act
from quizapp.services.audit_trail import record
from quizapp.services.content_in_force import ContentInForce, content_in_force
from quizapp.services.devices_in_service import revisions_in_service
from quizapp.services.foretell import foretell
from quizapp.services.sitting_adjustments import sitting_time
from quizapp.store.assessments import Assessment, AssessmentPart, Assignment
from quizapp.store.people import Person
from quizapp.store.sittings import Sitting, SittingQuestion
from quizapp.ventilation.device_profile import DeviceProfile

LONGEST_PRACTICE = 20


def start_sitting(act: Act, library: Library, assessment_id: str) -> str:
    """Begin (or go on with) the actor's sitting of an assigned assessment; return the sitting's id.

    Raises NotFound unless it was assigned to the actor, Conflict when it is closed or was submitted already.
    """
    assessment = _assigned(act, assessment_id)
    sittings = list(
        act.session.scalars(
            select(Sitting).where(Sitting.assessment_id == assessment_id, Sitting.person_id == act.actor.person_id)
        )
    )
    for sitting in sittings:
        if sitting.submitted_at is None:
            return sitting.id
    if sittings:
        raise Conflict("You have submitted this assessment already. The first result stands; ask your educator.")
    if assessment.closed_at is not None:
        raise Conflict("This assessment is closed. Ask your educator for a new one.")
    stored = act.session.scalars(
        select(AssessmentPart)
        .where(AssessmentPart.assessment_id == assessment_id)
        .order_by(func.length(AssessmentPart.competency), AssessmentPart.competency)
    )
    parts = [FormPart(competency=part.competency, question_count=part.question_count) for part in stored]
    profile = library.profile(assessment.profile_code, assessment.profile_revision)
    sitting = _new_sitting(act, profile, SittingPurpose.ASSESSMENT, assessment)
    in_force = content_in_force(act)
    families = [
        family
        for family in library.families_for(profile)
        if family.counts_for_sign_off and family.use is not Use.PRACTICE and in_force.counts(family)
    ]
    _draw(act, library, sitting, _choose(families, parts, sitting.seed), profile, in_force)
    foretell(act, person_id=sitting.person_id, track=Track.KNOWLEDGE, source_id=sitting.id,
             competencies=[part.competency for part in parts])  # fmt: skip
    record(act, AuditEvent.SITTING_STARTED, "sitting", sitting.id, person_id=act.actor.person_id, thing=assessment_id)
    return sitting.id


def start_practice(
    act: Act,
    library: Library,
    *,
    competency: str = "",
    family: str = "",
    question_count: int = 3,
    parts: Sequence[FormPart] = (),
    profile: DeviceProfile | None = None,
) -> str:
    """Begin a practice without consequences: some questions on one competency, or on several, or of one family.

    question_count: 1 to 20. parts: instead of one competency, how many on which.
    profile: the device asked about (default: the one in service at the actor's base).
    Raises BadInput, or NotFound for an unknown family.
    """
    parts = parts or [FormPart(competency=competency, question_count=question_count)]
    if not 1 <= sum(part.question_count for part in parts) <= LONGEST_PRACTICE:
        raise BadInput(f"Practise 1 to {LONGEST_PRACTICE} questions at a time.", field="question_count")
    profile = profile or practice_profile(act, library)
    in_force = content_in_force(act)
    families = [
        one for one in library.families_for(profile) if one.use is not Use.ASSESSMENT and not in_force.is_withdrawn(one)
    ]
    if family:
        families = [one for one in families if one.code == library.family(family).code]
        parts = [FormPart(competency=one.competencies[0], question_count=question_count) for one in families]
    if not families:
        raise BadInput("There is no such question for this device. Nothing was started; choose another competency.")
    sitting = _new_sitting(act, profile, SittingPurpose.PRACTICE, None)
    _draw(act, library, sitting, _choose(families, parts, sitting.seed), profile, in_force)
    record(act, AuditEvent.SITTING_STARTED, "sitting", sitting.id, person_id=act.actor.person_id, thing="practice")
    return sitting.id


def practice_profile(act: Act, library: Library) -> DeviceProfile:
    """Return the newest device revision in service at the actor's base, else the newest one known."""
    base_id = act.session.get_one(Person, act.actor.person_id).base_id
    in_service = revisions_in_service(act, [base_id])[base_id]
    if in_service:
        return library.profile(*in_service[-1])
    return library.profiles[-1]


def _assigned(act: Act, assessment_id: str) -> Assessment:
    """Return the assessment; its being given to the actor is locked, so that two beginnings wait for each other."""
    given = act.session.scalar(
        select(Assignment)
        .where(Assignment.assessment_id == assessment_id, Assignment.person_id == act.actor.person_id)
        .with_for_update()
    )
    if given is None:
        raise NotFound("There is no such assessment for you.")
    return act.session.get_one(Assessment, given.assessment_id)


def _new_sitting(act: Act, profile: DeviceProfile, purpose: SittingPurpose, assessment: Assessment | None) -> Sitting:
    allowed = sitting_time(act, assessment.time_allowance_min) if assessment else None
    sitting = Sitting(
        id=act.randomness.new_id(),
        assessment_id=assessment.id if assessment else None,
        person_id=act.actor.person_id,
        purpose=purpose.value,
        seed=act.randomness.seed(),
        profile_code=profile.code,
        profile_revision=profile.revision,
        started_at=act.now,
        deadline_at=None if allowed is None else act.now + allowed,
        submitted_at=None,
        result=None,
    )
    act.session.add(sitting)
    act.session.flush()
    return sitting


def _choose(families: Sequence[Family], parts: Sequence[FormPart], seed: str) -> tuple[Chosen, ...]:
    try:
        return choose_families(families, parts, NumberStream("form", int(seed, 16)))
    except TooFewFamilies as error:
        raise BadInput(
            f"There is no accepted question on {error} for this device. Nothing was started; tell your educator."
        ) from None


def question_seed(seed: str, position: int) -> int:
    """Return the seed of one question from the sitting's (64 hex digits) and its position from 1."""
    return int.from_bytes(hashlib.sha256(f"{seed}|{position}".encode()).digest()[:8], "big")


def _draw(
    act: Act,
    library: Library,
    sitting: Sitting,
    places: Sequence[Chosen],
    profile: DeviceProfile,
    in_force: ContentInForce,
) -> None:
    families = {place.family.code for place in places}
    asked, last_met = _met_before(act, families), _last_met(act, families)
    for position, place in enumerate(places, start=1):
        seed = question_seed(sitting.seed, position)
        question = library.draw(place.family.code, profile, seed, unlike=tuple(asked))
        asked.append(question)
        act.session.add(
            SittingQuestion(
                id=act.randomness.new_id(),
                sitting_id=sitting.id,
                position=position,
                family=place.family.code,
                competency=place.competency,
                content_hash=place.family.content_hash,
                counts_for_sign_off=place.family.counts_for_sign_off and in_force.counts(place.family),
                weight_percent=weight_percent(act.now, last_met.get(place.family.code)),
                just_competent_fraction=_as_float(place.family.just_competent_share),
                option_count=len(question.options),
                frozen=question.to_plain(),
            )
        )
        last_met[place.family.code] = act.now
    act.session.flush()


def _as_float(share: Decimal | None) -> float | None:
    return None if share is None else float(share)


def _last_met(act: Act, families: set[str]) -> dict[str, datetime]:
    """Return when the person last met each of these families, if ever."""
    rows = act.session.execute(
        select(SittingQuestion.family, func.max(Sitting.started_at))
        .join(Sitting, Sitting.id == SittingQuestion.sitting_id)
        .where(Sitting.person_id == act.actor.person_id, SittingQuestion.family.in_(families))
        .group_by(SittingQuestion.family)
    )
    return dict(iter(rows))


def _met_before(act: Act, families: set[str]) -> list[Question]:
    """Return the person's last questions of these families, so that new numbers are drawn."""
    rows = act.session.scalars(
        select(SittingQuestion.frozen)
        .join(Sitting, Sitting.id == SittingQuestion.sitting_id)
        .where(Sitting.person_id == act.actor.person_id, SittingQuestion.family.in_(families))
        .order_by(Sitting.started_at.desc())
        .limit(100)
    )
    return [Question.from_plain(frozen) for frozen in rows]
