"""Adjustments: more time for a sitting begun afterwards; known to the person and the educators of the base only."""

from __future__ import annotations

from datetime import timedelta

import pytest
from sqlalchemy import select, update
from sqlalchemy.exc import IntegrityError

from quizapp.assessment.sitting_time import ExtraTime
from quizapp.content.library import Library
from quizapp.errors import BadInput, Conflict, NotAllowed, NotFound
from quizapp.services.sitting_adjustments import AdjustmentWanted, adjustments_of, end_adjustment, set_adjustment
from quizapp.store.audit import AuditRow
from quizapp.store.fair_paths import SittingAdjustment
from quizapp.store.sittings import Sitting
from tests.knowledge_forms import begun, composed
from tests.small_service import SmallService


def adjust(
    small: SmallService, extra: ExtraTime | None = ExtraTime.HALF, *, by: str = "ines", of: str = "mira",
    room: str = "", in_days: int = 0, days: int | None = None,
) -> str:  # fmt: skip
    first = small.now.date() + timedelta(days=in_days)
    wanted = AdjustmentWanted(
        extra_time=extra,
        room=room,
        from_day=first,
        until_day=None if days is None else first + timedelta(days=days - 1),
    )
    with small.acting(by) as act:
        return set_adjustment(act, person_id=small.person_id(of), wanted=wanted)


def deadline(small: SmallService, library: Library, **form: object) -> timedelta | None:
    sitting_id = begun(small, library, composed(small, library, time_allowance_min=20, **form))
    with small.database.reading() as session:
        sitting = session.get_one(Sitting, sitting_id)
        return None if sitting.deadline_at is None else sitting.deadline_at - sitting.started_at


@pytest.mark.parametrize(
    ("extra", "minutes"), [(ExtraTime.QUARTER, 25), (ExtraTime.HALF, 30), (ExtraTime.DOUBLE, 40), (None, None)]
)
def test_a_sitting_that_begins_afterwards_has_more_time(
    small: SmallService, library: Library, extra: ExtraTime | None, minutes: int | None
) -> None:
    adjust(small, extra)
    assert deadline(small, library) == (None if minutes is None else timedelta(minutes=minutes))


def test_one_set_for_later_or_ended_changes_nothing(small_sqlite: SmallService, library: Library) -> None:
    adjust(small_sqlite, in_days=1)
    ended = adjust(small_sqlite, ExtraTime.DOUBLE)
    with small_sqlite.acting("cleo") as act:
        assert end_adjustment(act, adjustment_id=ended) == small_sqlite.person_id("mira")
    assert deadline(small_sqlite, library) == timedelta(minutes=20)


def test_a_sitting_already_begun_keeps_its_time(small_sqlite: SmallService, library: Library) -> None:
    sitting_id = begun(small_sqlite, library, composed(small_sqlite, library, time_allowance_min=20))
    adjust(small_sqlite, ExtraTime.DOUBLE)
    with small_sqlite.database.reading() as session:
        sitting = session.get_one(Sitting, sitting_id)
    assert sitting.deadline_at == sitting.started_at + timedelta(minutes=20)


def test_only_educators_of_the_base_set_them_and_nobody_their_own(small_sqlite: SmallService) -> None:
    for name in ("mira", "tor", "leif", "ada"):
        with pytest.raises(NotAllowed):
            adjust(small_sqlite, by=name, of="una")
    with pytest.raises(NotAllowed, match="themselves"):
        adjust(small_sqlite, by="ines", of="ines")
    with pytest.raises(NotFound):
        adjust(small_sqlite, of="petra")


def test_who_reads_them(small_sqlite: SmallService) -> None:
    adjust(small_sqlite, room="a quiet room")
    for name in ("mira", "ines", "cleo"):
        with small_sqlite.acting(name) as act:
            (line,) = adjustments_of(act, small_sqlite.person_id("mira"))
        assert (line.words, line.room, line.holds) == ("50 % more time", "a quiet room", True)
    for name in ("tor", "una", "leif", "ada", "petra", "olaf"):
        with small_sqlite.acting(name) as act, pytest.raises((NotAllowed, NotFound)):
            adjustments_of(act, small_sqlite.person_id("mira"))


def test_the_audit_trail_does_not_say_whose_they_are(small: SmallService) -> None:
    adjustment_id = adjust(small, room="a quiet room")
    with small.database.reading() as session:
        row = session.scalars(select(AuditRow).where(AuditRow.event == "sitting_adjusted")).one()
    assert row.object_id == adjustment_id
    assert small.person_id("mira").encode() not in row.body
    assert b"quiet" not in row.body


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"extra": ExtraTime.NONE}, "extra_time"),
        ({"room": "x" * 301}, "room"),
        ({"in_days": -1}, "from_day"),
        ({"days": 0}, "until_day"),
    ],
)
def test_what_does_not_fit_is_named(small_sqlite: SmallService, changes: dict[str, object], field: str) -> None:
    with pytest.raises(BadInput) as refusal:
        adjust(small_sqlite, **changes)  # type: ignore[arg-type]
    assert refusal.value.field == field


def test_ended_twice_is_a_conflict(small_sqlite: SmallService) -> None:
    adjustment_id = adjust(small_sqlite)
    for name in ("ines", "cleo"):
        with small_sqlite.acting(name) as act:
            if name == "ines":
                end_adjustment(act, adjustment_id=adjustment_id)
                continue
            with pytest.raises(Conflict):
                end_adjustment(act, adjustment_id=adjustment_id)


@pytest.mark.parametrize(("field", "value"), [("extra_time_percent", 33), ("set_by", "mira")])
def test_the_database_refuses_what_is_none(small: SmallService, field: str, value: object) -> None:
    adjustment_id = adjust(small)
    wanted = small.person_id("mira") if value == "mira" else value
    change = update(SittingAdjustment).where(SittingAdjustment.id == adjustment_id).values({field: wanted})
    with pytest.raises(IntegrityError), small.database.writing() as session:
        session.execute(change)
