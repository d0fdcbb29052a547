"""An educator answers a challenge: shown with everybody it touches, then signed, then done in one transaction."""

from __future__ import annotations

from dataclasses import dataclass

from quizapp.assessment.audit_chain import JsonValue, canonical_bytes
from quizapp.assessment.audit_events import AuditEvent
from quizapp.assessment.challenges import ChallengeOutcome, Effect, Scope
from quizapp.assessment.permissions import Right
from quizapp.assessment.roles import Role
from quizapp.content.library import Library
from quizapp.errors import BadInput, Conflict, NotAllowed
from quizapp.services.act import Act
from quizapp.services.apply_remark import apply_remark
from quizapp.services.audit_trail import record
from quizapp.services.challenge_statement import MEANING, AnswerWanted, statement_of, wanted_from
from quizapp.services.challenges_list import ChallengeSeen, challenge_seen
from quizapp.services.correct_observation import ObservationChange, apply_correction, plan_correction
from quizapp.services.messages import ToTell, tell
from quizapp.services.plan_remark import SittingChange, plan_remark
from quizapp.services.rebuild_competence import put_right
from quizapp.services.remark_keys import KeyChange
from quizapp.services.require_right import require_right
from quizapp.services.signing import Intent, Meaning, open_intent, prepare_to_sign, sign
from quizapp.store.challenges import Challenge, ChallengeAnswer

RECORD_TYPE = "challenge_answer"
SHORTEST_REASON = 10
LONGEST_REASON = 2000


@dataclass(frozen=True, kw_only=True)
class _Plan:
    """Everything one answer does, and the statement that says so."""

    seen: ChallengeSeen
    wanted: AnswerWanted
    sittings: tuple[SittingChange, ...]
    observation: ObservationChange | None
    statement: dict[str, JsonValue]


def reviewable(act: Act, challenge_id: str) -> ChallengeSeen:
    """Return an open challenge that the actor may answer.

    Raises NotFound outside the actor's bases, NotAllowed with the reason, Conflict when it was answered already.
    """
    require_right(act, Right.REVIEW_CHALLENGE)
    seen = challenge_seen(act, challenge_id)
    if seen.line.refusal:
        raise NotAllowed(f"{seen.line.refusal} Nothing was changed.")
    if seen.line.outcome is not None:
        raise Conflict("This was answered already. That answer stands; nothing was changed.")
    return seen


def prepare_answer(act: Act, library: Library, challenge_id: str, wanted: AnswerWanted) -> str:
    """Check an answer, work out whom it touches, keep exactly what will be shown; return the intent's id."""
    plan = _plan(act, library, challenge_id, wanted)
    return prepare_to_sign(act, record_type=RECORD_TYPE, statement=plan.statement).id


def answer_intent(act: Act, intent_id: str) -> Intent:
    """Return what the actor was shown and has not signed yet."""
    return open_intent(act, intent_id, record_type=RECORD_TYPE)


def sign_answer(act: Act, library: Library, intent_id: str, *, password: str) -> str:
    """Sign a prepared answer and do all it says at once; return the challenge's id.

    Raises Conflict when anything it touches changed since it was shown, BadInput for a wrong password.
    """
    intent = answer_intent(act, intent_id)
    shown = intent.statement
    if not isinstance(shown, dict):
        raise Conflict("What was shown cannot be read. Nothing was signed; open it again.")
    act.session.get(Challenge, str(shown["challenge"]), with_for_update=True)  # one answer at a time
    plan = _plan(act, library, str(shown["challenge"]), wanted_from(shown), for_change=True)
    if canonical_bytes(plan.statement) != canonical_bytes(shown):
        raise Conflict("Something it touches changed since this was shown. Nothing was signed. Look at it once more.")
    answer_id = act.randomness.new_id()
    meaning = Meaning(
        word="reviews", sentence=MEANING[plan.wanted.outcome], role=Role.EDUCATOR, base_id=plan.seen.base_id
    )
    signature = sign(act, intent, password=password, record_type=RECORD_TYPE, record_id=answer_id, meaning=meaning)
    act.session.add(_row(act, plan, answer_id, signature.id))
    act.session.flush()
    _do(act, plan, answer_id, signature.id)
    return plan.seen.line.id


