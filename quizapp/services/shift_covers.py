"""Shifts with their crews and how each is covered, in bulk: the number of statements does not grow with them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from sqlalchemy import Select, select

from quizapp.assessment.permissions import Right, has_right
from quizapp.assessment.shift_answers import Answer, AnswerKind, Situation, situation
from quizapp.assessment.shift_cover import CoverState, Span, cover, is_stale
from quizapp.assessment.standing_ahead import begin_of
from quizapp.content.library import Library
from quizapp.errors import NotFound
from quizapp.services.act import Act
from quizapp.services.standings_ahead import StandingsAhead, standings_ahead
from quizapp.store.people import Person, RescueBase
from quizapp.store.shifts import CrewShift, ShiftAnswer, ShiftMember


@dataclass(frozen=True, kw_only=True)
class MemberSeen:
    """One person on a crew's shift; `is_current` holds for the whole part of the shift that they are there."""

    person_id: str
    name: str
    crew_role: str
    present: Span
    current: tuple[Span, ...]
    is_current: bool


@dataclass(frozen=True, kw_only=True)
class AnswerSeen:
    """What was done about a shift, in names; `taken_back_by` "" while it stands."""

    id: str
    kind: AnswerKind
    person: str
    other: str
    authority: str
    ends_at: datetime | None
    reason: str
    recorded_by: str
    recorded_at: datetime
    taken_back_by: str

    @property
    def stands(self) -> bool:
        """Whether it was not taken back."""
        return not self.taken_back_by


@dataclass(frozen=True, kw_only=True)
class ShiftSeen:
    """One crew's shift as it stands now; `stale_since` is the moment of its last roster when that is too long ago."""

    id: str
    base: RescueBase
    crew: str
    span: Span
    members: tuple[MemberSeen, ...]
    answers: tuple[AnswerSeen, ...]
    situation: Situation
    confirmed_at: datetime
    stale_since: datetime | None
    known_cover: str

    @property
    def state(self) -> CoverState:
        """How it is covered."""
        return self.situation.cover.state

    @property
    def current_count(self) -> int:
        """How many of the crew are current for all of their part."""
        return sum(one.is_current for one in self.members)


def shifts_of_bases(
    act: Act, library: Library, base_ids: Collection[str], *, first_day: date, last_day: date
) -> list[ShiftSeen]:
    """Return the shifts of bases that start on one of the days, first and last included, in order of time."""
    return shifts_seen(act, library, rows_between(act, base_ids, first_day, last_day))


def rows_between(act: Act, base_ids: Collection[str], first_day: date, last_day: date) -> list[CrewShift]:
    """Return the rows of the shifts of bases that start on one of the days, in order of time."""
    first, after = begin_of(first_day, act.zone), begin_of(last_day + timedelta(days=1), act.zone)
    wanted = _kept().where(CrewShift.base_id.in_(base_ids), CrewShift.starts_at >= first, CrewShift.starts_at < after)
    return list(act.session.scalars(wanted))


def coming_shifts(act: Act, library: Library, base_ids: Collection[str]) -> list[ShiftSeen]:
    """Return every shift of bases that is not over yet."""
    wanted = _kept().where(CrewShift.base_id.in_(base_ids), CrewShift.ends_at > act.now)
    return shifts_seen(act, library, list(act.session.scalars(wanted)))


def shift_seen(act: Act, library: Library, shift_id: str) -> ShiftSeen:
    """Return one shift of a base whose readiness the actor sees; raises NotFound for any other."""
    row = act.session.get(CrewShift, shift_id)
    if (
        row is None
        or row.removed_at is not None
        or not has_right(act.actor, Right.SEE_READINESS, act.today, row.base_id)
    ):
        raise NotFound("There is no such shift at a base of yours.")
    return shifts_seen(act, library, [row])[0]


def _kept() -> Select[CrewShift]:
    return (
        select(CrewShift)
        .where(CrewShift.removed_at.is_(None))
        .order_by(CrewShift.starts_at, CrewShift.crew, CrewShift.id)
    )


def shifts_seen(act: Act, library: Library, rows: Sequence[CrewShift]) -> list[ShiftSeen]:
    """Work out the shifts of some rows, whatever their bases, with a constant number of statements."""
    members = members_of_shifts(act, [row.id for row in rows])
    people = {person.id: person for pairs in members.values() for _, person in pairs}
    base_ids = {row.base_id for row in rows}
    ahead = standings_ahead(act, library, list(people.values()), base_ids, since=_all_of(act, rows).start)
    return worked_out(act, rows, members, ahead)


