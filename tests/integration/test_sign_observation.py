"""From the lock to the evidence: the rule's result, the person's word, one signature, one row per competency."""

from __future__ import annotations

import json
from datetime import timedelta

import pytest
from sqlalchemy import func, select, update

from quizapp.assessment.audit_events import AuditEvent
from quizapp.assessment.observation_rules import Decision
from quizapp.errors import BadInput, Conflict, NotAllowed, NotFound
from quizapp.services.lock_observation import lock_observation
from quizapp.services.observation_sheet import own_sheet
from quizapp.services.observations_of import my_sheets, observation_record, observations_of, to_counter_sign
from quizapp.services.sign_observation import prepare_observation, sign_observation
from quizapp.store.accepted_content import ContentAcceptance
from quizapp.store.audit import AuditRow, Signature
from quizapp.store.evidence import Evidence
from quizapp.store.observations import Observation
from quizapp.store.roles import RoleGrant
from tests.observing import (
    Phone,
    accept,
    everybody_is_current,
    locked,
    nobody_is_current,
    opened,
    performed,
    put_in_service,
    sent,
    signed,
)
from tests.small_service import PASSWORD, SmallService


@pytest.fixture
def ready(small: SmallService) -> SmallService:
    put_in_service(small)
    return small


def evidence(small: SmallService) -> list[Evidence]:
    with small.database.reading() as session:
        return list(session.scalars(select(Evidence).order_by(Evidence.competency)))


@pytest.mark.parametrize(
    ("order", "decision"),
    [("abcdefghij", Decision.SHOWN), ("afbcdeghij", Decision.NOT_YET), ("abcdef", Decision.INCOMPLETE)],
)
def test_locking_keeps_the_result_of_the_written_rule(ready: SmallService, order: str, decision: Decision) -> None:
    observation_id = opened(ready)
    performed(ready, observation_id, order)
    locked(ready, observation_id, comment="I said f first because the flow had dropped.")
    with ready.acting("tor") as act:
        sheet = own_sheet(act, observation_id)
        row = act.session.get_one(Observation, observation_id)
    assert sheet.result.decision is decision
    assert row.result["decision"] == decision.value
    assert (sheet.global_rating, sheet.confirmed_at) == (4, ready.now)
    assert sheet.person_comment == "I said f first because the flow had dropped."


def test_a_sheet_is_locked_once_with_a_rating_and_with_marks(ready: SmallService) -> None:
    observation_id = opened(ready)
    with pytest.raises(Conflict, match="Nothing was marked"):
        locked(ready, observation_id)
    performed(ready, observation_id)
    for rating in (0, 6):
        with ready.acting("tor") as act, pytest.raises(BadInput, match="five ratings"):
            lock_observation(act, observation_id=observation_id, global_rating=rating, person_confirms=True)
    with ready.acting("una") as act, pytest.raises(NotFound):
        lock_observation(act, observation_id=observation_id, global_rating=4, person_confirms=True)
    locked(ready, observation_id)
    with pytest.raises(Conflict, match="locked already"):
        locked(ready, observation_id)


@pytest.mark.parametrize(
    ("order", "outcome"), [("abcdefghij", "shown"), ("afbcdeghij", "not_shown"), ("abcdef", "incomplete")]
)
def test_signing_writes_one_row_of_evidence_per_competency(ready: SmallService, order: str, outcome: str) -> None:
    accept(ready, "P06")
    observation_id = opened(ready)
    performed(ready, observation_id, order)
    locked(ready, observation_id)
    assert len(signed(ready, observation_id)) == 1
    (row,) = evidence(ready)
    assert (row.competency, row.kind, row.outcome, row.procedure) == ("C8", "observation", outcome, "P06")
    assert (row.person_id, row.assessor_id) == (ready.person_id("mira"), ready.person_id("tor"))
    assert (row.profile_code, row.profile_revision, row.counts_for_sign_off) == ("TV-A", 1, True)
    assert row.source_id == observation_id


def test_a_procedure_of_several_competencies_gives_a_row_for_each(ready: SmallService) -> None:
    observation_id = opened(ready, procedure_code="P02")
    performed(ready, observation_id, "abcdef")
    locked(ready, observation_id)
    signed(ready, observation_id)
    assert [(row.competency, row.counts_for_sign_off) for row in evidence(ready)] == [("C4", False), ("C5", False)]


def test_content_withdrawn_between_opening_and_signing_no_longer_counts(ready: SmallService) -> None:
    acceptance_id = accept(ready, "P06")
    observation_id = opened(ready)
    performed(ready, observation_id)
    locked(ready, observation_id)
    with ready.acting("cleo") as act:
        act.session.execute(
            update(ContentAcceptance).where(ContentAcceptance.id == acceptance_id).values(withdrawn_at=act.now)
        )
    signed(ready, observation_id)
    assert [row.counts_for_sign_off for row in evidence(ready)] == [False]


def test_what_is_signed_holds_marks_order_result_and_the_persons_comment(ready: SmallService) -> None:
    observation_id = opened(ready)
    performed(ready, observation_id, "afbcdeghij")
    locked(ready, observation_id, comment="Understood.")
    signed(ready, observation_id)
    with ready.database.reading() as session:
        (row,) = session.scalars(select(Signature))
        events = list(session.scalars(select(AuditRow.event).order_by(AuditRow.seq)))
    shown = json.loads(row.shown)
    assert (shown["result"], shown["order"], shown["person_comment"]) == ("not_yet", list("afbcdeghij"), "Understood.")
    assert shown["broken"][0].startswith("f was done before b")
    assert (row.record_id, row.meaning, row.role) == (observation_id, "observed", "assessor")
    assert events[-1] == AuditEvent.OBSERVATION_SIGNED


