"""Two people sign a list of outside sign-offs, each with their own password; until then nothing of it counts."""

from __future__ import annotations

from datetime import timedelta

import pytest
from sqlalchemy import select

from quizapp.assessment.standing import CompetencyStanding
from quizapp.content.library import Library
from quizapp.errors import BadInput, Conflict, ContentFaults, NotFound
from quizapp.services.import_drafts import DraftKind, keep_draft
from quizapp.services.import_sign_offs import SignOffPlan
from quizapp.services.people import leave_person
from quizapp.services.person_standing import standing_of
from quizapp.services.recognise_sign_offs import (
    leave_list,
    sign_as_first,
    sign_as_second,
    sign_offs_waiting,
    to_sign_first,
    to_sign_second,
)
from quizapp.services.signing import faults_of_signature
from quizapp.store.audit import AuditRow, Signature
from quizapp.store.decisions import Decision
from quizapp.store.import_drafts import ImportDraft
from tests.deciding import with_standard
from tests.small_service import PASSWORD, SmallService

LIST = (
    b"staff_number,competency,signed_on,last_valid_day,profile,revision,recognised_reason\n"
    b"T-mira,C5,2025-06-01,2026-06-01,TV-A,1,Signed in the paper log of last year\n"
    b"T-tor,C8,2025-06-01,2026-06-01,TV-A,1,Signed in the paper log of last year\n"
)


@pytest.fixture
def ruled(small: SmallService, library: Library) -> SmallService:
    """A standard and a device, and nobody signed off."""
    return with_standard(small, library)


def brought(small: SmallService, *, second: str = "bea") -> str:
    with small.acting("ada") as act:
        return keep_draft(
            act, DraftKind.SIGN_OFFS, file_name="old.csv", content=LIST, second_by=small.person_id(second)
        )  # fmt: skip


def first(small: SmallService, library: Library, draft_id: str, *, password: str = PASSWORD) -> str:
    with small.acting("ada") as act:
        shown = to_sign_first(act, library, draft_id)
        return sign_as_first(act, library, draft_id, shown_hash=shown.shown_hash, password=password)


def second(
    small: SmallService, library: Library, draft_id: str, *, by: str = "bea", password: str = PASSWORD
) -> SignOffPlan:
    with small.acting(by) as act:
        shown = to_sign_second(act, library, draft_id)
        return sign_as_second(act, library, draft_id, shown_hash=shown.shown_hash, password=password)


def decisions(small: SmallService) -> list[Decision]:
    with small.database.reading() as session:
        return list(session.scalars(select(Decision)))


def test_it_counts_from_the_moment_the_second_person_signed(ruled: SmallService, library: Library) -> None:
    draft_id = first(ruled, library, brought(ruled))
    assert decisions(ruled) == []
    with ruled.acting("bea") as act:
        assert [one.first for one in sign_offs_waiting(act)] == ["Ada"]
    assert len(second(ruled, library, draft_id).new) == 2
    with ruled.acting("mira") as act:
        report = standing_of(act, library, act.actor.person_id).report
    assert report.of_competency("C5") is CompetencyStanding.CURRENT
    with ruled.database.reading() as session:
        signatures = list(session.scalars(select(Signature).order_by(Signature.signed_at, Signature.id)))
        events = list(session.scalars(select(AuditRow.event).where(AuditRow.event.like("%sign_offs%"))))
        assert session.scalars(select(ImportDraft)).all() == []
    assert [one.printed_name for one in signatures] == ["Ada", "Bea"]
    assert all(faults_of_signature(one) == [] and b"paper log" in one.shown for one in signatures)
    assert events == ["sign_offs_proposed"]


def test_an_educator_may_be_the_second_person(ruled: SmallService, library: Library) -> None:
    second(ruled, library, first(ruled, library, brought(ruled, second="ines")), by="ines")
    with ruled.database.reading() as session:
        roles = set(session.scalars(select(Signature.role)))
    assert roles == {"administrator", "educator"}


def test_nobody_signs_for_somebody_else_or_twice(ruled: SmallService, library: Library) -> None:
    draft_id = brought(ruled)
    for name in ("bea", "ines"):
        with ruled.acting(name) as act, pytest.raises(NotFound):
            to_sign_first(act, library, draft_id)
    with ruled.acting("bea") as act, pytest.raises(NotFound):
        to_sign_second(act, library, draft_id)
    first(ruled, library, draft_id)
    for name in ("ada", "ines"):
        with ruled.acting(name) as act, pytest.raises(NotFound):
            to_sign_second(act, library, draft_id)
    second(ruled, library, draft_id)
    with ruled.acting("bea") as act, pytest.raises(NotFound):
        to_sign_second(act, library, draft_id)


def test_a_wrong_password_of_either_recognises_nothing(ruled: SmallService, library: Library) -> None:
    draft_id = brought(ruled)
    with pytest.raises(BadInput, match="not your password"):
        first(ruled, library, draft_id, password="wrong")
    first(ruled, library, draft_id)
    with pytest.raises(BadInput, match="not your password"):
        second(ruled, library, draft_id, password="wrong")
    assert decisions(ruled) == []


def test_a_list_that_changed_since_it_was_shown_is_not_signed(ruled: SmallService, library: Library) -> None:
    draft_id = brought(ruled)
    with ruled.acting("ada") as act, pytest.raises(Conflict, match="changed since it was shown"):
        sign_as_first(act, library, draft_id, shown_hash="0" * 64, password=PASSWORD)
    first(ruled, library, draft_id)
    with ruled.acting("ada") as act:
        leave_person(act, person_id=ruled.person_id("tor"), left_on=act.today)
    with pytest.raises(ContentFaults, match="left the service"):
        second(ruled, library, draft_id)
    assert decisions(ruled) == []


@pytest.mark.parametrize("name", ["ada", "bea"])
def test_either_may_leave_it(ruled: SmallService, library: Library, name: str) -> None:
    draft_id = first(ruled, library, brought(ruled))
    with ruled.acting("ines") as act, pytest.raises(NotFound):
        leave_list(act, draft_id)
    with ruled.acting(name) as act:
        leave_list(act, draft_id)
    with ruled.acting("bea") as act, pytest.raises(NotFound):
        to_sign_second(act, library, draft_id)
    with ruled.database.reading() as session:
        assert session.scalar(select(AuditRow.actor_id).where(AuditRow.event == "sign_offs_left")) == ruled.person_id(
            name
        )


def test_a_signed_list_waits_14_days_and_survives_the_next_one(ruled: SmallService, library: Library) -> None:
    draft_id = first(ruled, library, brought(ruled))
    brought(ruled)
    ruled.now += timedelta(days=14)
    with ruled.acting("bea") as act:
        assert to_sign_second(act, library, draft_id).file_name == "old.csv"
    ruled.now += timedelta(seconds=1)
    with ruled.acting("bea") as act, pytest.raises(NotFound, match="older than 14 days"):
        to_sign_second(act, library, draft_id)
