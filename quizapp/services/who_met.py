"""Everybody who met a piece of content, in whatever version: who, where, how and when."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Select, func, literal, select, union_all

from quizapp.assessment.permissions import Right
from quizapp.content.library import Library
from quizapp.errors import NotFound
from quizapp.services.act import Act
from quizapp.services.content_items import ContentKind
from quizapp.services.require_right import require_right
from quizapp.store.decisions import Decision
from quizapp.store.discussions import Discussion
from quizapp.store.observations import Observation
from quizapp.store.people import Person, RescueBase
from quizapp.store.rehearsals import Rehearsal
from quizapp.store.sittings import Sitting, SittingQuestion
from quizapp.ventilation.device_profile import DeviceProfile


@dataclass(frozen=True, kw_only=True)
class Met:
    """One person who met the content: how (sitting, rehearsal, observation, decision), how often, when last.

    `same_bytes` says that it was exactly the file as it is now, not an earlier one.
    """

    person_id: str
    name: str
    staff_number: str
    base_name: str
    how: str
    times: int
    last_at: datetime
    same_bytes: bool


def who_met(act: Act, library: Library, *, kind: ContentKind, code: str, content_hash: str) -> tuple[Met, ...]:
    """Return everybody who met a family, a procedure or a device profile (by slug), newest first, in one statement."""
    require_right(act, Right.WITHDRAW_CONTENT)
    met = union_all(*_sources(library, kind, code, content_hash)).subquery()
    rows = act.session.execute(
        select(
            met.c.person_id, Person.name, Person.staff_number, RescueBase.name, met.c.how,
            func.count(), func.max(met.c.at), met.c.same,
        )
        .join(Person, Person.id == met.c.person_id)
        .join(RescueBase, RescueBase.id == Person.base_id)
        .group_by(met.c.person_id, Person.name, Person.staff_number, RescueBase.name, met.c.how, met.c.same)
        .order_by(func.max(met.c.at).desc(), Person.name)
    )  # fmt: skip
    return tuple(
        Met(
            person_id=person_id,
            name=name,
            staff_number=number,
            base_name=base,
            how=how,
            times=times,
            last_at=last_at,
            same_bytes=bool(same),
        )
        for person_id, name, number, base, how, times, last_at, same in rows
    )


Rows = Select[str, str, datetime, bool]


def _sources(library: Library, kind: ContentKind, code: str, content_hash: str) -> list[Rows]:
    if kind is ContentKind.PROFILE:
        if code not in library.profile_files:
            raise NotFound("There is no such content.")
        return _met_profile(library.profile_files[code].profile)
    if kind is ContentKind.DISCUSSION:
        return _met_discussion(code, content_hash)
    return _met_family(code, content_hash) if kind is ContentKind.FAMILY else _met_procedure(code, content_hash)


def _met_family(code: str, content_hash: str) -> list[Rows]:
    same = (SittingQuestion.content_hash == content_hash).label("same")
    return [
        select(Sitting.person_id, literal("sitting").label("how"), Sitting.started_at.label("at"), same)
        .join(SittingQuestion, SittingQuestion.sitting_id == Sitting.id)
        .where(SittingQuestion.family == code)
    ]


def _met_procedure(code: str, content_hash: str) -> list[Rows]:
    return [
        select(
            Rehearsal.person_id,
            literal("rehearsal").label("how"),
            Rehearsal.started_at.label("at"),
            (Rehearsal.content_hash == content_hash).label("same"),
        ).where(Rehearsal.procedure == code),
        select(
            Observation.person_id,
            literal("observation").label("how"),
            Observation.opened_at.label("at"),
            (Observation.content_hash == content_hash).label("same"),
        ).where(Observation.procedure == code),
    ]


def _met_discussion(code: str, content_hash: str) -> list[Rows]:
    same = (Discussion.content_hash == content_hash).label("same")
    how, at = literal("discussion").label("how"), Discussion.opened_at.label("at")
    return [select(Discussion.person_id, how, at, same).where(Discussion.code == code)]


def _met_profile(profile: DeviceProfile) -> list[Rows]:
    same = literal(True).label("same")
    code, revision = profile.code, profile.revision
    return [
        select(Sitting.person_id, literal("sitting").label("how"), Sitting.started_at.label("at"), same).where(
            Sitting.profile_code == code, Sitting.profile_revision == revision
        ),
        select(
            Observation.person_id, literal("observation").label("how"), Observation.opened_at.label("at"), same
        ).where(Observation.profile_code == code, Observation.profile_revision == revision),
        select(Decision.person_id, literal("decision").label("how"), Decision.decided_at.label("at"), same).where(
            Decision.profile_code == code, Decision.profile_revision == revision
        ),
    ]
