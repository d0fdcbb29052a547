"""Suspensions are lifted, leaves and restrictions ended, a withdrawal taken back by two: from that minute on."""

from __future__ import annotations

from datetime import timedelta

import pytest
from sqlalchemy import select

from quizapp.assessment.standing import CompetencyStanding, PersonStanding
from quizapp.assessment.standing_event_kind import StandingEventKind
from quizapp.content.library import Library
from quizapp.errors import BadInput, Conflict, NotAllowed, NotFound
from quizapp.services.change_standing import StandingChange, change_standing
from quizapp.services.end_standing_change import end_standing_change, needs_second
from quizapp.services.person_standing import standing_of
from quizapp.services.second_person import SecondPerson
from quizapp.store.audit import AuditRow
from quizapp.store.decisions import StandingEnd
from tests.deciding import decide, show, with_standard
from tests.small_service import PASSWORD, SmallService

REASON = "What was asked for has been shown"
HOUR = timedelta(hours=1)
EVENTS = {
    StandingEventKind.SUSPENDED: "suspension_lifted",
    StandingEventKind.WITHDRAWN: "withdrawal_lifted",
    StandingEventKind.PAUSED: "pause_ended",
    StandingEventKind.RESTRICTED: "restriction_ended",
}
CLEO = SecondPerson(sign_in_name="cleo", password=PASSWORD)


@pytest.fixture
def ruled(small: SmallService, library: Library) -> SmallService:
    """Mira is signed off in C5 and C8."""
    with_standard(small, library)
    show(small, "C5")
    show(small, "C8", assessor="tor")
    decide(small, library)
    return small


def changed(small: SmallService, kind: StandingEventKind, *, competency: str | None = None) -> str:
    with small.acting("ines", at=small.now + HOUR) as act:
        wanted = StandingChange(
            kind=kind, from_day=act.today, until_day=act.today + timedelta(days=30), reason=REASON,
            competency=competency,
        )  # fmt: skip
        return change_standing(act, small.person_id("mira"), wanted)


def ended(
    small: SmallService, event_id: str, *, by: str = "ines", reason: str = REASON, second: SecondPerson | None = CLEO,
    after: timedelta = timedelta(hours=5),
) -> str:  # fmt: skip
    with small.acting(by, at=small.now + after) as act:
        return end_standing_change(act, event_id, reason=reason, second=second)


def word(small: SmallService, library: Library, after: timedelta) -> PersonStanding:
    with small.acting("ines", at=small.now + timedelta(days=9)) as act:
        return standing_of(act, library, small.person_id("mira"), at=small.now + after).report.standing


@pytest.mark.parametrize("kind", StandingEventKind)
def test_it_is_over_from_the_minute_it_was_ended(
    ruled: SmallService, library: Library, kind: StandingEventKind
) -> None:
    event_id = changed(ruled, kind)
    ended(ruled, event_id)
    second = timedelta(seconds=1)
    assert word(ruled, library, HOUR - second) is PersonStanding.CURRENT
    assert word(ruled, library, HOUR).value == kind.value
    assert word(ruled, library, 5 * HOUR - second).value == kind.value
    assert word(ruled, library, 5 * HOUR) is PersonStanding.CURRENT
    with ruled.database.reading() as session:
        row = session.scalars(select(StandingEnd)).one()
        audited = session.scalars(select(AuditRow).where(AuditRow.event == EVENTS[kind])).one()
    assert (row.reason, row.recorded_by, audited.object_id) == (REASON, ruled.person_id("ines"), event_id)
    assert row.second_by == (ruled.person_id("cleo") if needs_second(kind) else None)


@pytest.mark.parametrize("kind", [StandingEventKind.SUSPENDED, StandingEventKind.WITHDRAWN])
def test_one_competency_may_be_suspended_or_withdrawn(
    ruled: SmallService, library: Library, kind: StandingEventKind
) -> None:
    event_id = changed(ruled, kind, competency="C8")
    with ruled.acting("ines", at=ruled.now + 2 * HOUR) as act:
        report = standing_of(act, library, ruled.person_id("mira")).report
    assert report.of_competency("C8").value == kind.value
    assert report.of_competency("C5") is CompetencyStanding.CURRENT
    assert report.standing.value == kind.value
    ended(ruled, event_id)
    assert word(ruled, library, 6 * HOUR) is PersonStanding.CURRENT


@pytest.mark.parametrize("kind", [StandingEventKind.PAUSED, StandingEventKind.RESTRICTED])
def test_a_leave_or_restriction_concerns_the_whole_person(ruled: SmallService, kind: StandingEventKind) -> None:
    with pytest.raises(BadInput) as refused:
        changed(ruled, kind, competency="C8")
    assert refused.value.field == "competency"


def test_a_withdrawal_is_taken_back_by_two_educators(ruled: SmallService, library: Library) -> None:
    event_id = changed(ruled, StandingEventKind.WITHDRAWN)
    for second, words in (
        (None, "Two educators are needed"),
        (SecondPerson(sign_in_name="ines", password=PASSWORD), "somebody else than you"),
        (SecondPerson(sign_in_name="cleo", password="wrong"), "do not go together"),
        (SecondPerson(sign_in_name="mira", password=PASSWORD), "Nobody changes their own standing"),
        (SecondPerson(sign_in_name="leif", password=PASSWORD), "is no educator"),
    ):
        with pytest.raises(BadInput, match=words):
            ended(ruled, event_id, second=second)
    assert word(ruled, library, 6 * HOUR) is PersonStanding.WITHDRAWN
    ended(ruled, event_id)
    assert word(ruled, library, 6 * HOUR) is PersonStanding.CURRENT


def test_who_may_end_what(ruled: SmallService) -> None:
    """Educators of the base end all of it, team leads a leave; nobody ends their own, nobody else anything."""
    suspension, leave = (changed(ruled, kind) for kind in (StandingEventKind.SUSPENDED, StandingEventKind.PAUSED))
    with pytest.raises(NotAllowed, match="Nothing was changed"):
        ended(ruled, suspension, by="leif")
    for name in ("mira", "tor", "ada", "olaf"):
        with pytest.raises((NotAllowed, NotFound)):
            ended(ruled, leave, by=name)
    ended(ruled, leave, by="leif")
    ended(ruled, suspension)


def test_what_is_over_or_unknown_cannot_be_ended(ruled: SmallService) -> None:
    event_id = changed(ruled, StandingEventKind.SUSPENDED)
    with pytest.raises(BadInput, match="reason"):
        ended(ruled, event_id, reason="short")
    with pytest.raises(NotFound):
        ended(ruled, "0" * 32)
    with pytest.raises(Conflict, match="over already"):
        ended(ruled, event_id, after=timedelta(days=32))
    ended(ruled, event_id)
    with pytest.raises(Conflict, match="over already"):
        ended(ruled, event_id)