def test_a_wrong_password_signs_nothing(ready: SmallService) -> None:
    observation_id = opened(ready)
    performed(ready, observation_id)
    locked(ready, observation_id)
    with pytest.raises(BadInput, match="not your password"):
        signed(ready, observation_id, password="wrong")
    assert evidence(ready) == []
    assert signed(ready, observation_id)


def test_a_sheet_is_signed_once_and_only_when_locked(ready: SmallService) -> None:
    observation_id = opened(ready)
    performed(ready, observation_id)
    with pytest.raises(Conflict, match="not locked yet"):
        signed(ready, observation_id)
    locked(ready, observation_id)
    signed(ready, observation_id)
    with pytest.raises(Conflict, match="signed already"):
        signed(ready, observation_id)
    assert len(evidence(ready)) == 1


@pytest.mark.parametrize("by", ["una", "mira", "ines", "leif", "ada", "olaf"])
def test_nobody_else_signs_what_a_current_assessor_marked(ready: SmallService, by: str) -> None:
    observation_id = opened(ready)
    performed(ready, observation_id)
    locked(ready, observation_id)
    with pytest.raises(NotFound):
        signed(ready, observation_id, by=by)


def test_without_role_or_currency_on_the_day_nothing_is_signed(ready: SmallService) -> None:
    observation_id = opened(ready)
    performed(ready, observation_id)
    locked(ready, observation_id)
    with ready.acting("tor") as act, pytest.raises(NotAllowed, match="not current in what was observed"):
        prepare_observation(act, observation_id=observation_id, is_current=nobody_is_current)
    with ready.acting("ada") as act:
        ended = update(RoleGrant).where(RoleGrant.person_id == ready.person_id("tor"), RoleGrant.role == "assessor")
        act.session.execute(ended.values(until_day=act.today - timedelta(days=1)))
    with pytest.raises(NotAllowed, match="not an assessor for this base"):
        signed(ready, observation_id)


def test_marks_of_an_assessor_who_is_not_current_wait_for_a_counter_signature(ready: SmallService) -> None:
    accept(ready, "P06")
    observation_id = opened(ready, is_current=nobody_is_current)
    performed(ready, observation_id)
    locked(ready, observation_id)
    with pytest.raises(NotAllowed, match="counter-signature"):
        signed(ready, observation_id)
    with ready.acting("una") as act:
        assert [line.id for line in to_counter_sign(act)] == [observation_id]
    with ready.acting("mira") as act:
        assert to_counter_sign(act) == ()
    with pytest.raises(NotFound):
        signed(ready, observation_id, by="mira")
    signed(ready, observation_id, by="una")
    (row,) = evidence(ready)
    assert (row.assessor_id, row.details["marked_by"]) == (ready.person_id("una"), ready.person_id("tor"))
    with ready.acting("una") as act:
        assert to_counter_sign(act) == ()


def test_the_person_observed_never_counter_signs_even_as_an_assessor(ready: SmallService) -> None:
    observation_id = opened(ready, by="una", of="tor", is_current=nobody_is_current)
    taps = [Phone(ready.now).mark("b")]
    sent(ready, observation_id, taps, by="una")
    locked(ready, observation_id, by="una")
    with pytest.raises(NotFound):
        signed(ready, observation_id, by="tor")
    with ready.acting("tor") as act:
        assert to_counter_sign(act) == ()


def test_what_was_shown_of_one_sheet_does_not_sign_another(ready: SmallService) -> None:
    first, second = opened(ready), opened(ready)
    for observation_id in (first, second):
        phone = Phone(ready.now, device_id=observation_id)
        sent(ready, observation_id, [phone.mark("b")])
        locked(ready, observation_id)
    with ready.acting("tor") as act:
        intent = prepare_observation(act, observation_id=first, is_current=everybody_is_current)
    with ready.acting("tor") as act, pytest.raises(Conflict, match="not this sheet as it stands"):
        sign_observation(
            act, observation_id=second, intent_id=intent.id, password=PASSWORD, is_current=everybody_is_current
        )
    assert evidence(ready) == []


def test_who_sees_a_sheet(ready: SmallService) -> None:
    observation_id = opened(ready)
    performed(ready, observation_id)

    def sees(by: str) -> bool:
        with ready.acting(by) as act:
            try:
                return observation_record(act, observation_id).id == observation_id
            except NotFound:
                return False

    assert [name for name in ("tor", "mira", "ines", "una", "leif", "ada", "petra", "olaf") if sees(name)] == ["tor"]
    locked(ready, observation_id)
    names = [name for name in ("tor", "mira", "ines", "una", "leif", "ada", "petra", "olaf") if sees(name)]
    assert names == ["tor", "mira", "ines"]


def test_lists_hold_what_one_may_know_and_cost_one_statement(ready: SmallService) -> None:
    open_id, locked_id = opened(ready), opened(ready)
    performed(ready, locked_id)
    locked(ready, locked_id)
    with ready.acting("tor") as act:
        mine = my_sheets(act)
    assert {line.id: line.decision for line in mine} == {open_id: None, locked_id: Decision.SHOWN}
    for by, expected in (("mira", [locked_id]), ("ines", [locked_id]), ("una", []), ("olaf", [])):
        with ready.acting(by) as act:
            assert [line.id for line in observations_of(act, ready.person_id("mira"))] == expected


def test_every_change_of_a_sheet_is_on_the_audit_trail(ready: SmallService) -> None:
    observation_id = opened(ready)
    performed(ready, observation_id)
    locked(ready, observation_id)
    signed(ready, observation_id)
    with ready.database.reading() as session:
        wanted = select(func.count()).select_from(AuditRow).where(AuditRow.object_id == observation_id)
        assert session.scalar(wanted) == 4
