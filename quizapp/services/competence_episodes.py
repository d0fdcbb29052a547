"""The evidence for the estimate of competence as it stands in the records: answers handed in, observations signed."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any
from zoneinfo import ZoneInfo

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from quizapp.assessment.competence_evidence import Episode, Given, knowledge_episode, performance_episode
from quizapp.assessment.competence_settings import Track
from quizapp.assessment.double_settlement import Settlement
from quizapp.assessment.observation_state import StepMark
from quizapp.assessment.sitting_purpose import SittingPurpose
from quizapp.services.remarked import newest_results, question_is_void
from quizapp.store.accepted_content import ContentWithdrawal
from quizapp.store.observations import Comparison, Observation
from quizapp.store.sittings import Answer, Sitting, SittingQuestion


@dataclass(frozen=True, kw_only=True, order=True)
class Skill:
    """One competency of one person on one track: what is estimated by itself."""

    person_id: str
    competency: str
    track: Track


Episodes = dict[Skill, list[Episode]]


def episodes_of(session: Session, zone: ZoneInfo, person_ids: Sequence[str]) -> Episodes:
    """Return all evidence of people, with six statements whatever their number."""
    found = _episodes_of_sittings(session, zone, Sitting.person_id.in_(person_ids))
    for skill, episodes in _episodes_of_observations(session, zone, Observation.person_id.in_(person_ids)).items():
        found[skill] += episodes
    return found


def episodes_of_sitting(session: Session, zone: ZoneInfo, sitting_id: str) -> Episodes:
    """Return the evidence of one sitting, one episode for each competency that was answered."""
    return _episodes_of_sittings(session, zone, Sitting.id == sitting_id)


def episodes_of_observation(
    zone: ZoneInfo, row: Observation, sheet_count: int = 1, corrected: dict[str, Any] | None = None
) -> Episodes:
    """Return the evidence of one observation, the same for each competency of its procedure.

    `sheet_count`: the signed sheets of the same performance. `corrected`: its result after a mark was corrected.
    """
    result = corrected or row.result
    if result is None:
        return {}
    episode = performance_episode(
        day=_day(row.happened_at, zone),
        source_id=row.id,
        marks={step: StepMark(mark) for step, mark in result["marks"].items()},
        prompted=result["prompted"],
        sheet_count=sheet_count,
    )
    return {
        Skill(person_id=row.person_id, competency=competency, track=Track.PERFORMANCE): [episode]
        for competency in row.frozen["competencies"]
        if episode is not None
    }


def _episodes_of_observations(session: Session, zone: ZoneInfo, which: Any) -> Episodes:
    found: Episodes = defaultdict(list)
    rows = _sheets_that_stand(session, which)
    sheets = Counter(row.performance_id for row in rows)
    corrected = newest_results(session, [row.id for row in rows])
    for row in rows:
        found_here = episodes_of_observation(zone, row, sheets[row.performance_id], corrected.get(row.id))
        for skill, episodes in found_here.items():
            found[skill] += episodes
    return found


def _sheets_that_stand(session: Session, which: Any) -> list[Observation]:
    """The signed sheets, without those that an educator set aside beside another of the same performance."""
    performances = select(Observation.performance_id).where(which)
    settled = {
        one.performance_id: one
        for one in session.scalars(select(Comparison).where(Comparison.performance_id.in_(performances)))
    }
    rows = session.scalars(select(Observation).where(which, Observation.signature_id.is_not(None)))
    return [row for row in rows if _stands(row, settled.get(row.performance_id))]


def _stands(row: Observation, settled: Comparison | None) -> bool:
    if settled is None or settled.outcome not in {Settlement.ONE_STANDS, Settlement.OBSERVE_AGAIN}:
        return True
    return settled.outcome == Settlement.ONE_STANDS and settled.stands_id == row.id


def _episodes_of_sittings(session: Session, zone: ZoneInfo, which: Any) -> Episodes:
    sittings = {
        one.id: one
        for one in session.execute(
            select(Sitting.id, Sitting.person_id, Sitting.purpose, Sitting.submitted_at).where(
                which, Sitting.submitted_at.is_not(None)
            )
        )
    }
    taken_out = withdrawals(session)
    given: dict[tuple[str, str], list[Given]] = defaultdict(list)
    for row in session.execute(_answers_that_count(which)):
        if not taken_out.holds(row.family, row.content_hash, sittings[row.sitting_id].submitted_at):
            given[row.sitting_id, row.competency].append(_given(row))
    found: Episodes = defaultdict(list)
    for (sitting_id, competency), answers in given.items():
        sitting = sittings[sitting_id]
        skill = Skill(person_id=sitting.person_id, competency=competency, track=Track.KNOWLEDGE)
        found[skill].append(
            knowledge_episode(
                day=_day(sitting.submitted_at, zone),
                source_id=sitting_id,
                is_assessed=sitting.purpose == SittingPurpose.ASSESSMENT,
                given=answers,
            )
        )
    return found


def _answers_that_count(which: Any) -> Any:
    """The newest answer to each question of sittings handed in, unless it came after the time had run out."""
    newest = (
        select(Answer.question_id, func.max(Answer.revision).label("revision"))
        .join(SittingQuestion, SittingQuestion.id == Answer.question_id)
        .join(Sitting, Sitting.id == SittingQuestion.sitting_id)
        .where(which, Sitting.submitted_at.is_not(None))
        .group_by(Answer.question_id)
        .subquery()
    )
    return (
        select(
            SittingQuestion.sitting_id,
            SittingQuestion.competency,
            SittingQuestion.family,
            SittingQuestion.content_hash,
            SittingQuestion.weight_percent,
            SittingQuestion.just_competent_fraction,
            SittingQuestion.option_count,
            Answer.grade,
        )
        .join(newest, newest.c.question_id == SittingQuestion.id)
        .join(Answer, (Answer.question_id == newest.c.question_id) & (Answer.revision == newest.c.revision))
        .where(Answer.is_late.is_(False), ~question_is_void())
        .order_by(SittingQuestion.sitting_id, SittingQuestion.position)
    )


def _given(row: Any) -> Given:
    return Given(
        credit_fraction=float(row.grade["credit"]),
        just_competent_fraction=row.just_competent_fraction,
        option_count=row.option_count,
        freshness_fraction=row.weight_percent / 100,
    )


@dataclass(frozen=True, kw_only=True)
class Withdrawals:
    """When which content was withdrawn, so that a sitting is read as it was marked."""

    spans: dict[tuple[str, str], list[tuple[datetime, datetime | None]]]

    def holds(self, code: str, content_hash: str, at: datetime) -> bool:
        """Whether the content was withdrawn at a moment."""
        return any(
            begun <= at and (ended is None or at < ended) for begun, ended in self.spans.get((code, content_hash), ())
        )


def withdrawals(session: Session) -> Withdrawals:
    """Return when which families and procedures were withdrawn, with one statement."""
    spans: dict[tuple[str, str], list[tuple[datetime, datetime | None]]] = defaultdict(list)
    for row in session.scalars(select(ContentWithdrawal).where(ContentWithdrawal.step == "")):
        spans[row.code, row.content_hash].append((row.withdrawn_at, row.lifted_at))
    return Withdrawals(spans=spans)


def _day(moment: datetime, zone: ZoneInfo) -> date:
    return moment.astimezone(zone).date()
