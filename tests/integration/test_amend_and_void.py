"""A decision is amended by a new version and voided by two educators; what was signed stays as it was signed."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, timedelta

import pytest
from sqlalchemy import delete, select, update
from sqlalchemy.exc import DBAPIError

from quizapp.assessment.roles import Role
from quizapp.assessment.standing import CompetencyStanding, Outcome
from quizapp.content.library import Library
from quizapp.errors import BadInput, Conflict, NotAllowed, NotFound
from quizapp.services.amend_decision import AmendmentWanted, prepare_amendment, sign_amendment
from quizapp.services.person_standing import standing_of
from quizapp.services.signing import faults_of_signature
from quizapp.services.void_decision import (
    prepare_settling,
    prepare_void,
    proposed_void,
    sign_void,
    voids_waiting,
)
from quizapp.store.audit import AuditRow, Signature
from quizapp.store.decisions import Decision, DecisionVoid
from quizapp.store.roles import RoleGrant
from tests.deciding import decide, show, with_standard
from tests.small_service import FIRST_DAY, PASSWORD, SmallService

HOUR = timedelta(hours=1)
SHORTER = AmendmentWanted(
    outcome=Outcome.COMPETENT, last_valid_day=date(2026, 9, 1), conditions="",
    reason="Shown, and to be looked at again in autumn.", why="The interval was written wrongly.",
)  # fmt: skip
RESTRICTED = replace(SHORTER, outcome=Outcome.RESTRICTED, conditions="Works with a current colleague.")
NOT_YET = replace(SHORTER, outcome=Outcome.NOT_YET, last_valid_day=None)


@pytest.fixture
def decided(small: SmallService, library: Library) -> str:
    """Mira is signed off in C5 until 2 March 2027; the id of that decision."""
    with_standard(small, library)
    show(small, "C5")
    (decision_id,) = decide(small, library, competencies=("C5",))
    return decision_id


def amend(
    small: SmallService, library: Library, decision_id: str, wanted: AmendmentWanted, *, by: str = "ines",
    after: timedelta = HOUR,
) -> str:  # fmt: skip
    with small.acting(by, at=small.now + after) as act:
        intent_id = prepare_amendment(act, library, decision_id, wanted)
    with small.acting(by, at=small.now + after) as act:
        return sign_amendment(act, library, intent_id, password=PASSWORD)


def propose(small: SmallService, decision_id: str, *, by: str = "ines", after: timedelta = 2 * HOUR) -> str:
    with small.acting(by, at=small.now + after) as act:
        intent_id = prepare_void(act, decision_id, reason="The wrong person was meant")
    with small.acting(by, at=small.now + after) as act:
        return sign_void(act, intent_id, password=PASSWORD)


def settle(
    small: SmallService, void_id: str, *, by: str = "cleo", confirm: bool = True, after: timedelta = 3 * HOUR
) -> str:  # fmt: skip
    with small.acting(by, at=small.now + after) as act:
        intent_id = prepare_settling(act, void_id, confirm=confirm, reason="I looked at it as well")
    with small.acting(by, at=small.now + after) as act:
        return sign_void(act, intent_id, password=PASSWORD)


def stood(small: SmallService, library: Library, at: datetime) -> tuple[CompetencyStanding, date | None]:
    with small.acting("ines", at=small.now + timedelta(days=9)) as act:
        report = standing_of(act, library, small.person_id("mira"), at=at).report
    row = next(row for row in report.rows if row.competency == "C5")
    return row.standing, row.last_valid_day


def rows(small: SmallService) -> list[Decision]:
    with small.database.reading() as session:
        return list(session.scalars(select(Decision).order_by(Decision.decided_at)))


def test_an_amendment_is_a_new_version_with_its_own_signature(
    small: SmallService, library: Library, decided: str
) -> None:
    new_id = amend(small, library, decided, SHORTER)
    first, second = rows(small)
    assert (second.id, second.replaces_id, second.last_valid_day) == (new_id, first.id, date(2026, 9, 1))
    assert (first.last_valid_day, first.reason) == (date(2027, 3, 2), "All parts were seen and shown.")
    assert second.evidence_ids == first.evidence_ids
    with small.database.reading() as session:
        signature = session.get_one(Signature, second.signature_id)
        events = list(session.scalars(select(AuditRow.event).where(AuditRow.object_id == new_id)))
    assert (signature.meaning, signature.record_id, faults_of_signature(signature)) == ("amends", new_id, [])
    assert b"The interval was written wrongly." in signature.shown
    assert events == ["decision_amended"]
    just_before = small.now + HOUR - timedelta(seconds=1)
    assert stood(small, library, just_before) == (CompetencyStanding.CURRENT, date(2027, 3, 2))
    assert stood(small, library, small.now + HOUR) == (CompetencyStanding.CURRENT, date(2026, 9, 1))


@pytest.mark.parametrize(
    ("wanted", "standing"),
    [(RESTRICTED, CompetencyStanding.CURRENT), (NOT_YET, CompetencyStanding.NOT_YET_SIGNED_OFF)],
)
def test_it_may_say_less(
    small: SmallService, library: Library, decided: str, wanted: AmendmentWanted, standing: CompetencyStanding
) -> None:
    amend(small, library, decided, wanted)
    assert stood(small, library, small.now + HOUR)[0] is standing
    with pytest.raises(BadInput) as refused:
        amend(small, library, rows(small)[-1].id, SHORTER, after=2 * HOUR)
    assert refused.value.field == "outcome"


@pytest.mark.parametrize(
    ("changed", "field"),
    [
        ({"last_valid_day": date(2027, 3, 3)}, "last_valid_day"),
        ({"last_valid_day": None}, "last_valid_day"),
        ({"last_valid_day": date(2026, 3, 1)}, "last_valid_day"),
        ({"outcome": Outcome.RESTRICTED}, "conditions"),
        ({"reason": "short"}, "reason"),
        ({"why": "w" * 2001}, "why"),
        ({"last_valid_day": date(2027, 3, 2), "reason": "All parts were seen and shown."}, "reason"),
    ],
    ids=str,
)
def test_time_is_never_added_and_nothing_is_said_twice(
    small: SmallService, library: Library, decided: str, changed: dict[str, object], field: str
) -> None:
    with pytest.raises(BadInput) as refused:
        amend(small, library, decided, replace(SHORTER, **changed))  # type: ignore[arg-type]
    assert refused.value.field == field
    assert len(rows(small)) == 1


def test_only_the_version_that_stands_is_amended(small: SmallService, library: Library, decided: str) -> None:
    amend(small, library, decided, SHORTER)
    with pytest.raises(Conflict, match="amended since"):
        amend(small, library, decided, NOT_YET, after=2 * HOUR)


def test_a_decision_amended_meanwhile_stops_the_signature(small: SmallService, library: Library, decided: str) -> None:
    with small.acting("cleo", at=small.now + HOUR) as act:
        intent_id = prepare_amendment(act, library, decided, NOT_YET)
    amend(small, library, decided, SHORTER)
    with small.acting("cleo", at=small.now + HOUR) as act, pytest.raises(Conflict):
        sign_amendment(act, library, intent_id, password=PASSWORD)


def test_the_only_assessor_does_not_amend_what_rests_on_their_eyes(small: SmallService, library: Library) -> None:
    with_standard(small, library)
    with small.acting("ada") as act:
        act.session.add(
            RoleGrant(
                id=act.randomness.new_id(), person_id=small.person_id("cleo"), role=Role.ASSESSOR.value,
                base_id=small.base_id, from_day=FIRST_DAY, reason="test", granted_at=small.now, granted_by=None,
            )
        )  # fmt: skip
    show(small, "C8", assessor="cleo")
    (decision_id,) = decide(small, library, competencies=("C8",))
    with pytest.raises(NotAllowed, match="only assessor"):
        amend(small, library, decision_id, SHORTER, by="cleo")
    amend(small, library, decision_id, NOT_YET, by="cleo")


@pytest.mark.parametrize("name", ["mira", "tor", "leif", "ada", "olaf"])
def test_without_the_right_nothing_is_found(small: SmallService, library: Library, decided: str, name: str) -> None:
    with small.acting(name) as act, pytest.raises((NotFound, NotAllowed)):
        prepare_amendment(act, library, decided, SHORTER)
    with small.acting(name) as act, pytest.raises((NotFound, NotAllowed)):
        prepare_void(act, decided, reason="The wrong person was meant")


def test_two_educators_void_a_decision_with_all_its_versions(
    small: SmallService, library: Library, decided: str
) -> None:
    newest = amend(small, library, decided, SHORTER)
    void_id = propose(small, newest)
    assert stood(small, library, small.now + 2 * HOUR)[0] is CompetencyStanding.CURRENT
    with small.acting("cleo") as act:
        assert [(one.id, one.proposed_by, one.is_mine) for one in voids_waiting(act)] == [(void_id, "Ines", False)]
        assert proposed_void(act, void_id).reason == "The wrong person was meant"
    settle(small, void_id)
    assert {row.voided_at for row in rows(small)} == {small.now + 3 * HOUR}
    assert stood(small, library, small.now + 3 * HOUR - timedelta(seconds=1))[0] is CompetencyStanding.CURRENT
    assert stood(small, library, small.now + 3 * HOUR)[0] is CompetencyStanding.NOT_YET_SIGNED_OFF
    with small.database.reading() as session:
        void = session.scalars(select(DecisionVoid)).one()
        signers = [session.get_one(Signature, one) for one in (void.signature_id, void.second_signature_id)]
        events = set(session.scalars(select(AuditRow.event)))
    assert [(one.printed_name, one.meaning) for one in signers] == [("Ines", "proposes to void"), ("Cleo", "voids")]
    assert all(faults_of_signature(one) == [] for one in signers)
    assert {"void_proposed", "decision_voided"} <= events
    with small.acting("cleo") as act:
        assert voids_waiting(act) == []


def test_evidence_of_a_void_decision_may_carry_another_one(small: SmallService, library: Library, decided: str) -> None:
    settle(small, propose(small, decided))
    decide(small, library, competencies=("C5",), after=4 * HOUR)


def test_nobody_voids_alone(small: SmallService, library: Library, decided: str) -> None:
    void_id = propose(small, decided)
    for confirm in (True, False):
        with pytest.raises(NotAllowed, match="different person"):
            settle(small, void_id, by="ines", confirm=confirm)
    with pytest.raises(Conflict, match="proposed to void"):
        propose(small, decided, by="cleo")
    with pytest.raises(Conflict, match="proposed to void"):
        amend(small, library, decided, SHORTER)
    assert rows(small)[0].voided_at is None


def test_a_second_educator_may_decline_and_the_decision_stands(
    small: SmallService, library: Library, decided: str
) -> None:
    settle(small, propose(small, decided), confirm=False)
    assert stood(small, library, small.now + 4 * HOUR)[0] is CompetencyStanding.CURRENT
    again = propose(small, decided, by="cleo", after=5 * HOUR)
    settle(small, again, by="ines", after=6 * HOUR)
    with pytest.raises(Conflict, match="voided already"):
        propose(small, decided, after=7 * HOUR)
    with pytest.raises(Conflict, match="settled already"):
        settle(small, again, by="ines", after=7 * HOUR)


def test_the_database_keeps_a_decision_as_it_was_signed(small: SmallService, library: Library, decided: str) -> None:
    settle(small, propose(small, decided))
    for values in (
        {"last_valid_day": date(2030, 1, 1)}, {"outcome": "restricted"}, {"reason": "another"}, {"voided_at": None},
        {"person_id": small.person_id("tor")}, {"evidence_ids": []}, {"decided_by": small.person_id("cleo")},
    ):  # fmt: skip
        with pytest.raises(DBAPIError, match="append-only"), small.database.writing() as session:
            session.execute(update(Decision).where(Decision.id == decided).values(**values))
    with pytest.raises(DBAPIError, match="append-only"), small.database.writing() as session:
        session.execute(delete(Decision).where(Decision.id == decided))
