"""The next standard is drafted from the one in force, its effect shown, signed, and then in force from its day."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest
from sqlalchemy import func, select, update
from sqlalchemy.exc import DBAPIError, IntegrityError

from quizapp.assessment.standard import Requirement
from quizapp.assessment.standing import PersonStanding
from quizapp.content.library import Library
from quizapp.errors import BadInput, Conflict, NotAllowed, NotFound
from quizapp.services.draft_standard import (
    Draft,
    begin_draft,
    change_general,
    change_requirement,
    draft,
    drop_draft,
    leave_out,
    open_draft_id,
)
from quizapp.services.person_standing import standing_of
from quizapp.services.put_standard_in_force import effect, prepare_standard, sign_standard, standard_intent
from quizapp.services.signing import faults_of_signature
from quizapp.services.standards import standard_on, standards_recorded
from quizapp.store.audit import AuditRow, Signature
from quizapp.store.standards import Standard, StandardDraft
from tests.deciding import decide, show, with_standard
from tests.small_service import PASSWORD, SmallService

AGREED = {
    "name": "Standard for 2027",
    "reason": "P06 was often done late last year",
    "agreed_by": "both educators, 1 March",
    "starts_on": date(2026, 4, 1),
}


@pytest.fixture
def ruled(small: SmallService, library: Library) -> SmallService:
    """Mira is signed off in C5 and C8 until 2 March 2027."""
    with_standard(small, library)
    show(small, "C5")
    show(small, "C8", assessor="tor")
    decide(small, library)
    return small


def begun(small: SmallService, library: Library, *, by: str = "ines") -> str:
    with small.acting(by) as act:
        return begin_draft(act, library)


def looked_at(small: SmallService, library: Library, draft_id: str) -> Draft:
    with small.acting("ines") as act:
        return draft(act, library, draft_id)


def written(small: SmallService, library: Library, *, wanted: Requirement | None = None) -> str:
    """A draft that can be put in force."""
    draft_id = begun(small, library)
    with small.acting("ines") as act:
        change_general(act, draft_id, revision=1, changed=AGREED)
        if wanted is not None:
            change_requirement(act, library, draft_id, revision=2, wanted=wanted)
    return draft_id


def put_in_force(small: SmallService, library: Library, draft_id: str, *, password: str = PASSWORD) -> str:
    with small.acting("ines") as act:
        intent_id = prepare_standard(act, library, draft_id)
    with small.acting("ines") as act:
        return sign_standard(act, library, intent_id, password=password)


def count(small: SmallService, model: type[object]) -> int:
    with small.database.reading() as session:
        return session.scalar(select(func.count()).select_from(model)) or 0


def test_a_draft_begins_as_the_version_before_and_says_what_is_to_be_written(
    ruled: SmallService, library: Library
) -> None:
    draft_id = begun(ruled, library)
    found = looked_at(ruled, library, draft_id)
    assert found.before is not None
    assert found.terms.requirements == found.before.requirements
    assert [fault.field for fault in found.faults] == ["reason", "agreed_by"]
    assert begun(ruled, library, by="cleo") == draft_id
    with ruled.acting("ines") as act, pytest.raises(BadInput, match="why it changes"):
        prepare_standard(act, library, draft_id)


def test_a_service_without_a_standard_begins_with_what_the_framework_suggests(
    small_sqlite: SmallService, library: Library
) -> None:
    found = looked_at(small_sqlite, library, begun(small_sqlite, library))
    assert found.before is None
    assert {one.competency for one in found.terms.requirements} <= set(library.competencies)
    assert [fault.field for fault in found.faults] == ["reason", "agreed_by"]


def test_put_in_force_is_a_new_version_with_what_was_shown_signed(ruled: SmallService, library: Library) -> None:
    draft_id = written(ruled, library)
    standard_id = put_in_force(ruled, library, draft_id)
    with ruled.database.reading() as session:
        newest = standards_recorded(session)[0]
        signature = session.get_one(Signature, newest.signature_id)
        today, later = (standard_on(session, day) for day in (date(2026, 3, 31), date(2026, 4, 1)))
    assert (newest.id, newest.version, newest.name) == (standard_id, 2, "Standard for 2027")
    assert (signature.record_id, signature.meaning, signature.printed_name) == (standard_id, "puts in force", "Ines")
    assert faults_of_signature(signature) == []
    assert b"Nothing changes for anybody" in signature.shown
    assert [one and one.version for one in (today, later)] == [1, 2]
    with ruled.acting("ines") as act:
        assert open_draft_id(act) is None
    with ruled.acting("ines") as act, pytest.raises(NotFound):
        draft(act, library, draft_id)


def test_the_effect_is_known_before_and_comes_true(ruled: SmallService, library: Library) -> None:
    """C3 becomes required on 1 April: Mira is current the day before and not yet signed off on that day."""
    wanted = Requirement(
        competency="C3", is_critical=True, validity_months=12, practice_months=6, needs_knowledge=True, procedures=()
    )
    draft_id = written(ruled, library, wanted=wanted)
    with ruled.acting("ines") as act:
        found = effect(act, library, draft(act, library, draft_id).terms)
    assert found.people == 4
    assert found.moves == ((PersonStanding.CURRENT, PersonStanding.NOT_YET_SIGNED_OFF, 1),)
    put_in_force(ruled, library, draft_id)
    with ruled.acting("mira", at=ruled.now + timedelta(days=60)) as act:
        stood = [
            standing_of(act, library, act.actor.person_id, at=act.now.replace(month=month, day=day, hour=12)).report
            for month, day in ((3, 31), (4, 1))
        ]
    assert [one.standing for one in stood] == [PersonStanding.CURRENT, PersonStanding.NOT_YET_SIGNED_OFF]


def test_earlier_dates_are_shortened_only_where_the_draft_says_so(ruled: SmallService, library: Library) -> None:
    before = looked_at(ruled, library, begun(ruled, library)).terms.requirement("C8")
    assert before is not None
    sooner = replace(before, renew_by=date(2026, 6, 30), validity_months=6)
    draft_id = written(ruled, library, wanted=sooner)
    with ruled.acting("ines") as act:
        found = effect(act, library, draft(act, library, draft_id).terms)
    assert (found.shortened, found.soonest) == (1, date(2026, 6, 30))
    put_in_force(ruled, library, draft_id)
    with ruled.acting("mira") as act:
        report = standing_of(act, library, act.actor.person_id).report
    assert {row.competency: row.last_valid_day for row in report.rows} == {
        "C5": date(2027, 3, 2), "C8": date(2026, 6, 30),
    }  # fmt: skip
    again = looked_at(ruled, library, begun(ruled, library)).terms.requirement("C8")
    assert again is not None
    assert again.renew_by is None


def test_two_educators_do_not_overwrite_each_other(ruled: SmallService, library: Library) -> None:
    draft_id = written(ruled, library)
    with ruled.acting("cleo") as act, pytest.raises(Conflict, match="was not saved"):
        change_general(act, draft_id, revision=1, changed={"name": "Other"})
    with ruled.acting("cleo") as act, pytest.raises(Conflict, match="was not saved"):
        leave_out(act, draft_id, revision=1, competency="C5")
    with ruled.acting("cleo") as act:
        leave_out(act, draft_id, revision=2, competency="C5")
    assert [one.competency for one in looked_at(ruled, library, draft_id).terms.requirements] == ["C8"]


def test_a_draft_that_changed_after_it_was_shown_is_not_put_in_force(ruled: SmallService, library: Library) -> None:
    draft_id = written(ruled, library)
    with ruled.acting("ines") as act:
        intent_id = prepare_standard(act, library, draft_id)
    with ruled.acting("cleo") as act:
        leave_out(act, draft_id, revision=2, competency="C5")
    with ruled.acting("ines") as act, pytest.raises(Conflict, match="Nothing was signed"):
        sign_standard(act, library, intent_id, password=PASSWORD)
    assert count(ruled, Standard) == 1


def test_a_wrong_password_puts_nothing_in_force(ruled: SmallService, library: Library) -> None:
    draft_id = written(ruled, library)
    with pytest.raises(BadInput, match="not your password"):
        put_in_force(ruled, library, draft_id, password="wrong")
    assert count(ruled, Standard) == 1
    put_in_force(ruled, library, draft_id)


def test_what_cannot_be_asked_is_refused_with_its_field(ruled: SmallService, library: Library) -> None:
    draft_id = written(ruled, library)
    before = looked_at(ruled, library, draft_id).terms.requirement("C8")
    assert before is not None
    for changed, field in (
        ({"minimum_assessors": 2}, "minimum_assessors"),
        ({"validity_months": 99}, "validity_months"),
        ({"renew_by": date(2026, 3, 31)}, "renew_by"),
    ):
        with ruled.acting("ines") as act, pytest.raises(BadInput) as refused:
            change_requirement(act, library, draft_id, revision=2, wanted=replace(before, **changed))  # type: ignore[arg-type]
        assert refused.value.field == field


def test_a_dropped_draft_changes_nothing_and_the_next_one_can_begin(ruled: SmallService, library: Library) -> None:
    draft_id = written(ruled, library)
    with ruled.acting("cleo") as act:
        drop_draft(act, draft_id)
    assert begun(ruled, library) != draft_id
    with ruled.database.reading() as session:
        things = [row.body for row in session.scalars(select(AuditRow).where(AuditRow.event == "standard_drafted"))]
    assert sum(b"dropped" in body for body in things) == 1
    assert count(ruled, Standard) == 1


@pytest.mark.parametrize("name", ["mira", "tor", "leif", "ada"])
def test_only_educators_draft(ruled: SmallService, library: Library, name: str) -> None:
    with ruled.acting(name) as act, pytest.raises(NotAllowed):
        begin_draft(act, library)


def test_what_is_signed_is_ones_own_and_stays_as_it_was(ruled: SmallService, library: Library) -> None:
    draft_id = written(ruled, library)
    with ruled.acting("ines") as act:
        intent_id = prepare_standard(act, library, draft_id)
    with ruled.acting("cleo") as act, pytest.raises(NotFound):
        standard_intent(act, intent_id)
    with pytest.raises(DBAPIError, match="append-only"), ruled.database.writing() as session:
        session.execute(update(Standard).where(Standard.version == 1).values(reason="another reason"))


def test_the_database_keeps_one_open_draft(ruled: SmallService, library: Library) -> None:
    begun(ruled, library)
    with pytest.raises(IntegrityError), ruled.acting("cleo") as act:
        act.session.add(
            StandardDraft(
                id="e" * 32, open_slot=1, based_on_id=None, terms={}, revision=1, begun_by=act.actor.person_id,
                begun_at=act.now, changed_by=act.actor.person_id, changed_at=act.now, closed_at=None,
            )
        )  # fmt: skip
