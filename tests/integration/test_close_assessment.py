"""An assessment is closed once, for everybody; saved answers stand and can be handed in."""

from __future__ import annotations

import pytest
from sqlalchemy import select

from quizapp.assessment.audit_events import AuditEvent
from quizapp.content.library import Library
from quizapp.errors import Conflict, NotAllowed, NotFound
from quizapp.services.assign_assessment import assign_assessment
from quizapp.services.close_assessment import close_assessment, people_in_the_middle
from quizapp.services.start_sitting import start_sitting
from quizapp.store.audit import AuditRow
from quizapp.store.sittings import Sitting
from tests.answering import answer_with, begun_with, handed_in_by
from tests.knowledge_forms import composed
from tests.small_service import SmallService

FAMILIES = ["N03", "N07", "N27"]


def closed(small: SmallService, assessment_id: str, name: str = "ines") -> None:
    with small.acting(name) as act:
        close_assessment(act, assessment_id)


def test_no_answer_is_taken_and_nobody_begins_any_more(small: SmallService, library: Library) -> None:
    assessment_id = composed(small, library)
    sitting_id = begun_with(small, library, assessment_id, FAMILIES)
    answer_with(small, sitting_id, 1)
    closed(small, assessment_id)
    with pytest.raises(Conflict, match="closed this assessment"):
        answer_with(small, sitting_id, 2)
    with small.acting("tor") as act, pytest.raises(Conflict, match="closed"):
        start_sitting(act, library, assessment_id)
    with small.acting("ines") as act, pytest.raises(Conflict, match="closed"):
        assign_assessment(act, assessment_id, base_ids=[small.base_id])


def test_what_was_saved_before_is_handed_in(small: SmallService, library: Library) -> None:
    assessment_id = composed(small, library)
    sitting_id = begun_with(small, library, assessment_id, FAMILIES)
    answer_with(small, sitting_id, 1)
    with small.acting("ines") as act:
        assert people_in_the_middle(act, assessment_id) == 1
    closed(small, assessment_id)
    handed_in_by(small, sitting_id)
    with small.acting("ines") as act:
        assert act.session.get_one(Sitting, sitting_id).result["right"] == 1
        assert people_in_the_middle(act, assessment_id) == 0


def test_it_is_closed_once_and_on_the_record(small: SmallService, library: Library) -> None:
    assessment_id = composed(small, library)
    closed(small, assessment_id)
    with pytest.raises(Conflict, match="closed already"):
        closed(small, assessment_id, "cleo")
    with small.database.reading() as session:
        events = list(session.scalars(select(AuditRow.event)))
    assert events.count(AuditEvent.ASSESSMENT_CLOSED.value) == 1


def test_who_may_close(small_sqlite: SmallService, library: Library) -> None:
    assessment_id = composed(small_sqlite, library)
    for name in ("mira", "tor", "leif", "ada"):
        with pytest.raises(NotAllowed):
            closed(small_sqlite, assessment_id, name)
    with pytest.raises(NotFound):
        closed(small_sqlite, "0" * 32)
