"""Who may open a sheet for whom, on which device, with which steps; nobody watches themselves."""

from __future__ import annotations

from datetime import date

import pytest
from sqlalchemy import select, update
from sqlalchemy.exc import IntegrityError

from quizapp.assessment.audit_events import AuditEvent
from quizapp.errors import BadInput, Conflict, NotAllowed, NotFound
from quizapp.services.observation_sheet import own_sheet
from quizapp.services.open_observation import devices_for, people_to_observe, person_to_observe
from quizapp.store.audit import AuditRow
from quizapp.store.observations import Observation
from tests.observing import accept, checklists, nobody_is_current, opened, put_in_service, watched, withdraw
from tests.small_service import SmallService


@pytest.fixture
def ready(small: SmallService) -> SmallService:
    put_in_service(small)
    return small


def test_a_sheet_keeps_the_list_the_device_the_setting_and_what_is_called_for(ready: SmallService) -> None:
    observation_id = opened(ready, "k", "l")
    with ready.acting("tor") as act:
        sheet = own_sheet(act, observation_id)
        events = list(act.session.scalars(select(AuditRow.event)))
    assert sheet.procedure == checklists().procedure("P06")
    assert (sheet.device, sheet.setting.value, sheet.presented) == ("TV-A revision 1", "bench", {"k", "l"})
    assert (sheet.person_name, sheet.assessor_name, sheet.base_name) == ("Mira", "Tor", "Cairnlow")
    assert not sheet.counts_for_sign_off
    assert not sheet.needs_counter_signature
    assert events == [AuditEvent.OBSERVATION_STARTED]


def test_it_counts_for_sign_off_only_when_these_very_bytes_were_accepted(ready: SmallService) -> None:
    accept(ready, "P02")
    before = opened(ready)
    accept(ready, "P06")
    after = opened(ready)
    with ready.acting("tor") as act:
        assert [own_sheet(act, one).counts_for_sign_off for one in (before, after)] == [False, True]


def test_an_assessor_who_is_not_current_may_note_and_the_sheet_says_so(ready: SmallService) -> None:
    observation_id = opened(ready, is_current=nobody_is_current)
    with ready.acting("tor") as act:
        assert own_sheet(act, observation_id).needs_counter_signature


def test_nobody_opens_a_sheet_for_themselves(ready: SmallService) -> None:
    with pytest.raises(NotAllowed, match="Nobody observes themselves"):
        opened(ready, by="tor", of="tor")


def test_the_database_refuses_a_sheet_about_its_own_assessor(ready: SmallService) -> None:
    observation_id = opened(ready)
    mine = update(Observation).where(Observation.id == observation_id).values(person_id=ready.person_id("tor"))
    with pytest.raises(IntegrityError, match="never_oneself"), ready.acting("tor") as act:
        act.session.execute(mine)


@pytest.mark.parametrize("by", ["mira", "ines", "leif", "ada", "olaf"])
def test_without_the_role_of_an_assessor_there_nobody_can_be_observed(ready: SmallService, by: str) -> None:
    of = "una" if by == "mira" else "mira"
    with pytest.raises(NotFound, match="nobody here whom you can observe"):
        opened(ready, by=by, of=of)
    with ready.acting(by) as act:
        assert people_to_observe(act) == ()


def test_an_assessor_observes_people_of_the_own_base_only(ready: SmallService) -> None:
    put_in_service(ready, base_id=ready.other_base_id)
    with pytest.raises(NotFound):
        opened(ready, of="petra")
    with ready.acting("tor") as act:
        names = [person.name for person in people_to_observe(act)]
        mira = person_to_observe(act, ready.person_id("mira"))
        assert devices_for(act, mira) == (("TV-A", 1),)
    assert names == ["Ada", "Bea", "Cleo", "Ines", "Leif", "Mira", "Una"]


def test_a_device_has_to_be_in_service_at_the_base_today(small: SmallService) -> None:
    with pytest.raises(BadInput, match="not in service at this base today") as refusal:
        opened(small)
    assert refusal.value.field == "device"
    put_in_service(small, until_day=date(2026, 3, 1))
    with pytest.raises(BadInput, match="not in service"):
        opened(small)
    put_in_service(small, until_day=date(2026, 3, 2))
    with pytest.raises(BadInput, match="not in service"):
        opened(small, watched=watched(revision=2))
    assert opened(small)


def test_only_conditional_steps_can_be_presented(ready: SmallService) -> None:
    with pytest.raises(BadInput, match="c is not a step that only some scenarios call for") as refusal:
        opened(ready, "c", "k")
    assert refusal.value.field == "presented"


def test_an_unknown_procedure_is_not_found(ready: SmallService) -> None:
    with pytest.raises(NotFound):
        opened(ready, procedure_code="P99")


def test_a_withdrawn_step_is_left_out_and_a_withdrawn_procedure_is_not_opened(ready: SmallService) -> None:
    withdraw(ready, "P06", step="d")
    observation_id = opened(ready)
    with ready.acting("tor") as act:
        assert own_sheet(act, observation_id).procedure.letters == tuple("abcefghijkl")
    withdraw(ready, "P06")
    with pytest.raises(Conflict, match="was withdrawn"):
        opened(ready)