def worked_out(
    act: Act, rows: Sequence[CrewShift], members: Mapping[str, Sequence[tuple[ShiftMember, Person]]],
    ahead: StandingsAhead, *, within: Span | None = None,
) -> list[ShiftSeen]:  # fmt: skip
    """Work out the shifts of some rows from records gathered already; `within` holds all of them (default: just so)."""
    bases = _bases(act, {row.base_id for row in rows})
    answers = _answers(act, [row.id for row in rows])
    within = within or _all_of(act, rows)
    return [_seen(act, row, bases, members.get(row.id, []), answers.get(row.id, ()), ahead, within) for row in rows]


def _all_of(act: Act, rows: Sequence[CrewShift]) -> Span:
    """Give one span around all shifts, so that each person is worked out once."""
    if not rows:
        return Span(act.now, act.now)
    return Span(min(row.starts_at for row in rows), max(row.ends_at for row in rows))


def _seen(
    act: Act, row: CrewShift, bases: Mapping[str, RescueBase], members: Sequence[tuple[ShiftMember, Person]],
    answers: Sequence[AnswerSeen], ahead: StandingsAhead, within: Span,
) -> ShiftSeen:  # fmt: skip
    span = Span(row.starts_at, row.ends_at)
    crew = tuple(_member(member, person, row.base_id, ahead, within) for member, person in members)
    found = cover(span, (part for one in crew for part in one.current))
    standing = [Answer(kind=one.kind, ends_at=one.ends_at) for one in answers if one.stands]
    return ShiftSeen(
        id=row.id,
        base=bases[row.base_id],
        crew=row.crew,
        span=span,
        members=crew,
        answers=tuple(answers),
        situation=situation(found, standing),
        confirmed_at=row.confirmed_at,
        stale_since=row.confirmed_at if row.ends_at > act.now and is_stale(row.confirmed_at, act.now) else None,
        known_cover=row.known_cover,
    )


def _member(member: ShiftMember, person: Person, base_id: str, ahead: StandingsAhead, within: Span) -> MemberSeen:
    present = Span(member.from_at, member.until_at)
    spells = ahead.spells(person.id, base_id, within)
    current = tuple(part for one in spells if (part := one.within(present)) is not None)
    return MemberSeen(
        person_id=person.id,
        name=person.name,
        crew_role=member.crew_role,
        present=present,
        current=current,
        is_current=current == (present,),
    )


def members_of_shifts(act: Act, shift_ids: Collection[str]) -> dict[str, list[tuple[ShiftMember, Person]]]:
    """Return the crews of shifts, by name."""
    found: dict[str, list[tuple[ShiftMember, Person]]] = defaultdict(list)
    rows = act.session.execute(
        select(ShiftMember, Person)
        .join(Person, Person.id == ShiftMember.person_id)
        .where(ShiftMember.shift_id.in_(shift_ids))
        .order_by(Person.name, Person.id)
    )
    for member, person in rows:
        found[member.shift_id].append((member, person))
    return found


def _bases(act: Act, base_ids: Collection[str]) -> dict[str, RescueBase]:
    rows = act.session.scalars(select(RescueBase).where(RescueBase.id.in_(base_ids)))
    return {base.id: base for base in rows}


def _answers(act: Act, shift_ids: Collection[str]) -> dict[str, tuple[AnswerSeen, ...]]:
    """Return what was done about shifts, oldest first, with the names of all concerned."""
    rows = list(
        act.session.scalars(
            select(ShiftAnswer)
            .where(ShiftAnswer.shift_id.in_(shift_ids))
            .order_by(ShiftAnswer.recorded_at, ShiftAnswer.id)
        )
    )
    names = _names(act, rows)
    taken_back = {row.takes_back_id: names[row.recorded_by] for row in rows if row.takes_back_id}
    found: dict[str, list[AnswerSeen]] = defaultdict(list)
    for row in rows:
        if row.kind != AnswerKind.TAKEN_BACK:
            found[row.shift_id].append(_answer(row, names, taken_back.get(row.id, "")))
    return {shift_id: tuple(answers) for shift_id, answers in found.items()}


def _names(act: Act, rows: Sequence[ShiftAnswer]) -> dict[str | None, str]:
    concerned = {one for row in rows for one in (row.person_id, row.other_id, row.authority_id, row.recorded_by) if one}
    found = act.session.execute(select(Person.id, Person.name).where(Person.id.in_(concerned)))
    names: dict[str | None, str] = {None: ""}
    names.update((person_id, name) for person_id, name in found)
    return names


def _answer(row: ShiftAnswer, names: Mapping[str | None, str], taken_back_by: str) -> AnswerSeen:
    return AnswerSeen(
        id=row.id,
        kind=AnswerKind(row.kind),
        person=names[row.person_id],
        other=names[row.other_id],
        authority=names[row.authority_id],
        ends_at=row.ends_at,
        reason=row.reason,
        recorded_by=names[row.recorded_by],
        recorded_at=row.recorded_at,
        taken_back_by=taken_back_by,
    )
