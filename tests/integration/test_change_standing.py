"""Suspending, withdrawing, pausing, restricting: by whom, from when, why, and never for oneself."""

from __future__ import annotations

from datetime import timedelta

import pytest
from sqlalchemy import select
from sqlalchemy.exc import IntegrityError

from quizapp.assessment.roles import Role
from quizapp.assessment.standing import PersonStanding
from quizapp.assessment.standing_event_kind import StandingEventKind
from quizapp.content.library import Library
from quizapp.errors import BadInput, NotAllowed, NotFound
from quizapp.services.change_standing import StandingChange, change_standing
from quizapp.services.person_standing import standing_of
from quizapp.store.audit import AuditRow
from quizapp.store.decisions import StandingEvent
from quizapp.store.roles import RoleGrant
from tests.small_service import FIRST_DAY, SmallService

REASON = "Asked for after the night of the first"
EVENTS = {
    StandingEventKind.SUSPENDED: "person_suspended",
    StandingEventKind.WITHDRAWN: "person_withdrawn",
    StandingEventKind.PAUSED: "person_paused",
    StandingEventKind.RESTRICTED: "person_restricted",
}


def changed(
    small: SmallService, kind: StandingEventKind, *, by: str = "ines", who: str = "mira", starts: int = 0,
    lasts: int | None = 30, reason: str = REASON,
) -> str:  # fmt: skip
    with small.acting(by) as act:
        from_day = act.today + timedelta(days=starts)
        until = None if lasts is None else from_day + timedelta(days=lasts)
        change = StandingChange(kind=kind, from_day=from_day, until_day=until, reason=reason)
        return change_standing(act, small.person_id(who), change)


def stored(small: SmallService) -> list[StandingEvent]:
    with small.database.reading() as session:
        return list(session.scalars(select(StandingEvent)))


@pytest.mark.parametrize("kind", StandingEventKind)
def test_a_change_is_kept_with_who_and_why_and_leaves_its_trace(small: SmallService, kind: StandingEventKind) -> None:
    event_id = changed(small, kind, reason=f"  {REASON}  ")
    (row,) = stored(small)
    assert (row.id, row.kind, row.reason) == (event_id, kind.value, REASON)
    assert row.recorded_by == small.person_id("ines")
    assert (row.until_day - row.from_day).days == 30 if row.until_day else False
    with small.database.reading() as session:
        audited = list(session.scalars(select(AuditRow).where(AuditRow.event == EVENTS[kind])))
    assert [one.object_id for one in audited] == [event_id]
    assert REASON.encode() not in audited[0].body


@pytest.mark.parametrize("kind", StandingEventKind)
def test_it_may_begin_later(small: SmallService, library: Library, kind: StandingEventKind) -> None:
    changed(small, kind, starts=5)
    with small.acting("ines") as act:
        assert standing_of(act, library, small.person_id("mira")).report.standing is PersonStanding.NOT_YET_SIGNED_OFF
    with small.acting("ines", at=small.now + timedelta(days=5)) as act:
        assert standing_of(act, library, small.person_id("mira")).report.standing.value == kind.value


@pytest.mark.parametrize("kind", [StandingEventKind.SUSPENDED, StandingEventKind.WITHDRAWN, StandingEventKind.PAUSED])
def test_without_a_last_day_it_goes_on(small: SmallService, library: Library, kind: StandingEventKind) -> None:
    changed(small, kind, lasts=None)
    with small.acting("ines", at=small.now + timedelta(days=3000)) as act:
        assert standing_of(act, library, small.person_id("mira")).report.standing.value == kind.value


def test_a_restriction_has_a_last_day(small: SmallService) -> None:
    with pytest.raises(BadInput, match="last day") as refusal:
        changed(small, StandingEventKind.RESTRICTED, lasts=None)
    assert refusal.value.field == "until_day"


@pytest.mark.parametrize(("starts", "lasts"), [(-1, 30), (0, -1), (5, -6)])
def test_nothing_begins_in_the_past_or_ends_before_it_begins(small: SmallService, starts: int, lasts: int) -> None:
    with pytest.raises(BadInput) as refusal:
        changed(small, StandingEventKind.PAUSED, starts=starts, lasts=lasts)
    assert refusal.value.field == "from_day"
    assert stored(small) == []


def test_one_day_is_enough(small: SmallService) -> None:
    changed(small, StandingEventKind.SUSPENDED, lasts=0)
    assert [row.from_day == row.until_day for row in stored(small)] == [True]


@pytest.mark.parametrize("reason", ["", "   short   "])
def test_a_reason_is_asked_for(small: SmallService, reason: str) -> None:
    with pytest.raises(BadInput) as refusal:
        changed(small, StandingEventKind.SUSPENDED, reason=reason)
    assert refusal.value.field == "reason"


@pytest.mark.parametrize("kind", StandingEventKind)
def test_who_may_change_what(small: SmallService, kind: StandingEventKind) -> None:
    """Educators of the base may do all of it, team leads may pause; nobody else may do any."""
    if kind is StandingEventKind.PAUSED:
        changed(small, kind, by="leif")
    else:
        with pytest.raises(NotAllowed, match="Nothing was changed"):
            changed(small, kind, by="leif")
    with pytest.raises(NotAllowed):
        changed(small, kind, by="tor")
    for name in ("una", "ada", "olaf"):
        with pytest.raises((NotAllowed, NotFound)):
            changed(small, kind, by=name)


def test_people_elsewhere_and_unknown_ones_are_not_found(small: SmallService) -> None:
    for by, who in (("ines", "petra"), ("olaf", "mira"), ("mira", "tor"), ("ines", "nobody")):
        with pytest.raises(NotFound):
            changed(small, StandingEventKind.PAUSED, by=by, who=who)
    assert stored(small) == []


def test_nobody_changes_their_own_standing(small: SmallService) -> None:
    with small.acting("ada") as act:
        act.session.add(
            RoleGrant(
                id=act.randomness.new_id(), person_id=small.person_id("mira"), role=Role.EDUCATOR.value,
                base_id=small.base_id, from_day=FIRST_DAY, reason="test", granted_at=small.now, granted_by=None,
            )
        )  # fmt: skip
    with pytest.raises(NotAllowed, match="Nobody changes their own standing"):
        changed(small, StandingEventKind.PAUSED, by="mira", who="mira")


def test_the_database_refuses_it_too(small: SmallService) -> None:
    changed(small, StandingEventKind.PAUSED)
    with pytest.raises(IntegrityError), small.acting("ines") as act:
        act.session.add(
            StandingEvent(
                id=act.randomness.new_id(), person_id=small.person_id("mira"), kind="paused", from_day=act.today,
                until_day=None, reason=REASON, recorded_by=small.person_id("mira"), recorded_at=act.now,
            )
        )  # fmt: skip
