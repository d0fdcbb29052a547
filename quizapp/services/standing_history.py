"""One person's standing for those who answer for it: at any minute gone by, and everything that changed it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import datetime

from sqlalchemy import select

from quizapp.assessment.dates import day_in_words
from quizapp.assessment.decision_origin import DecisionOrigin
from quizapp.assessment.permissions import Right, has_right
from quizapp.assessment.person_rules import Denied, PersonView, may_see_person
from quizapp.assessment.standing_event_kind import StandingEventKind
from quizapp.content.library import Library
from quizapp.errors import NotFound
from quizapp.services.act import Act
from quizapp.services.person_standing import PersonStands, bases_at, standing_of
from quizapp.store.audit import Signature
from quizapp.store.decisions import Decision, StandingEnd, StandingEvent
from quizapp.store.people import Person, RescueBase


@dataclass(frozen=True, kw_only=True)
class Change:
    """One thing that changed a standing: when, what, by whom, why; `ending_id` where it can still be ended."""

    at: datetime
    what: str
    detail: str
    by: str
    reason: str
    decision_id: str = ""
    receipt: str = ""
    is_struck: bool = False
    ending_id: str = ""


@dataclass(frozen=True, kw_only=True)
class PersonPage:
    """How a person stands at the minute asked, now, and everything that changed it, the newest first.

    `view` says how much may be shown: reasons only to educators and the person.
    """

    person: Person
    base: RescueBase
    at: datetime
    is_past: bool
    stands: PersonStands
    changes: tuple[Change, ...]
    view: PersonView
    may_decide: bool


def person_page(act: Act, library: Library, person_id: str, *, at: datetime | None = None) -> PersonPage:
    """Return one person's standing at a minute (default: now); raises NotFound for whom the actor may not see."""
    person = act.session.get(Person, person_id)
    view = _view(act, person)
    if person is None or view is None:
        raise NotFound("There is nobody here whose standing you may see.")
    minute = min(at, act.now) if at is not None else act.now
    base_id = bases_at(act, [person], minute)[person.id]
    return PersonPage(
        person=person,
        base=act.session.get_one(RescueBase, base_id),
        at=minute,
        is_past=minute < act.now,
        stands=standing_of(act, library, person_id, at=minute),
        changes=_changes(act, person_id, view),
        view=view,
        may_decide=has_right(act.actor, Right.DECIDE, act.today, person.base_id) and person_id != act.actor.person_id,
    )


def _view(act: Act, person: Person | None) -> PersonView | None:
    if person is None:
        return None
    verdict = may_see_person(
        act.actor, person_id=person.id, base_id=person.base_id, last_observed=None, day=act.today
    )  # fmt: skip
    return None if isinstance(verdict, Denied) else verdict.view


def _changes(act: Act, person_id: str, view: PersonView) -> tuple[Change, ...]:
    reads_reasons = view in {PersonView.OWN, PersonView.TEACHING}
    decisions = list(act.session.scalars(select(Decision).where(Decision.person_id == person_id)))
    events = list(act.session.scalars(select(StandingEvent).where(StandingEvent.person_id == person_id)))
    ends = {one.event_id: one for one in act.session.scalars(select(StandingEnd).where(
        StandingEnd.person_id == person_id))}  # fmt: skip
    names = {one.id: one.name for one in act.session.scalars(select(Person).where(Person.id.in_(
        _people(decisions, events, ends.values()))))}  # fmt: skip
    receipts = _receipts(act, decisions)
    replaced = {one.replaces_id for one in decisions if one.replaces_id}
    found = [
        *(_decided(one, names, receipts, is_replaced=one.id in replaced) for one in decisions),
        *(_event(one, names, is_open=_is_open(act, one, ends)) for one in events),
        *(_end(one, names) for one in ends.values()),
    ]
    shown = found if reads_reasons else [replace(one, reason="") for one in found]
    return tuple(sorted(shown, key=lambda one: one.at, reverse=True))


def _people(decisions: Iterable[Decision], events: Iterable[StandingEvent], ends: Iterable[StandingEnd]) -> set[str]:
    ids = {person for one in decisions for person in (one.decided_by, one.second_by) if person}
    ids |= {person for one in ends for person in (one.recorded_by, one.second_by) if person}
    return ids | {one.recorded_by for one in events}


def _receipts(act: Act, decisions: list[Decision]) -> dict[str, str]:
    signed = [one.signature_id for one in decisions if one.signature_id]
    rows = act.session.execute(select(Signature.id, Signature.signature_hash).where(Signature.id.in_(signed)))
    return {signature_id: found[:16] for signature_id, found in rows}


def _decided(row: Decision, names: dict[str, str], receipts: dict[str, str], *, is_replaced: bool) -> Change:
    until = f" until {day_in_words(row.last_valid_day)}" if row.last_valid_day else ""
    void = ", void" if row.voided_at else (", amended since" if is_replaced else "")
    second = f" and {names[row.second_by]}" if row.second_by else ""
    return Change(
        at=row.decided_at,
        what=f"{row.competency}: {row.outcome.replace('_', ' ')}{until}{void}",
        detail=f"{row.profile_code} revision {row.profile_revision}, {DecisionOrigin(row.origin).words}",
        by=f"{names[row.decided_by]}{second}",
        reason=row.reason + (f" Conditions: {row.conditions}" if row.conditions else ""),
        decision_id=row.id,
        receipt=receipts.get(row.signature_id or "", ""),
        is_struck=row.voided_at is not None or is_replaced,
    )


def _is_open(act: Act, row: StandingEvent, ends: dict[str, StandingEnd]) -> bool:
    return row.id not in ends and (row.until_day is None or row.until_day >= act.today)


def _event(row: StandingEvent, names: dict[str, str], *, is_open: bool) -> Change:
    about = f" in {row.competency}" if row.competency else ""
    until = f" until {day_in_words(row.until_day)}" if row.until_day else ", open"
    return Change(
        at=row.recorded_at,
        what=f"{StandingEventKind(row.kind).value.capitalize()}{about}",
        detail=f"from {day_in_words(row.from_day)}{until}",
        by=names[row.recorded_by],
        reason=row.reason,
        ending_id=row.id if is_open else "",
    )


def _end(row: StandingEnd, names: dict[str, str]) -> Change:
    second = f" and {names[row.second_by]}" if row.second_by else ""
    return Change(
        at=row.recorded_at, what="Ended early", detail="", by=f"{names[row.recorded_by]}{second}", reason=row.reason
    )
