"""Challenges as people find them: the open ones of an educator's bases, one's own, and one with all it holds."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from typing import Any, TypeAlias

from sqlalchemy import Select, select
from sqlalchemy.orm import aliased

from quizapp.assessment.challenges import ChallengeOutcome, may_review
from quizapp.assessment.permissions import Right, has_right
from quizapp.assessment.person_rules import Denied
from quizapp.assessment.roles import Role, bases_for
from quizapp.errors import NotFound
from quizapp.services.act import Act
from quizapp.services.require_right import require_right
from quizapp.store.challenges import Challenge, ChallengeAnswer
from quizapp.store.people import Person, RescueBase

NEWEST = 100
Rows: TypeAlias = "Select[Challenge, ChallengeAnswer, str, str, str, str]"
_REVIEWER = aliased(Person)
_ANSWERED_BY = aliased(Person)


@dataclass(frozen=True, kw_only=True)
class ChallengeLine:
    """One challenge in a list. `refusal`: why the actor may not answer it, "" where they may.

    `outcome` None: it is still open.
    """

    id: str
    thing: str
    person_name: str
    base_name: str
    raised_at: datetime
    due_on: date
    is_overdue: bool
    reviewer_name: str
    is_mine: bool
    refusal: str
    outcome: ChallengeOutcome | None
    reason: str
    answered_by: str
    answered_at: datetime | None


@dataclass(frozen=True, kw_only=True)
class ChallengeSeen:
    """One challenge whole: its line, the person's words, what was shown, and what it is about."""

    line: ChallengeLine
    person_id: str
    base_id: str
    words: str
    shown: dict[str, Any]
    shown_hash: str
    question_id: str | None
    observation_id: str | None
    step: str
    scope: str
    apart_ids: tuple[str, ...]
    is_own: bool


def open_challenges(act: Act) -> tuple[ChallengeLine, ...]:
    """Return the open challenges at the actor's bases, overdue first, then by the day they are due."""
    require_right(act, Right.REVIEW_CHALLENGE)
    reach = bases_for(act.actor.roles_held, Role.EDUCATOR, act.today)
    wanted = _rows().where(ChallengeAnswer.id.is_(None), Challenge.person_id != act.actor.person_id)
    if not reach.whole_service:
        wanted = wanted.where(Challenge.base_id.in_(reach.base_ids))
    return _lines(act, wanted.order_by(Challenge.due_on, Challenge.raised_at, Challenge.id).limit(NEWEST))


def answered_challenges(act: Act) -> tuple[ChallengeLine, ...]:
    """Return the newest answered challenges at the actor's bases."""
    require_right(act, Right.REVIEW_CHALLENGE)
    reach = bases_for(act.actor.roles_held, Role.EDUCATOR, act.today)
    wanted = _rows().where(ChallengeAnswer.id.is_not(None), Challenge.person_id != act.actor.person_id)
    if not reach.whole_service:
        wanted = wanted.where(Challenge.base_id.in_(reach.base_ids))
    return _lines(act, wanted.order_by(ChallengeAnswer.answered_at.desc(), Challenge.id).limit(20))


def own_challenges(act: Act) -> tuple[ChallengeLine, ...]:
    """Return the actor's own challenges, newest first."""
    mine = _rows().where(Challenge.person_id == act.actor.person_id)
    return _lines(act, mine.order_by(Challenge.raised_at.desc(), Challenge.id).limit(NEWEST))


def challenge_seen(act: Act, challenge_id: str) -> ChallengeSeen:
    """Return one challenge for its person, or for an educator of its base; raises NotFound for everybody else."""
    found = act.session.execute(_rows().where(Challenge.id == challenge_id)).one_or_none()
    if found is None or not _may_see(act, found[0]):
        raise NotFound("There is no such challenge for you to see.")
    row, answer = found[0], found[1]
    return ChallengeSeen(
        line=_line(act, found),
        person_id=row.person_id,
        base_id=row.base_id,
        words=row.words,
        shown=row.shown,
        shown_hash=row.shown_hash,
        question_id=row.question_id,
        observation_id=row.observation_id,
        step=row.step or "",
        scope=answer.scope if answer else "",
        apart_ids=tuple(row.apart_ids),
        is_own=row.person_id == act.actor.person_id,
    )


def _may_see(act: Act, row: Challenge) -> bool:
    if row.person_id == act.actor.person_id:
        return True
    return has_right(act.actor, Right.REVIEW_CHALLENGE, act.today, row.base_id)


def _rows() -> Rows:
    return (
        select(Challenge, ChallengeAnswer, Person.name, RescueBase.name, _REVIEWER.name, _ANSWERED_BY.name)
        .join(Person, Person.id == Challenge.person_id)
        .join(RescueBase, RescueBase.id == Challenge.base_id)
        .outerjoin(ChallengeAnswer, ChallengeAnswer.challenge_id == Challenge.id)
        .outerjoin(_REVIEWER, _REVIEWER.id == Challenge.reviewer_id)
        .outerjoin(_ANSWERED_BY, _ANSWERED_BY.id == ChallengeAnswer.reviewer_id)
    )


def _lines(act: Act, wanted: Rows) -> tuple[ChallengeLine, ...]:
    return tuple(_line(act, found) for found in act.session.execute(wanted))


def _line(act: Act, found: Any) -> ChallengeLine:
    row, answer, person_name, base_name, reviewer_name, answered_by = found
    verdict = may_review(
        act.actor, person_id=row.person_id, apart_ids=frozenset(row.apart_ids),
        base_id=row.base_id, day=act.today,
    )  # fmt: skip
    return ChallengeLine(
        id=row.id,
        thing=row.thing,
        person_name=person_name,
        base_name=base_name,
        raised_at=row.raised_at,
        due_on=row.due_on,
        is_overdue=answer is None and row.due_on < act.today,
        reviewer_name=reviewer_name or "",
        is_mine=row.reviewer_id == act.actor.person_id,
        refusal=verdict.reason if isinstance(verdict, Denied) else "",
        outcome=ChallengeOutcome(answer.outcome) if answer else None,
        reason=answer.reason if answer else "",
        answered_by=answered_by or "",
        answered_at=answer.answered_at if answer else None,
    )
