"""Discarding a sheet, deciding on late marks, writing over a paper sheet, declaring a connection, reporting a fault."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, time

import pytest
from sqlalchemy import select

from quizapp.assessment.late_mark import LateOutcome
from quizapp.errors import BadInput, Conflict, NotAllowed, NotFound
from quizapp.services.discard_observation import discard_observation
from quizapp.services.enter_paper_record import enter_paper_record
from quizapp.services.late_marks import decide_late_mark, late_marks
from quizapp.services.lock_observation import lock_observation
from quizapp.services.observation_sheet import own_sheet
from quizapp.services.observations_of import my_sheets, observation_record, to_counter_sign
from quizapp.services.report_device_fault import faults_of_sheet, faults_reported, report_device_fault
from quizapp.services.sign_observation import signable_row
from quizapp.store.evidence import Evidence
from tests.observing import (
    Phone,
    accept,
    checklists,
    everybody_is_current,
    locked,
    opened,
    performed,
    put_in_service,
    require,
    sent,
    sign_off,
    signed,
    watched,
)
from tests.small_service import SmallService


@pytest.fixture
def ready(small: SmallService) -> SmallService:
    put_in_service(small)
    require(small, "C8")
    sign_off(small, "tor", "C8", days_ago=30)
    accept(small, "P06")
    return small


def discard(small: SmallService, sheet: str, *, by: str = "tor", reason: str = "Opened for the wrong person.") -> None:
    with small.acting(by) as act:
        discard_observation(act, observation_id=sheet, reason=reason)


def test_a_discarded_sheet_is_kept_and_takes_no_mark_lock_or_signature(ready: SmallService) -> None:
    sheet = opened(ready)
    phone = performed(ready, sheet)
    discard(ready, sheet)
    assert sent(ready, sheet, [phone.mark("k")]) == ["late"]
    with pytest.raises(Conflict, match="was discarded"):
        locked(ready, sheet)
    with pytest.raises(Conflict, match="was discarded"):
        signed(ready, sheet)
    with ready.acting("tor") as act:
        kept = observation_record(act, sheet)
        assert (kept.void_reason, len(kept.events)) == ("Opened for the wrong person.", 11)
        (late,) = late_marks(act)
    assert late.why_late == "arrived after the sheet was discarded"


def test_a_sheet_is_discarded_by_its_assessor_with_a_reason_before_the_lock(ready: SmallService) -> None:
    sheet = opened(ready)
    with pytest.raises(BadInput, match="Write why"):
        discard(ready, sheet, reason=" ")
    with pytest.raises(NotFound):
        discard(ready, sheet, by="una")
    performed(ready, sheet)
    locked(ready, sheet)
    with pytest.raises(Conflict, match="locked"):
        discard(ready, sheet)


def late_one(small: SmallService) -> tuple[str, str]:
    """A locked sheet and the id of a mark that came after the lock."""
    sheet = opened(small)
    phone = performed(small, sheet, "abcdefghi")
    locked(small, sheet)
    assert sent(small, sheet, [phone.mark("j", after_s=40)]) == ["late"]
    with small.acting("tor") as act:
        (late,) = late_marks(act)
    return sheet, late.id


def decide(small: SmallService, late: str, outcome: LateOutcome, *, by: str = "tor", reason: str = "Seen.") -> str:
    with small.acting(by) as act:
        return decide_late_mark(act, late_id=late, outcome=outcome, reason=reason)


def test_a_late_mark_left_out_changes_nothing(ready: SmallService) -> None:
    sheet, late = late_one(ready)
    assert decide(ready, late, LateOutcome.LEFT_OUT) == sheet
    with ready.acting("tor") as act:
        assert own_sheet(act, sheet).locked_at is not None
        (line,) = late_marks(act)
    assert (line.outcome, line.decided_by_name, line.outcome_reason) == (LateOutcome.LEFT_OUT, "Tor", "Seen.")
    with pytest.raises(Conflict, match="decided on already"):
        decide(ready, late, LateOutcome.TAKEN_IN)


def test_a_late_mark_taken_in_opens_the_sheet_for_both_to_look_again(ready: SmallService) -> None:
    sheet, late = late_one(ready)
    decide(ready, late, LateOutcome.TAKEN_IN)
    with ready.acting("tor") as act:
        found = own_sheet(act, sheet)
    assert (found.locked_at, found.confirmed_at, found.global_rating) == (None, None, None)
    assert found.state.performed == tuple("abcdefghij")
    locked(ready, sheet)
    signed(ready, sheet)


def test_nothing_is_taken_into_a_signed_sheet(ready: SmallService) -> None:
    sheet, late = late_one(ready)
    signed(ready, sheet)
    with pytest.raises(Conflict, match="cannot be taken in"):
        decide(ready, late, LateOutcome.TAKEN_IN)
    with pytest.raises(NotFound):
        decide(ready, late, LateOutcome.LEFT_OUT, by="una")
    with pytest.raises(BadInput):
        decide(ready, late, LateOutcome.LEFT_OUT, reason="")


def paper(small: SmallService, *, by: str = "una", of: str = "mira", **changed: object) -> str:
    arguments: dict[str, object] = {
        "library": checklists(),
        "person_id": small.person_id(of),
        "procedure_code": "P06",
        "watched": watched(),
        "assessor_id": small.person_id("tor"),
        "watched_on": date(2026, 3, 1),
        "watched_from": time(7, 30),
    }
    with small.acting(by) as act:
        return enter_paper_record(act, **{**arguments, **changed})  # type: ignore[arg-type]


def written_over(small: SmallService) -> str:
    """Una writes over what Tor watched, and locks it."""
    sheet = paper(small)
    phone = Phone(small.now)
    assert set(sent(small, sheet, [phone.mark(step) for step in "abcdefghij"], by="una")) == {"saved"}
    with small.acting("una") as act:
        lock_observation(act, observation_id=sheet, global_rating=4, person_confirms=True)
    return sheet


def test_a_paper_sheet_bears_both_names_and_is_signed_by_who_watched_alone(ready: SmallService) -> None:
    sheet = written_over(ready)
    for other in ("una", "ines", "mira"):
        with ready.acting(other) as act, pytest.raises((NotFound, NotAllowed)):
            signable_row(act, sheet, is_current=everybody_is_current)
    with ready.acting("una") as act:
        assert to_counter_sign(act) == ()
    with ready.acting("tor") as act:
        (line,) = my_sheets(act)
        found = own_sheet(act, sheet)
    assert (line.id, line.is_from_paper, line.assessor_name) == (sheet, True, "Tor")
    assert (found.assessor_name, found.transcriber_name, found.assessor_was_current) == ("Tor", "Una", True)
    (evidence_id,) = signed(ready, sheet)
    with ready.database.reading() as session:
        row = session.get_one(Evidence, evidence_id)
    assert (row.counts_for_sign_off, row.assessor_id) == (True, ready.person_id("tor"))
    assert (row.happened_at.date(), row.details["written_over_by"]) == (date(2026, 3, 1), ready.person_id("una"))
    assert "Entered from paper by Una." in row.summary


def test_before_the_signature_a_paper_sheet_is_no_evidence(ready: SmallService) -> None:
    written_over(ready)
    with ready.database.reading() as session:
        assert session.scalars(select(Evidence)).all() == []


@pytest.mark.parametrize(
    ("changed", "field"),
    [
        ({"watched_on": date(2026, 3, 3)}, "watched_on"),
        ({"watched_on": date(2025, 12, 1)}, "watched_on"),
        ({"assessor_id": "ines"}, "assessor"),
        ({"assessor_id": "mira"}, "assessor"),
        ({"watched": watched(revision=9)}, "device"),
    ],
)
def test_a_paper_sheet_needs_a_day_and_an_assessor_of_that_day(
    ready: SmallService, changed: dict[str, object], field: str
) -> None:
    if isinstance(who := changed.get("assessor_id"), str):
        changed = {"assessor_id": ready.person_id(who)}
    with pytest.raises(BadInput) as problem:
        paper(ready, **changed)
    assert problem.value.field == field


def test_nobody_writes_over_a_sheet_about_themselves(ready: SmallService) -> None:
    with pytest.raises(NotAllowed):
        paper(ready, by="una", of="una")


def test_a_connection_declared_stands_on_the_sheet_and_in_the_evidence(ready: SmallService) -> None:
    sheet = opened(ready, watched=replace(watched(), connection=" We share a crew. "))
    performed(ready, sheet)
    locked(ready, sheet)
    with ready.acting("tor") as act:
        assert own_sheet(act, sheet).connection == "We share a crew."
    (evidence_id,) = signed(ready, sheet)
    with ready.database.reading() as session:
        assert "declared a connection" in session.get_one(Evidence, evidence_id).summary


def test_a_fault_is_reported_with_lot_and_base_and_names_nobody_watched(ready: SmallService) -> None:
    sheet = opened(ready)
    with ready.acting("tor") as act:
        report_device_fault(act, observation_id=sheet, lot_number=" L 204 ", step="b", what="No cycling.")
        (line,) = faults_of_sheet(act, sheet)
    assert (line.lot_number, line.step, line.device, line.reported_by) == ("L 204", "b", "TV-A revision 1", "Tor")
    assert "Mira" not in repr(line)
    for name, seen in (("leif", 1), ("ines", 1)):
        with ready.acting(name) as act:
            assert len(faults_reported(act)) == seen
    with ready.acting("tor") as act, pytest.raises(NotAllowed):
        faults_reported(act)
    with ready.acting("una") as act, pytest.raises(NotFound):
        report_device_fault(act, observation_id=sheet, lot_number="L", step="", what="x")


@pytest.mark.parametrize(
    ("said", "field"),
    [
        ({"lot_number": " "}, "lot_number"),
        ({"lot_number": "L" * 65}, "lot_number"),
        ({"what": ""}, "what"),
        ({"step": "z"}, "step"),
    ],
)
def test_a_report_without_lot_or_words_is_refused(ready: SmallService, said: dict[str, str], field: str) -> None:
    sheet = opened(ready)
    with ready.acting("tor") as act, pytest.raises(BadInput) as problem:
        report_device_fault(act, observation_id=sheet, **{"lot_number": "L", "step": "", "what": "x", **said})
    assert problem.value.field == field


def test_the_person_watched_sees_a_late_decision_no_earlier_than_the_new_lock(ready: SmallService) -> None:
    sheet, late = late_one(ready)
    decide(ready, late, LateOutcome.TAKEN_IN)
    with ready.acting("mira") as act, pytest.raises(NotFound):
        observation_record(act, sheet)
