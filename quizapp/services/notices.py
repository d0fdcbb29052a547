"""Reminders of a last valid day and a lead's daily digest, written into the outbox; and one's own notices."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlalchemy import select

from quizapp.assessment.dates import day_in_words
from quizapp.assessment.notices import NoticeKind, NoticeState, reminder_due
from quizapp.assessment.roles import Role
from quizapp.content.library import Library
from quizapp.services.act import Act
from quizapp.services.booked_places import booked_places
from quizapp.services.clinicians import clinicians
from quizapp.services.person_standing import PersonStands, standings
from quizapp.services.sign_in import roles_of
from quizapp.services.write_notices import NoticeWanted, write_notices
from quizapp.store.notices import Notice
from quizapp.store.people import Person, RescueBase
from quizapp.store.roles import RoleGrant

MOST_SHOWN = 200


def write_due_notices(act: Act, library: Library) -> int:
    """Write today's reminders and digests and return how many are new; any number of runs a day writes each once."""
    people = clinicians(act)
    stands = standings(act, library, people)
    booked = booked_places(act, list(stands))
    reminders = [
        one for person in people if (one := _reminder(act, stands[person.id], person.id in booked)) is not None
    ]
    return write_notices(act, [*reminders, *_digests(act, people, stands)])


def _reminder(act: Act, stands: PersonStands, has_place: bool) -> NoticeWanted | None:
    end = stands.report.soonest_end
    days = None if end is None or not stands.report.standing.is_in_date else reminder_due(end, act.today)
    if end is None or days is None:
        return None
    then = "You hold a place on a session day." if has_place else "You hold no place on a session day yet."
    return NoticeWanted(
        person_id=stands.person.id,
        kind=NoticeKind.REMINDER,
        once_key=f"reminder {stands.person.id} {end.isoformat()} {days}",
        subject=f"Your last valid day is {day_in_words(end)}",
        body=f"You are current until {day_in_words(end)}. {then} Renewing in the last 60 days keeps your date.",
    )


def _digests(act: Act, people: Sequence[Person], stands: dict[str, PersonStands]) -> Iterable[NoticeWanted]:
    """Give each team lead one digest a day of their bases, in counts and without names; none where nothing is due."""
    lead_ids = list(
        act.session.scalars(select(RoleGrant.person_id).where(RoleGrant.role == Role.TEAM_LEAD.value).distinct())
    )
    roles = roles_of(act.session, lead_ids)
    bases = list(act.session.scalars(select(RescueBase).order_by(RescueBase.name)))
    for lead_id in lead_ids:
        leads = [one for one in roles[lead_id] if one.role is Role.TEAM_LEAD and one.is_held_on(act.today)]
        mine = [base for base in bases if any(one.reaches(base.id) for one in leads)]
        lines = [line for base in mine if (line := _line(act, base, people, stands))]
        if lines:
            yield NoticeWanted(
                person_id=lead_id,
                kind=NoticeKind.DIGEST,
                once_key=f"digest {lead_id} {act.today.isoformat()}",
                subject=f"Readiness on {day_in_words(act.today)}",
                body="\n".join(lines),
            )


def _line(act: Act, base: RescueBase, people: Sequence[Person], stands: dict[str, PersonStands]) -> str:
    here = [stands[person.id].report for person in people if person.base_id == base.id]
    out = sum(not report.standing.is_in_date for report in here)
    soon = sum(
        report.standing.is_in_date and report.soonest_end is not None
        and report.soonest_end <= act.today + timedelta(days=30)
        for report in here
    )  # fmt: skip
    if not out and not soon:
        return ""
    return f"{base.name}: {len(here) - out} of {len(here)} are current; {soon} stop being current within 30 days."


@dataclass(frozen=True, kw_only=True)
class NoticeLine:
    """One notice as its person sees it."""

    subject: str
    body: str
    written_at: datetime
    by_mail: str


def my_notices(act: Act) -> tuple[NoticeLine, ...]:
    """Return the actor's own notices, newest first, 200 at most."""
    rows = act.session.scalars(
        select(Notice)
        .where(Notice.person_id == act.actor.person_id)
        .order_by(Notice.written_at.desc(), Notice.id)
        .limit(MOST_SHOWN)
    )
    has_address = bool(act.session.get_one(Person, act.actor.person_id).email)
    return tuple(
        NoticeLine(subject=row.subject, body=row.body, written_at=row.written_at, by_mail=_by_mail(row, has_address))
        for row in rows
    )


def _by_mail(row: Notice, has_address: bool) -> str:
    state = NoticeState(row.state)
    return state.words if has_address or state is not NoticeState.WAITING else "no mail address is on record"
