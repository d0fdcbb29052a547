"""Which role grants can be."""

from __future__ import annotations

from datetime import date

import pytest

from quizapp.assessment.role_grants import RoleWanted, faults_of, last_recognised_day, needs_second
from quizapp.assessment.roles import Role

TODAY = date(2026, 3, 2)


def wanted(**changed: object) -> RoleWanted:
    values: dict[str, object] = {
        "role": Role.ASSESSOR, "base_id": "b", "from_day": TODAY, "until_day": None, "recognised": False,
        "reason": "agreed by the meeting",
    }  # fmt: skip
    return RoleWanted(**{**values, **changed})  # type: ignore[arg-type]


def test_every_role_but_a_clinicians_takes_two() -> None:
    assert {role for role in Role if not needs_second(role)} == {Role.CLINICIAN}


@pytest.mark.parametrize(
    ("first", "last"),
    [
        (date(2026, 3, 2), date(2027, 3, 2)),
        (date(2028, 2, 29), date(2029, 2, 28)),
        (date(2027, 12, 31), date(2028, 12, 31)),
    ],
)
def test_outside_evidence_carries_a_role_for_twelve_months(first: date, last: date) -> None:
    assert last_recognised_day(first) == last


def test_a_plain_grant_has_no_fault() -> None:
    assert faults_of(wanted(), TODAY) == ()


def test_all_faults_are_named_at_once() -> None:
    found = faults_of(
        wanted(role=Role.ADMINISTRATOR, from_day=date(2026, 3, 1), until_day=date(2026, 2, 1), reason=" "), TODAY
    )
    assert [fault.field for fault in found] == ["from_day", "until_day", "base_id", "reason"]
