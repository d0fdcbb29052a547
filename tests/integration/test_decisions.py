"""Deciding: shown then signed, never for oneself, and two people to turn a "not yet" round."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from sqlalchemy import select
from sqlalchemy.exc import IntegrityError

from quizapp.assessment.roles import Role
from quizapp.assessment.sign_off import EvidenceOutcome
from quizapp.assessment.standing import CompetencyStanding, Outcome, PersonStanding
from quizapp.content.library import Library
from quizapp.errors import BadInput, Conflict, NotAllowed, NotFound
from quizapp.services.decision_desk import desk, waiting
from quizapp.services.decision_statement import DecisionWanted
from quizapp.services.person_standing import standing_of
from quizapp.services.sign_decision import SecondPerson, prepare_decision, sign_decision
from quizapp.store.audit import Signature
from quizapp.store.decisions import Decision
from quizapp.store.roles import RoleGrant
from tests.deciding import REASON, decide, show, with_standard
from tests.small_service import FIRST_DAY, PASSWORD, SmallService


@pytest.fixture
def ruled(small: SmallService, library: Library) -> SmallService:
    """The small service with a standard of two competencies and a device in service."""
    return with_standard(small, library)


def stands(small: SmallService, library: Library) -> PersonStanding:
    with small.acting("mira") as act:
        return standing_of(act, library, act.actor.person_id).report.standing


def test_complete_evidence_and_a_signature_make_a_person_current(ruled: SmallService, library: Library) -> None:
    show(ruled, "C5")
    show(ruled, "C8", assessor="tor")
    assert stands(ruled, library) is PersonStanding.NOT_YET_SIGNED_OFF
    decide(ruled, library)
    assert stands(ruled, library) is PersonStanding.CURRENT
    with ruled.database.reading() as session:
        rows = list(session.scalars(select(Decision)))
        (signature,) = session.scalars(select(Signature))
    assert {row.last_valid_day for row in rows} == {date(2027, 3, 2)}
    assert {row.signature_id for row in rows} == {signature.id}
    assert all(row.evidence_ids for row in rows)


def test_what_is_missing_cannot_be_signed_off(ruled: SmallService, library: Library) -> None:
    show(ruled, "C5")
    with pytest.raises(BadInput, match=r"C8: still missing P06") as refusal:
        decide(ruled, library)
    assert refusal.value.field == "competencies"


def test_a_later_not_shown_beats_an_earlier_shown(ruled: SmallService, library: Library) -> None:
    show(ruled, "C5", days_ago=9)
    show(ruled, "C5", outcome=EvidenceOutcome.NOT_SHOWN, days_ago=2)
    with pytest.raises(BadInput, match="not shown"):
        decide(ruled, library, competencies=("C5",))


def test_evidence_that_changes_after_it_was_shown_stops_the_signature(ruled: SmallService, library: Library) -> None:
    show(ruled, "C5")
    wanted = DecisionWanted(outcome=Outcome.COMPETENT, competencies=["C5"], reason=REASON)
    with ruled.acting("ines") as act:
        intent_id = prepare_decision(act, library, ruled.person_id("mira"), wanted)
    show(ruled, "C5", days_ago=0)
    with ruled.acting("ines") as act, pytest.raises(Conflict, match="evidence changed"):
        sign_decision(act, library, intent_id, password=PASSWORD)
    assert stands(ruled, library) is PersonStanding.NOT_YET_SIGNED_OFF


def test_nobody_decides_on_themselves(ruled: SmallService, library: Library) -> None:
    with ruled.acting("ines") as act, pytest.raises(NotFound):
        prepare_decision(act, library, ruled.person_id("ines"), DecisionWanted(
            outcome=Outcome.NOT_YET, competencies=["C5"], reason=REASON))  # fmt: skip


def test_the_database_refuses_a_decision_on_oneself(ruled: SmallService, library: Library) -> None:
    show(ruled, "C5")
    decide(ruled, library, competencies=("C5",))
    with ruled.database.reading() as session:
        row = session.scalars(select(Decision)).one()
        fields = {column.name: getattr(row, column.name) for column in Decision.__table__.columns}
    with pytest.raises(IntegrityError), ruled.database.writing() as session:
        session.add(Decision(**(fields | {"id": "d" * 32, "decided_by": row.person_id})))


def test_an_educator_of_another_base_does_not_find_the_person(ruled: SmallService, library: Library) -> None:
    with ruled.acting("leif") as act, pytest.raises(NotAllowed):
        desk(act, library, ruled.person_id("mira"))
    with ruled.acting("ines") as act, pytest.raises(NotFound):
        desk(act, library, ruled.person_id("petra"))


def test_the_only_assessor_who_watched_does_not_decide(ruled: SmallService, library: Library) -> None:
    with ruled.acting("ada") as act:
        act.session.add(
            RoleGrant(
                id=act.randomness.new_id(),
                person_id=ruled.person_id("cleo"),
                role=Role.ASSESSOR.value,
                base_id=ruled.base_id,
                from_day=FIRST_DAY,
                reason="test",
                granted_at=ruled.now,
                granted_by=None,
            )
        )
    show(ruled, "C8", assessor="cleo")
    with pytest.raises(NotAllowed, match="only assessor"):
        decide(ruled, library, by="cleo", competencies=("C8",))
    decide(ruled, library, by="ines", competencies=("C8",))


def test_turning_not_yet_into_competent_takes_two_educators(ruled: SmallService, library: Library) -> None:
    decide(ruled, library, competencies=("C5",), outcome=Outcome.NOT_YET)
    show(ruled, "C5")
    with pytest.raises(BadInput, match="Two people are needed"):
        decide(ruled, library, competencies=("C5",))
    with pytest.raises(BadInput, match="different person"):
        decide(ruled, library, competencies=("C5",), second=SecondPerson(sign_in_name="ines", password=PASSWORD))
    with pytest.raises(BadInput, match="do not go together"):
        decide(ruled, library, competencies=("C5",), second=SecondPerson(sign_in_name="cleo", password="wrong"))
    both = SecondPerson(sign_in_name="cleo", password=PASSWORD)
    decide(ruled, library, competencies=("C5",), second=both, after=timedelta(hours=1))
    with ruled.acting("mira", at=ruled.now + timedelta(hours=2)) as act:
        report = standing_of(act, library, act.actor.person_id).report
    assert report.of_competency("C5") is CompetencyStanding.CURRENT


def test_a_restriction_has_conditions_and_an_end(ruled: SmallService, library: Library) -> None:
    decide(ruled, library, outcome=Outcome.RESTRICTED)
    assert stands(ruled, library) is PersonStanding.RESTRICTED


def test_who_waits_is_listed_with_a_constant_number_of_statements(ruled: SmallService, library: Library) -> None:
    show(ruled, "C5")
    with ruled.acting("ines") as act:
        assert [one.person.name for one in waiting(act, library)] == ["Mira"]
    show(ruled, "C8", assessor="tor")
    decide(ruled, library)
    with ruled.acting("ines") as act:
        assert waiting(act, library) == []


def test_evidence_that_carried_a_sign_off_is_not_used_twice(ruled: SmallService, library: Library) -> None:
    show(ruled, "C5")
    decide(ruled, library, competencies=("C5",))
    with pytest.raises(BadInput, match="already carried a sign-off"):
        decide(ruled, library, competencies=("C5",))
