"""A file of crews: whole or refused, with every fault and its row; and what it would change."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from quizapp.assessment.crew_plan import KnownShift, plan_crews
from quizapp.assessment.crew_roster import CrewRoster, read_crew_roster
from quizapp.assessment.shift_cover import Span

ZONE = ZoneInfo("Europe/London")
NOW = datetime(2026, 3, 2, 9, tzinfo=UTC)
HEADER = "base,crew,starts,ends,staff_number,role"
NIGHT = "CAI,Helicopter,2026-03-06 19:00,2026-03-07 07:00"
PEOPLE = {"t-1": "", "t-2": "", "t-3": "this person left the service"}


def read(*rows: str, header: str = HEADER) -> CrewRoster:
    content = "\n".join([header, *rows]).encode()
    return read_crew_roster(content, path="crews.csv", bases={"CAI"}, people=PEOPLE, zone=ZONE)


def messages(roster: CrewRoster) -> list[tuple[int, str]]:
    return [(fault.line, fault.message) for fault in roster.faults]


def test_rows_of_one_shift_are_one_crew() -> None:
    roster = read(f"{NIGHT},T-1,doctor", f"{NIGHT},t-2,paramedic", "CAI,Boat,2026-03-06 19:00,2026-03-07 07:00,,")
    assert roster.faults == ()
    helicopter, boat = roster.shifts
    assert [(one.staff_number, one.crew_role) for one in helicopter.members] == [
        ("T-1", "doctor"),
        ("t-2", "paramedic"),
    ]
    assert (boat.members, boat.span) == ((), helicopter.span)


def test_own_hours_lie_within_the_shift() -> None:
    header = f"{HEADER},from,until"
    good = read(f"{NIGHT},T-1,doctor,,2026-03-06 23:00", f"{NIGHT},T-2,doctor,2026-03-06 23:00,", header=header)
    middle = datetime(2026, 3, 6, 23, tzinfo=UTC)
    assert good.shifts[0].members[0].present.end == middle
    assert good.shifts[0].members[1].present.start == middle
    bad = read(f"{NIGHT},T-1,doctor,2026-03-06 18:00,", header=header)
    assert messages(bad) == [(2, "from, until: a member's own hours lie within the shift, the end after the start")]


def test_the_night_of_the_change_is_an_hour_shorter() -> None:
    roster = read("CAI,Helicopter,2026-03-28 19:00,2026-03-29 07:00,T-1,doctor")
    assert roster.shifts[0].span.end - roster.shifts[0].span.start == timedelta(hours=11)


@pytest.mark.parametrize(
    ("row", "words"),
    [
        ("SKE,Boat,2026-03-06 19:00,2026-03-07 07:00,T-1,doctor", '"SKE" is no base you plan for; those are CAI'),
        ("CAI,,2026-03-06 19:00,2026-03-07 07:00,T-1,doctor", "crew: write 1 to 60"),
        ("CAI,Boat,06/03/2026 19:00,2026-03-07 07:00,T-1,doctor", "starts: "),
        ("CAI,Boat,2026-03-29 01:30,2026-03-29 07:00,T-1,doctor", "starts: The clock skips"),
        ("CAI,Boat,2026-10-24 19:00,2026-10-25 01:30,T-1,doctor", "ends: 2026-10-25 01:30 comes twice"),
        ("CAI,Boat,2026-03-06 19:00,2026-03-06 07:00,T-1,doctor", "ends: a shift ends after it starts"),
        ("CAI,Boat,2026-03-06 19:00,2026-03-09 07:00,T-1,doctor", "within 36 hours"),
        (f"{NIGHT},T-9,doctor", "T-9: nobody here has this staff number"),
        (f"{NIGHT},T-3,doctor", "T-3: this person left the service"),
        (f"{NIGHT},T-1,", "role: write 1 to 60"),
        (f"{NIGHT},T-1", "this row has 5 cells, the header has 6"),
    ],
)
def test_each_fault_names_its_row(row: str, words: str) -> None:
    roster = read(f"{NIGHT},T-2,doctor", row)
    assert [(line, words in message) for line, message in messages(roster)] == [(3, True)]


def test_every_fault_comes_at_once() -> None:
    roster = read(
        f"{NIGHT},T-1,doctor",
        f"{NIGHT},t-1,doctor",
        "CAI,Helicopter,2026-03-06 19:00,2026-03-07 08:00,T-2,doctor",
        "CAI,Helicopter,2026-03-07 06:00,2026-03-07 19:00,T-2,doctor",
        "CAI,Boat,2026-03-06 18:00,2026-03-07 06:00,T-1,doctor",
    )
    assert [(line, message.split(":")[0]) for line, message in messages(roster)] == [
        (2, "staff_number"), (3, "staff_number"), (4, "ends"), (5, "staff_number"), (5, "starts"),
    ]  # fmt: skip


def test_a_column_that_is_not_ours_is_refused() -> None:
    roster = read(f"{NIGHT},T-1,doctor,current", header=f"{HEADER},standing")
    assert 'the column "standing" is not known' in roster.faults[0].message


def known(shift_id: str, crew: str, day: int, *members: str, base: str = "CAI") -> KnownShift:
    start = datetime(2026, 3, day, 19, tzinfo=UTC)
    span = Span(start, start + timedelta(hours=12))
    return KnownShift(
        shift_id=shift_id, base=base, crew=crew, span=span, members=dict.fromkeys(members, ("doctor", span))
    )


def test_new_changed_the_same_and_not_in_the_file() -> None:
    roster = read(
        f"{NIGHT},T-1,doctor",
        "CAI,Boat,2026-03-07 19:00,2026-03-08 07:00,T-2,doctor",
        "CAI,Boat,2026-03-08 19:00,2026-03-09 07:00,T-2,doctor",
    )
    kept = [
        known("same", "Helicopter", 6, "t-1"), known("changed", "Boat", 7, "t-1"),
        known("gone", "Boat", 6, "t-2"), known("outside", "Boat", 20, "t-2"), known("far", "Boat", 6, base="SKE"),
    ]  # fmt: skip
    plan = plan_crews(roster, kept, now=NOW, zone=ZONE, path="crews.csv")
    assert plan.faults == ()
    assert [one.span.start.day for one in plan.new] == [8]
    assert [(one.shift_id, one.joining, one.leaving) for one in plan.changed] == [("changed", ("t-2",), ("t-1",))]
    assert (plan.same, [one.shift_id for one in plan.absent]) == (("same",), ["gone"])


def test_a_shift_kept_elsewhere_keeps_its_people() -> None:
    plan = plan_crews(
        read(f"{NIGHT},T-1,doctor"), [known("x", "Car", 6, "t-1", base="SKE")], now=NOW, zone=ZONE, path="crews.csv"
    )
    assert [one.message for one in plan.errors] == ["staff_number: T-1 is on Car, SKE, at that time already"]


def test_what_is_over_is_not_changed() -> None:
    roster = read("CAI,Boat,2026-02-06 19:00,2026-02-07 07:00,T-2,doctor")
    plan = plan_crews(roster, [], now=NOW, zone=ZONE, path="crews.csv")
    assert [one.line for one in plan.errors] == [2]
