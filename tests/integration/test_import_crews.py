"""Crews taken over from a file on both databases: all or nothing, removal by choice only, alerts in the same act."""

from __future__ import annotations

from datetime import timedelta

import pytest
from sqlalchemy import func, select

from quizapp.assessment.shift_cover import CoverState
from quizapp.content.library import Library
from quizapp.errors import BadInput, ContentFaults, NotAllowed
from quizapp.services.import_crews import import_crews, plan_crew_import
from quizapp.services.shift_covers import coming_shifts
from quizapp.store.audit import AuditRow
from quizapp.store.shifts import CrewShift, ShiftAlert, ShiftMember
from tests.counted_statements import counted_statements
from tests.crewing import crews_file, entered, signed_off
from tests.many_people import add_clinicians
from tests.small_service import SmallService

NIGHT = "CAI,Helicopter,2026-03-06 19:00,2026-03-07 07:00"
DAY = "CAI,Helicopter,2026-03-07 07:00,2026-03-07 19:00"


def taken(small: SmallService, library: Library, *rows: str, by: str = "leif", remove: tuple[str, ...] = (),
          after: timedelta = timedelta()) -> list[str]:  # fmt: skip
    with small.acting(by, at=small.now + after) as act:
        _, lost = import_crews(act, library, content=crews_file(*rows), path="crews.csv", remove=remove)
        return [one.crew for one in lost]


def count(small: SmallService, table: type) -> int:
    with small.database.reading() as session:
        return session.scalar(select(func.count()).select_from(table)) or 0


def states(small: SmallService, library: Library) -> list[CoverState]:
    with small.acting("leif") as act:
        return [one.state for one in coming_shifts(act, library, [small.base_id])]


def test_a_file_makes_shifts_and_says_which_have_nobody(small: SmallService, library: Library) -> None:
    signed_off(small, library, "mira", "tor")
    rows = (f"{NIGHT},T-mira,doctor", f"{NIGHT},T-tor,doctor", f"{DAY},T-una,doctor")
    assert taken(small, library, *rows) == ["Helicopter"]
    assert states(small, library) == [CoverState.COVERED, CoverState.NONE]
    assert (count(small, CrewShift), count(small, ShiftMember), count(small, ShiftAlert)) == (2, 3, 1)
    assert taken(small, library, *rows, after=timedelta(hours=1)) == []
    with small.database.reading() as session:
        assert {one.confirmed_at for one in session.scalars(select(CrewShift))} == {small.now + timedelta(hours=1)}
        assert list(session.scalars(select(AuditRow.event))).count("crews_imported") == 2


def test_one_fault_and_nothing_is_taken_over(small: SmallService, library: Library) -> None:
    signed_off(small, library)
    with pytest.raises(ContentFaults) as refused:
        taken(small, library, f"{NIGHT},T-mira,doctor", f"{NIGHT},T-nobody,doctor", f"{DAY},T-mira,")
    assert [fault.line for fault in refused.value.faults] == [3, 4]
    assert (count(small, CrewShift), count(small, ShiftMember)) == (0, 0)


def test_a_later_file_changes_the_crew_and_alerts(small: SmallService, library: Library) -> None:
    signed_off(small, library, "mira")
    taken(small, library, f"{NIGHT},T-mira,doctor")
    assert taken(small, library, f"{NIGHT},T-una,doctor") == ["Helicopter"]
    assert count(small, ShiftMember) == 1
    assert states(small, library) == [CoverState.NONE]


def test_what_is_not_in_the_file_goes_only_when_chosen(small: SmallService, library: Library) -> None:
    signed_off(small, library, "mira")
    taken(small, library, f"{NIGHT},T-mira,doctor", f"{DAY},T-tor,doctor")
    boat = entered(small, library, "una", crew="Boat")
    rows = (f"{NIGHT},T-mira,doctor", "CAI,Car,2026-03-07 07:00,2026-03-07 19:00,T-una,doctor")
    with small.acting("leif") as act:
        plan = plan_crew_import(act, content=crews_file(*rows), path="crews.csv")
    assert sorted(one.crew for one in plan.absent) == ["Boat", "Helicopter"]
    taken(small, library, *rows)
    assert len(states(small, library)) == 4
    with pytest.raises(BadInput, match="not among those missing"):
        taken(small, library, *rows, remove=("0" * 32,))
    taken(small, library, *rows, remove=(boat,))
    assert len(states(small, library)) == 3


def test_only_ones_own_bases(small: SmallService, library: Library) -> None:
    signed_off(small, library)
    with pytest.raises(NotAllowed):
        taken(small, library, f"{NIGHT},T-mira,doctor", by="ines")
    with pytest.raises(ContentFaults, match="no base you plan for"):
        taken(small, library, f"{NIGHT},T-mira,doctor", by="olaf")


def test_300_rows_take_as_many_statements_as_3(small: SmallService, library: Library) -> None:
    signed_off(small, library, "mira")
    found = []
    for start, number in ((0, 3), (3, 297)):
        names = add_clinicians(small, number, start=start)
        rows = [f"CAI,Crew {name},2026-03-06 19:00,2026-03-07 07:00,T-{name},doctor" for name in names]
        with small.acting("leif") as act, counted_statements(small.database) as statements:
            plan_crew_import(act, content=crews_file(*rows), path="crews.csv")
        found.append(len(statements))
        taken(small, library, *rows)
    assert found[0] == found[1]


def test_nobody_of_a_file_is_in_two_places(small: SmallService, library: Library) -> None:
    """Mira is on the kept Boat at that time: the file is taken over only together with its removal."""
    signed_off(small, library, "mira")
    boat = entered(small, library, "mira", crew="Boat")
    with small.acting("leif") as act:
        plan = plan_crew_import(act, content=crews_file(f"{NIGHT},T-mira,doctor"), path="crews.csv")
    assert [(one.line, one.shift_id) for one in plan.in_two_places] == [(2, boat)]
    with pytest.raises(BadInput, match="T-mira is on Boat at that time"):
        taken(small, library, f"{NIGHT},T-mira,doctor")
    assert count(small, CrewShift) == 1
    taken(small, library, f"{NIGHT},T-mira,doctor", remove=(boat,))
    assert states(small, library) == [CoverState.THIN]
