"""Leave as people record it: the clock stands still for long leave, and the return is walked before one is current."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from quizapp.assessment.fair_paths import PathKind, PathOutcome, StepName
from quizapp.assessment.standing import PersonStanding
from quizapp.content.library import Library
from quizapp.errors import BadInput, Conflict, NotAllowed, NotFound
from quizapp.services.fair_paths import PathWanted, StepWanted, close_path, open_path, record_step
from quizapp.services.fair_paths_list import proposals
from quizapp.services.leaves import back_from_long_leave, begin_leave, clock_words, end_leave, leaves_not_over
from quizapp.services.person_standing import PersonStands, standing_of
from tests.observing import sign_off
from tests.small_service import SmallService
from tests.walking import walking

REASON = "On leave as agreed."


@pytest.fixture
def ready(small: SmallService, library: Library) -> SmallService:
    """Mira is current in C5 and C8 until 31 December 2026; today is 2 March 2026."""
    walking(small, library)
    for code in ("C5", "C8"):
        sign_off(small, "mira", code)
    return small


def away(
    small: SmallService, days: int | None, *, by: str = "leif", of: str = "mira", in_days: int = 0, reason: str = REASON
) -> str:
    first = small.now.date() + timedelta(days=in_days)
    last = None if days is None else first + timedelta(days=days - 1)
    with small.acting(by) as act:
        return begin_leave(act, person_id=small.person_id(of), from_day=first, until_day=last, reason=reason)


def stands(small: SmallService, library: Library, days: int = 0) -> PersonStands:
    with small.acting("ines", at=small.now + timedelta(days=days)) as act:
        return standing_of(act, library, small.person_id("mira"))


def test_the_days_left_stand_still_and_go_on(ready: SmallService, library: Library) -> None:
    before = stands(ready, library).report.rows[0].days_left
    away(ready, 120)
    during = {stands(ready, library, days).report.rows[0].days_left for days in (1, 60, 119)}
    assert during == {305}  # as on 1 March, the last day before it
    assert before == 304
    back = stands(ready, library, 120).report
    assert (back.standing, back.rows[0].days_left) == (PersonStanding.RESTRICTED, 304)
    assert back.rows[0].last_valid_day == date(2026, 12, 31) + timedelta(days=120)


def test_leave_up_to_three_months_moves_nothing_and_asks_for_no_return(ready: SmallService, library: Library) -> None:
    away(ready, 60)
    after = stands(ready, library, 61).report
    assert (after.standing, after.rows[0].last_valid_day) == (PersonStanding.CURRENT, date(2026, 12, 31))


def test_back_early_from_what_was_to_be_long(ready: SmallService, library: Library) -> None:
    """Away for 30 days of 120: short after all, so no day moves and nothing is asked for."""
    event_id = away(ready, 120)
    with ready.acting("ines", at=ready.now + timedelta(days=30)) as act:
        end_leave(act, event_id=event_id)
    after = stands(ready, library, 31).report
    assert (after.standing, after.rows[0].last_valid_day) == (PersonStanding.CURRENT, date(2026, 12, 31))
    with ready.acting("ines", at=ready.now + timedelta(days=31)) as act, pytest.raises(Conflict):
        end_leave(act, event_id=event_id)


def test_open_leave_ended_after_five_months_moves_its_days(ready: SmallService, library: Library) -> None:
    event_id = away(ready, None)
    with ready.acting("leif", at=ready.now + timedelta(days=150)) as act:
        end_leave(act, event_id=event_id)
    back = stands(ready, library, 151).report
    assert back.rows[0].last_valid_day == date(2026, 12, 31) + timedelta(days=150)
    assert back.standing is PersonStanding.RESTRICTED
    assert stands(ready, library, 149).report.standing is PersonStanding.PAUSED


def test_the_return_is_walked_and_closed(ready: SmallService, library: Library) -> None:
    away(ready, 120)
    at = ready.now + timedelta(days=121)
    with ready.acting("ines", at=at) as act:
        assert [line.person_name for line in back_from_long_leave(act, library)] == ["Mira"]
        assert [one.kind for one in proposals(act, library)] == [PathKind.LONG_LEAVE]
        wanted = PathWanted(kind=PathKind.LONG_LEAVE, about="", reason="Back, and glad of it.", until_day=None)
        path_id = open_path(act, person_id=ready.person_id("mira"), wanted=wanted)
    for step, named in (
        (StepName.REFRESHER, ""), (StepName.QUESTIONS, ""), (StepName.TWO_OBSERVED, ""), (StepName.SUPERVISED, "tor"),
    ):  # fmt: skip
        with ready.acting("ines", at=at) as act:
            record_step(act, library, path_id=path_id, wanted=StepWanted(
                step=step, done_on=at.date(), words="Done, and written here.",
                named_id=ready.person_id(named) if named else "",
            ))  # fmt: skip
    assert stands(ready, library, 122).report.standing is PersonStanding.RESTRICTED
    with ready.acting("ines", at=at + timedelta(days=2)) as act:
        close_path(act, path_id=path_id, outcome=PathOutcome.COMPLETE, words="Everything was seen again.")
    assert stands(ready, library, 122).report.standing is PersonStanding.RESTRICTED
    assert stands(ready, library, 124).report.standing is PersonStanding.CURRENT
    with ready.acting("ines", at=at + timedelta(days=3)) as act:
        assert back_from_long_leave(act, library) == ()


def test_what_is_recorded_later_changes_no_day_gone_by(ready: SmallService, library: Library) -> None:
    later = ready.now + timedelta(days=2)
    with ready.acting("leif", at=later) as act:
        begin_leave(act, person_id=ready.person_id("mira"), from_day=act.today, until_day=None, reason=REASON)
    with ready.acting("ines", at=later + timedelta(days=9)) as act:
        report = standing_of(act, library, ready.person_id("mira"), at=later - timedelta(minutes=1)).report
    assert (report.standing, report.rows[0].last_valid_day) == (PersonStanding.CURRENT, date(2026, 12, 31))


def test_who_records_leave(ready: SmallService) -> None:
    for name in ("leif", "ines", "cleo"):
        away(ready, 5, by=name, of="una", in_days=1)
    for name in ("mira", "tor", "ada", "olaf"):
        with pytest.raises((NotAllowed, NotFound)):
            away(ready, 5, by=name, of="una")
    with pytest.raises(NotAllowed, match="own standing"):
        away(ready, 5, by="leif", of="leif")


@pytest.mark.parametrize(("days", "in_days", "reason"), [(5, -1, REASON), (0, 0, REASON), (5, 0, "short")])
def test_what_does_not_fit_is_refused(ready: SmallService, days: int, in_days: int, reason: str) -> None:
    with pytest.raises(BadInput):
        away(ready, days, in_days=in_days, reason=reason)


def test_the_list_says_what_happens_to_the_clock(ready: SmallService) -> None:
    away(ready, 120)
    away(ready, 20, of="una", in_days=3)
    away(ready, None, of="tor", in_days=5)
    with ready.acting("leif") as act:
        lines = leaves_not_over(act)
        words = [clock_words(line, act.today) for line in lines]
    assert [(line.person_name, line.has_begun) for line in lines] == [("Mira", True), ("Una", False), ("Tor", False)]
    assert words == [
        "stops the clock: dates move by 120 days",
        "up to three months: every date stays",
        "stops the clock if it grows longer than three months",
    ]
    with ready.acting("olaf") as act:
        assert leaves_not_over(act) == ()
