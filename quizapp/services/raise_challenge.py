"""A person asks for a result to be looked at again: what was shown is kept, a reviewer and a day are named."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from sqlalchemy import func, select

from quizapp.assessment import frozen_json
from quizapp.assessment.audit_events import AuditEvent
from quizapp.assessment.challenges import due_day
from quizapp.assessment.grading import Grade, idea_named
from quizapp.assessment.released import is_released
from quizapp.content.library import Library
from quizapp.errors import BadInput, Conflict, NotFound
from quizapp.services.act import Act
from quizapp.services.audit_trail import record
from quizapp.services.challenge_reviewers import choose_reviewer
from quizapp.services.observation_sheet import sheet_of
from quizapp.services.record_answer import option_token
from quizapp.services.sittings_of import AskedQuestion, asked_questions, own_sitting, sitting_state
from quizapp.store.accepted_content import ContentAcceptance
from quizapp.store.assessments import Assessment
from quizapp.store.challenges import Challenge
from quizapp.store.observations import Observation
from quizapp.store.people import Person
from quizapp.store.sittings import Sitting, SittingQuestion

LONGEST_WORDS = 2000
RECORD_TYPE = "challenge"


@dataclass(frozen=True, kw_only=True)
class Raised:
    """A challenge that was raised: its id, who answers it ("" where nobody at the base may), and until when."""

    id: str
    reviewer_id: str
    due_on: date


@dataclass(frozen=True, kw_only=True)
class Apart:
    """Who may not review: those who marked or wrote the thing, and those who stand for it or wrote it over."""

    marked: tuple[str, ...]
    stand_for_it: tuple[str, ...]


def challenge_answer(act: Act, library: Library, sitting_id: str, position: int, *, words: str = "") -> Raised:
    """Ask for one's own answer to be looked at again, with exactly what was shown; asked twice, the first stands.

    `words`: the person's own, at most 2,000 characters, none are needed. Raises NotFound for any other sitting or
    place, Conflict before what lies behind the answer is open, BadInput (field "words").
    """
    own_sitting(act, sitting_id, to_change=True)  # asked twice at one moment, the second waits for the first
    sitting, asked = answer_to_challenge(act, sitting_id, position)
    said = _checked(words)
    found = act.session.scalar(select(Challenge).where(Challenge.question_id == asked.id))
    if found is not None:
        return _raised(found)
    row = act.session.get_one(SittingQuestion, asked.id)
    row_shown = shown_answer(sitting, asked)
    return _raise(
        act, {"question_id": asked.id}, thing=_thing(act, sitting, asked), shown=row_shown, words=said,
        apart=Apart(marked=_authors(act, library, row), stand_for_it=_accepted_by(act, row)),
    )  # fmt: skip


def challenge_of_answer(act: Act, sitting_id: str, position: int) -> str:
    """Return the id of the challenge already raised about a place of one's own sitting, "" where there is none."""
    found = act.session.scalar(
        select(Challenge.id)
        .join(SittingQuestion, SittingQuestion.id == Challenge.question_id)
        .where(
            SittingQuestion.sitting_id == sitting_id,
            SittingQuestion.position == position,
            Challenge.person_id == act.actor.person_id,
        )
    )
    return found or ""


def answer_to_challenge(act: Act, sitting_id: str, position: int) -> tuple[Sitting, AskedQuestion]:
    """Return one's own sitting and the place in it that may be challenged; raises as `challenge_answer`."""
    sitting = own_sitting(act, sitting_id)
    asked = next((one for one in asked_questions(act, sitting_id) if one.position == position), None)
    if asked is None:
        raise NotFound("This sitting has no such question.")
    if not is_released(sitting_state(act, sitting), asked.question.use, is_answered=asked.answer is not None):
        raise Conflict("What lies behind this answer is not open yet. Nothing was sent. Ask once you can see it.")
    return sitting, asked


def shown_answer(sitting: Sitting, asked: AskedQuestion) -> dict[str, Any]:
    """Return exactly what the person was shown: question, figure, own answer, key, and what was said to it."""
    answer = asked.answer
    return {
        "question": asked.question.to_plain(),
        "position": asked.position,
        "sitting": sitting.id,
        "seed": sitting.seed,
        "response": answer.response if answer else None,
        "grade": answer.grade if answer else None,
        "is_late": bool(answer and answer.is_late),
        "answered_at": answer.answered_at.isoformat() if answer else "",
        "receipt": answer.receipt if answer else "",
        "said": _said(sitting, asked),
        "result": (sitting.result or {}).get("finding", ""),
    }


def _said(sitting: Sitting, asked: AskedQuestion) -> list[str]:
    """What was said to the answer: the sentence of the option chosen, or of each wrong idea it named."""
    if asked.answer is None:
        return []
    grade = frozen_json.from_plain(Grade, asked.answer.grade)
    if grade.is_correct:
        return []
    token = asked.answer.response["option"]
    options = asked.question.options
    chosen = [one.says for one in options if option_token(sitting.seed, asked.position, one.name) == token]
    named = (idea_named(asked.question, one.blank, one.wrong_idea) for one in grade.blanks if one.wrong_idea)
    return [*(idea.says for idea in named if idea is not None), *(says for says in chosen if says)]


