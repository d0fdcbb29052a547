"""Rosters: every fault of every row, doubles within the file, and the difference to the people known."""

from __future__ import annotations

from datetime import date

import pytest

from quizapp.assessment.roster import read_roster
from quizapp.assessment.roster_plan import KnownPerson, RosterPlan, plan_roster

HEADER = "staff_number,name,profession,base,joined_on,email,sign_in_name\n"
KNOWN = KnownPerson(
    person_id="p1", staff_number="A-1", name="Mira Holm", profession="doctor", base="CAI",
    joined_on=date(2020, 1, 1), email=None, sign_in_name="mira", left_on=None,
)  # fmt: skip
LEFT = KnownPerson(
    person_id="p2", staff_number="007", name="Old Hand", profession="doctor", base="CAI",
    joined_on=date(2010, 1, 1), email=None, sign_in_name=None, left_on=date(2025, 5, 1),
)  # fmt: skip


def plan(rows: str, *, header: str = HEADER, importer_id: str = "p9") -> RosterPlan:
    roster = read_roster((header + rows).encode(), path="r.csv", bases={"CAI", "SKE"})
    return plan_roster(roster, [KNOWN, LEFT], importer_id=importer_id, path="r.csv")


def messages(rows: str, **options: str) -> list[tuple[int, str, str]]:
    return [(fault.line, fault.level, fault.message) for fault in plan(rows, **options).faults]


def test_new_changed_and_same() -> None:
    found = plan("A-1,Mira Holm,doctor,CAI,2020-01-01,,mira\nN-2,Nils Berg,nurse,SKE,2026-01-01,n@x.org,nils\n")
    assert found.errors == ()
    assert ([row.staff_number for row in found.new], found.changed, found.same_count) == (["N-2"], (), 1)
    assert (found.new[0].email, found.new[0].sign_in_name) == ("n@x.org", "nils")
    found = plan("a-1,Mira Holm,nurse,SKE,2020-01-02,m@x.org,mira.h\n")
    assert [(one.field, one.before, one.after) for one in found.changed[0].fields] == [
        ("staff_number", "A-1", "a-1"),
        ("profession", "doctor", "nurse"),
        ("base", "CAI", "SKE"),
        ("joined_on", "2020-01-01", "2020-01-02"),
        ("email", "", "m@x.org"),
        ("sign_in_name", "mira", "mira.h"),
    ]


def test_people_who_are_not_in_the_file_are_counted_and_stay() -> None:
    assert plan("N-2,Nils Berg,nurse,SKE,2026-01-01,,\n").absent_count == 1


def test_a_column_that_is_not_there_changes_nothing() -> None:
    found = plan("A-1,Mira Holm,doctor,CAI,2020-01-01\n", header="staff_number,name,profession,base,joined_on\n")
    assert (found.errors, found.same_count) == ((), 1)


@pytest.mark.parametrize(
    ("row", "words"),
    [
        ("1.23E+05,Nils,nurse,CAI,2026-01-01,,", "staff_number: 1.23E+05 is what a spreadsheet makes"),
        ("N 2,Nils,nurse,CAI,2026-01-01,,", "staff_number: A staff number has"),
        ("N-2,=1+1,nurse,CAI,2026-01-01,,", "name: "),
        ("N-2,,nurse,CAI,2026-01-01,,", "name: No name was given"),
        ("N-2,Nils\u202e,nurse,CAI,2026-01-01,,", "name: The name holds a character"),
        ("N-2,Nils,,CAI,2026-01-01,,", "profession: "),
        ("N-2,Nils,nurse,,2026-01-01,,", "base: no base was given"),
        ("N-2,Nils,nurse,cai,2026-01-01,,", 'base: there is no base "cai"; known are CAI, SKE'),
        ("N-2,Nils,nurse,CAI,2026-02-30,,", "joined_on: There is no day"),
        ("N-2,Nils,nurse,CAI,03/04/2026,,", "joined_on: "),
        ("N-2,Nils,nurse,CAI,20260102,,", "joined_on: "),
        ("N-2,Nils,nurse,CAI,2026-W01-1,,", "joined_on: "),
        ("N-2,Nils,nurse,CAI,２０２６-01-01,,", "joined_on: "),
        ("N-2,Nils,nurse,CAI,2026-01-01,not an address,", "email: "),
        ("N-2,Nils,nurse,CAI,2026-01-01,,x", "sign_in_name: A sign-in name has"),
        ("N-2,Nils,nurse,CAI,2026-01-01,,mira", "sign_in_name: mira belongs to staff number A-1"),
        ("007,Old Hand,nurse,CAI,2026-01-01,,", "staff_number: 007 left on 1 May 2025"),
    ],
)
def test_a_row_that_cannot_be_taken_over(row: str, words: str) -> None:
    found = plan(row + "\n")
    assert [fault.line for fault in found.errors] == [2]
    assert found.errors[0].message.startswith(words)


def test_every_fault_of_a_row_is_named_at_once() -> None:
    assert len(plan("N 2,,,XX,tomorrow,x,x\n").errors) == 7


@pytest.mark.parametrize(("first", "second"), [("N-2", "N-2"), ("N-2", "n-2"), ("12", "１２")])
def test_doubles_within_the_file(first: str, second: str) -> None:
    rows = f"{first},Nils,nurse,CAI,2026-01-01,,\n{second},Nora,nurse,CAI,2026-13-01,,\n"
    assert (3, "error", f"staff_number: {'12' if first == '12' else second} stands in line 2 already") in messages(rows)


def test_a_sign_in_name_twice_within_the_file() -> None:
    rows = "N-2,Nils,nurse,CAI,2026-01-01,,nils\nN-3,Nora,nurse,CAI,2026-01-01,,NILS\n"
    assert messages(rows) == [(3, "error", "sign_in_name: nils stands in line 2 already")]


def test_lost_zeros_are_a_warning_within_the_file_and_against_the_people_known() -> None:
    found = plan("08,Nils,nurse,CAI,2026-01-01,,\n8,Nora,nurse,CAI,2026-01-01,,\n7,Ole,nurse,CAI,2026-01-01,,\n")
    assert found.errors == ()
    assert [(fault.line, "zeros" in fault.message) for fault in found.warnings] == [(3, True), (4, True)]


def test_a_roster_can_grant_no_role() -> None:
    found = plan("N-2,Nils,nurse,CAI,2026-01-01,,,educator\n", header=HEADER.strip() + ",role\n")
    assert '"role" is not known' in found.errors[0].message


def test_nobody_moves_themselves_by_a_roster() -> None:
    moving = "A-1,Mira Holm,doctor,SKE,2020-01-01,,mira\n"
    assert "nobody moves themselves" in plan(moving, importer_id="p1").errors[0].message
    assert plan(moving).errors == ()
