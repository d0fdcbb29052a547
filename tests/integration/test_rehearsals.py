"""A rehearsal keeps the list and the shuffle, takes any order that works, and has no consequences."""

from __future__ import annotations

import pytest
from sqlalchemy import func, select

from quizapp.assessment.audit_events import AuditEvent
from quizapp.assessment.rehearsal import RehearsalResult
from quizapp.errors import BadInput, Conflict, NotFound
from quizapp.services.finish_rehearsal import finish_rehearsal, result_of
from quizapp.services.start_rehearsal import last_rehearsed, own_rehearsal, start_rehearsal
from quizapp.store.audit import AuditRow
from quizapp.store.evidence import Evidence
from tests.observing import checklists, put_in_service, withdraw
from tests.small_service import SmallService


def started(small: SmallService, code: str = "P06") -> str:
    with small.acting("mira") as act:
        return start_rehearsal(act, library=checklists(), procedure_code=code)


def finished(small: SmallService, rehearsal_id: str, order: str, *, by: str = "mira") -> RehearsalResult:
    with small.acting(by) as act:
        return finish_rehearsal(act, rehearsal_id=rehearsal_id, given=list(order))


def test_the_shuffle_comes_from_the_seed_and_is_kept(small: SmallService) -> None:
    rehearsal_id = started(small)
    with small.acting("mira") as act:
        view = own_rehearsal(act, rehearsal_id)
    assert view.procedure == checklists().procedure("P06")
    assert sorted(view.shown_order) == sorted(view.procedure.letters)
    assert view.shown_order != view.procedure.letters
    assert started(small) != rehearsal_id


@pytest.mark.parametrize("order", ["abcdefghijkl", "badcehfgijkl", "bfgehidcajkl"])
def test_any_order_that_keeps_every_pair_is_accepted(small: SmallService, order: str) -> None:
    result = finished(small, started(small), order)
    assert result.accepted
    assert result.broken == ()


def test_each_broken_dependency_is_named_with_its_reason(small: SmallService) -> None:
    """Dials before the bag: f before b is the classic critical error (checklists/p06)."""
    result = finished(small, started(small), "afgbcdehijkl")
    assert not result.accepted
    assert [(pair.first, pair.then, pair.critical) for pair in result.broken] == [("b", "f", True), ("b", "g", False)]
    assert "the bag comes before any dial" in result.broken[0].sentence_in_full
    assert result.order.misplaced == 1


def test_a_rehearsal_leaves_an_audit_row_and_no_evidence(small: SmallService) -> None:
    finished(small, started(small), "abcdefghijkl")
    with small.acting("mira") as act:
        assert act.session.scalar(select(func.count()).select_from(Evidence)) == 0
        assert list(act.session.scalars(select(AuditRow.event))) == [AuditEvent.REHEARSAL_FINISHED]
        assert last_rehearsed(act) == {"P06": small.now}


def test_finishing_twice_with_the_same_order_gives_the_same_and_another_order_is_refused(small: SmallService) -> None:
    rehearsal_id = started(small)
    first = finished(small, rehearsal_id, "afgbcdehijkl")
    assert finished(small, rehearsal_id, "afgbcdehijkl") == first
    with pytest.raises(Conflict, match="compared already"):
        finished(small, rehearsal_id, "abcdefghijkl")
    with small.acting("mira") as act:
        assert result_of(own_rehearsal(act, rehearsal_id)) == first


@pytest.mark.parametrize("order", ["abc", "abcdefghijkk", "abcdefghijkz", ""])
def test_an_incomplete_order_is_refused_and_the_rehearsal_stays_open(small: SmallService, order: str) -> None:
    rehearsal_id = started(small)
    with pytest.raises(BadInput, match="Each step has to stand in the order once"):
        finished(small, rehearsal_id, order)
    assert finished(small, rehearsal_id, "abcdefghijkl").accepted


def test_nobody_sees_or_finishes_another_persons_rehearsal(small: SmallService) -> None:
    rehearsal_id = started(small)
    with pytest.raises(NotFound):
        finished(small, rehearsal_id, "abcdefghijkl", by="tor")
    with small.acting("ines") as act, pytest.raises(NotFound):
        own_rehearsal(act, rehearsal_id)


def test_steps_that_the_device_at_the_base_does_not_have_are_left_out(small: SmallService) -> None:
    put_in_service(small)
    without_device = {step.letter for step in checklists().procedure("P01").steps if step.only_with}
    profile = checklists().profile("TV-A", 1)
    absent = {
        step.letter
        for step in checklists().procedure("P01").steps
        if step.only_with and not step.only_with.holds_for(profile)
    }
    assert absent <= without_device
    rehearsal_id = started(small, "P01")
    with small.acting("mira") as act:
        shown = own_rehearsal(act, rehearsal_id).shown_order
    assert set(shown) == set(checklists().procedure("P01").letters) - absent


def test_an_unknown_procedure_is_not_found(small: SmallService) -> None:
    with pytest.raises(NotFound):
        started(small, "P99")


def test_a_withdrawn_procedure_is_not_rehearsed(small: SmallService) -> None:
    withdraw(small, "P06")
    with pytest.raises(Conflict, match="was withdrawn"):
        started(small)