def _plan(act: Act, library: Library, challenge_id: str, wanted: AnswerWanted, *, for_change: bool = False) -> _Plan:
    seen = reviewable(act, challenge_id)
    if not SHORTEST_REASON <= len(wanted.reason.strip()) <= LONGEST_REASON:
        raise BadInput(f"Write a reason of {SHORTEST_REASON} to {LONGEST_REASON} characters; the person reads it.",
                       field="reason")  # fmt: skip
    sittings: tuple[SittingChange, ...] = ()
    observation = None
    if seen.observation_id is not None:
        observation = plan_correction(
            act, seen.observation_id, seen.step, outcome=wanted.outcome, mark=wanted.mark
        )  # fmt: skip
    elif seen.question_id is not None and wanted.outcome is not ChallengeOutcome.UPHELD:
        change = KeyChange(outcome=wanted.outcome, scope=wanted.scope, correction=wanted.correction)
        sittings = plan_remark(act, library, seen.question_id, change, for_change=for_change)
    statement = statement_of(act, seen, wanted, sittings=sittings, observation=observation)
    return _Plan(seen=seen, wanted=wanted, sittings=sittings, observation=observation, statement=statement)


def _row(act: Act, plan: _Plan, answer_id: str, signature_id: str) -> ChallengeAnswer:
    challenge = act.session.get_one(Challenge, plan.seen.line.id)
    return ChallengeAnswer(
        id=answer_id,
        challenge_id=challenge.id,
        person_id=challenge.person_id,
        marker_id=challenge.marker_id,
        author_id=challenge.author_id,
        reviewer_id=act.actor.person_id,
        outcome=plan.wanted.outcome.value,
        scope=(Scope.OBSERVATION if plan.observation else plan.wanted.scope).value,
        correction={"key": plan.statement["correction"], "mark": plan.wanted.mark},
        reason=plan.wanted.reason.strip(),
        signature_id=signature_id,
        answered_at=act.now,
    )


def _do(act: Act, plan: _Plan, answer_id: str, signature_id: str) -> None:
    people = {plan.seen.person_id, *(one.sitting.person_id for one in plan.sittings)}
    if plan.observation is not None and plan.wanted.outcome is not ChallengeOutcome.UPHELD:
        apply_correction(act, plan.observation, answer_id=answer_id)
        _tell_the_assessor(act, plan, plan.observation)
    apply_remark(act, plan.sittings, answer_id=answer_id, wanted=plan.wanted)
    tell(act, [_to_the_person(plan)])
    record(
        act, AuditEvent.CHALLENGE_ANSWERED, "challenge", plan.seen.line.id, person_id=plan.seen.person_id,
        thing=plan.wanted.outcome.value,
        after={"answer": answer_id, "outcome": plan.wanted.outcome.value, "signature": signature_id,
               "sittings": len(plan.sittings), "people": len(people)},
    )  # fmt: skip
    if plan.wanted.outcome is not ChallengeOutcome.UPHELD:
        put_right(act.session, act.now, act.zone, sorted(people))


def _to_the_person(plan: _Plan) -> ToTell:
    said = {
        ChallengeOutcome.UPHELD: "was looked at again, and the result stands",
        ChallengeOutcome.CORRECTED: "was looked at again and corrected",
        ChallengeOutcome.VOID: "was looked at again and declared void",
    }[plan.wanted.outcome]
    return ToTell(
        person_id=plan.seen.person_id,
        about="challenge",
        about_id=plan.seen.line.id,
        text=f"What you asked about, {plan.seen.line.thing}, {said}. The reason: {plan.wanted.reason.strip()}",
    )


def _tell_the_assessor(act: Act, plan: _Plan, change: ObservationChange) -> None:
    effect = "the result rises" if change.effect is Effect.RAISED else "the result stays as it was"
    sheet, mark = change.sheet, change.mark.value.replace("_", " ")
    text = (
        f"Your mark of step {change.step} in {sheet.procedure.code} with {sheet.person_name} was looked at again by "
        f"another educator and counts as {mark} now; {effect}. The sheet you signed stands as you signed it. "
        f"The reason: {plan.wanted.reason.strip()}"
    )
    tell(act, [ToTell(person_id=sheet.assessor_id, about="observation", about_id=sheet.id, text=text)])