def challenge_step(act: Act, observation_id: str, step: str, *, words: str = "") -> Raised:
    """Ask for the mark of one step of one's own signed observation to be looked at again.

    Raises NotFound for any other observation, Conflict before it is signed, BadInput (field "step" or "words").
    """
    act.session.get(Observation, observation_id, with_for_update=True)
    row = observation_to_challenge(act, observation_id)
    said = _checked(words)
    found = act.session.scalar(
        select(Challenge).where(Challenge.observation_id == row.id, Challenge.step == step)
    )  # fmt: skip
    if found is not None:
        return _raised(found)
    sheet = sheet_of(act, row)
    marks = dict(sheet.result.marks)
    if step not in marks:
        raise BadInput("Choose the step whose mark is to be looked at again; nothing was sent yet.", field="step")
    shown = {
        "procedure": f"{sheet.procedure.code} {sheet.procedure.title}",
        "version": sheet.procedure.version,
        "content_hash": sheet.procedure.content_hash,
        "step": step,
        "step_text": sheet.procedure.step(step).text,
        "mark": marks[step].value,
        "was_prompted": step in sheet.result.prompted,
        "result": sheet.result.decision.value,
        "reasons": [reason.sentence for reason in sheet.result.reasons],
        "marks": [[letter, sheet.procedure.step(letter).text, mark.value] for letter, mark in sheet.result.marks],
        "order": list(sheet.result.order.performed),
        "device": sheet.device,
        "assessor": sheet.assessor_name,
        "happened_at": sheet.happened_at.isoformat(),
        "taps_sha256": str((row.result or {}).get("taps_sha256", "")),
    }
    thing = f"{sheet.procedure.code} {sheet.procedure.title}, step {step}"
    return _raise(
        act, {"observation_id": row.id, "step": step}, thing=thing, shown=shown, words=said,
        apart=Apart(marked=(row.assessor_id,), stand_for_it=_others_on_the_sheet(row)),
    )  # fmt: skip


def observation_to_challenge(act: Act, observation_id: str) -> Observation:
    """Return one's own signed observation; raises as `challenge_step`."""
    row = act.session.get(Observation, observation_id)
    if row is None or row.person_id != act.actor.person_id or row.locked_at is None:
        raise NotFound("There is no such observation of yours.")
    if row.signature_id is None or row.voided_at is not None:
        raise Conflict("This observation is not signed, so it counts for nothing yet. Nothing was sent.")
    return row


def _others_on_the_sheet(row: Observation) -> tuple[str, ...]:
    """Who wrote it over from paper, and who signed it for an assessor who was not current."""
    return tuple(one for one in (row.transcribed_by, row.signed_by) if one and one != row.assessor_id)


def _checked(words: str) -> str:
    said = words.replace("\x00", "").strip()
    if len(said) > LONGEST_WORDS:
        raise BadInput(
            f"What you wrote has {len(said)} characters; at most {LONGEST_WORDS} can be kept. Nothing was sent yet.",
            field="words",
        )
    return said


def _accepted_by(act: Act, row: SittingQuestion) -> tuple[str, ...]:
    """Who accepted this version of the family for the service, and so stands for its key, the newest first."""
    return tuple(
        act.session.scalars(
            select(ContentAcceptance.accepted_by)
            .where(ContentAcceptance.code == row.family, ContentAcceptance.content_hash == row.content_hash)
            .order_by(ContentAcceptance.accepted_at.desc())
        )
    )


def _authors(act: Act, library: Library, row: SittingQuestion) -> tuple[str, ...]:
    """Who wrote the family, as far as its file says so and they are people of this service."""
    family = library.families.get(row.family)
    numbers = {number.lower() for number in family.authors} if family else set()
    if not numbers:
        return ()
    wanted = select(Person.id).where(func.lower(Person.staff_number).in_(numbers)).order_by(Person.id)
    return tuple(act.session.scalars(wanted))


def _thing(act: Act, sitting: Sitting, asked: AskedQuestion) -> str:
    assessment = act.session.get(Assessment, sitting.assessment_id) if sitting.assessment_id else None
    where = f"question {asked.position} of {assessment.title}" if assessment else "practice"
    return f"{asked.question.family} {asked.question.title}, {where}"[:255]


def _raise(
    act: Act,
    about: Mapping[str, str],
    *,
    thing: str,
    shown: Mapping[str, Any],
    words: str,
    apart: Apart,
) -> Raised:
    person = act.session.get_one(Person, act.actor.person_id)
    everybody = frozenset({*apart.marked, *apart.stand_for_it})
    reviewer_id = choose_reviewer(act, base_id=person.base_id, person_id=person.id, apart_ids=everybody)
    row = Challenge(
        id=act.randomness.new_id(),
        person_id=person.id,
        base_id=person.base_id,
        **{"question_id": None, "observation_id": None, "step": None, **about},
        marker_id=next(iter(apart.marked), ""),
        author_id=next(iter(apart.stand_for_it), ""),
        apart_ids=sorted(everybody),
        thing=thing,
        words=words,
        shown=dict(shown),
        shown_hash=shown_hash(shown),
        reviewer_id=reviewer_id,
        raised_at=act.now,
        due_on=due_day(act.today),
    )
    act.session.add(row)
    record(
        act, AuditEvent.CHALLENGE_RAISED, RECORD_TYPE, row.id, person_id=person.id,
        thing=about.get("step", "an answer"),
        after={**about, "shown_sha256": row.shown_hash, "reviewer": reviewer_id or "", "due": row.due_on.isoformat()},
    )  # fmt: skip
    return _raised(row)


def shown_hash(shown: Mapping[str, Any]) -> str:
    """Return the hash of what was shown, whatever the order of its parts."""
    text = json.dumps(shown, sort_keys=True, ensure_ascii=False, separators=(",", ":"), allow_nan=False)
    return hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest()


def _raised(row: Challenge) -> Raised:
    return Raised(id=row.id, reviewer_id=row.reviewer_id or "", due_on=row.due_on)
