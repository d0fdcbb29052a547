"""Does what a signed answer says to every sitting it touches: grades, results, evidence, and a message to each."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from quizapp.assessment import frozen_json
from quizapp.assessment.audit_events import AuditEvent
from quizapp.assessment.challenges import ChallengeOutcome, Effect
from quizapp.assessment.sitting_purpose import SittingPurpose
from quizapp.services.act import Act
from quizapp.services.audit_trail import Entry, record_many
from quizapp.services.challenge_statement import AnswerWanted
from quizapp.services.clear_danger import clear_danger
from quizapp.services.knowledge_evidence import evidence_of_form
from quizapp.services.messages import ToTell, tell
from quizapp.services.plan_remark import AnswerChange, SittingChange
from quizapp.services.regrade_answers import store_grade
from quizapp.store.challenges import RemarkedQuestion, RemarkedSitting


def apply_remark(act: Act, changes: Sequence[SittingChange], *, answer_id: str, wanted: AnswerWanted) -> None:
    """Write all that the plan says; the old grades, results and evidence stay readable beside the new ones."""
    for change in changes:
        _apply(act, change, answer_id)
    act.session.flush()
    tell(act, _messages(changes, wanted))
    record_many(
        act,
        [
            Entry(
                event=AuditEvent.SITTING_MARKED,
                object_type="sitting",
                object_id=change.sitting.id,
                person_id=change.sitting.person_id,
                thing="a corrected key",
                after={"answer": answer_id, "effect": change.effect.value, "right": change.after.get("right", 0)},
                before={"right": change.before.get("right", 0)},
            )
            for change in changes
        ],
    )


def _apply(act: Act, change: SittingChange, answer_id: str) -> None:
    for one in change.answers:
        if one.effect is Effect.NOT_DRAWN:
            continue
        act.session.add(_remarked(act, one, answer_id))
        _regrade(act, change, one, answer_id)
    if change.sitting.submitted_at is None:
        return
    act.session.add(
        RemarkedSitting(
            id=act.randomness.new_id(),
            challenge_answer_id=answer_id,
            sitting_id=change.sitting.id,
            person_id=change.sitting.person_id,
            effect=change.effect.value,
            before=change.before,
            after=change.after,
        )
    )
    if change.after != change.before:
        change.sitting.result = change.after
    for row in change.evidence:
        act.session.add(
            evidence_of_form(
                act, change.sitting, row.after, counts=row.before.counts_for_sign_off, before=row.before
            )
        )  # fmt: skip


def _remarked(act: Act, one: AnswerChange, answer_id: str) -> RemarkedQuestion:
    return RemarkedQuestion(
        id=act.randomness.new_id(),
        challenge_answer_id=answer_id,
        question_id=one.asked.id,
        effect=one.effect.value,
        is_void=one.effect is Effect.VOID,
        corrected=one.corrected.to_plain() if one.corrected else None,
        remarked_at=act.now,
    )


def _regrade(act: Act, change: SittingChange, one: AnswerChange, answer_id: str) -> None:
    answer = one.asked.answer
    if answer is None or one.grade is None or frozen_json.to_plain(one.grade) == answer.grade:
        return
    store_grade(act, one.asked, answer, one.grade, reference=answer_id)
    in_practice = change.sitting.purpose == SittingPurpose.PRACTICE and one.asked.counts_for_sign_off
    if in_practice and one.effect is Effect.RAISED and one.grade.is_correct:
        for competency in one.asked.question.competencies:
            clear_danger(act, change.sitting, family=one.asked.question.family, competency=competency)


def _messages(changes: Iterable[SittingChange], wanted: AnswerWanted) -> list[ToTell]:
    return [
        ToTell(
            person_id=change.sitting.person_id, about="sitting", about_id=change.sitting.id,
            text=_text(change, wanted),
        )
        for change in changes
        if any(one.effect is not Effect.NOT_DRAWN for one in change.answers)
    ]  # fmt: skip


def _text(change: SittingChange, wanted: AnswerWanted) -> str:
    places = ", ".join(str(one.asked.position) for one in change.answers if one.effect is not Effect.NOT_DRAWN)
    where = f"question {places} of {change.title}" if change.sitting.assessment_id else "a practice question"
    first = (
        f"The key of {where} was corrected."
        if wanted.outcome is ChallengeOutcome.CORRECTED
        else f"{where[0].upper()}{where[1:]} was declared void for everybody."
    )
    return f"{first} {_what_it_does(change)} The reason: {wanted.reason.strip()}"


def _what_it_does(change: SittingChange) -> str:
    if change.sitting.submitted_at is None:
        return "You have not handed this in yet; it will be marked without the old key. Nothing was lost."
    if change.effect is Effect.KEPT:
        return "With the new key you would have lost something, so your result is kept as it was. Look at it once more."
    if change.effect is Effect.RAISED:
        return f"That is for the better: {change.after.get('finding', '')}"
    return "Your result stays as it was."
