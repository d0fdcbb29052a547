"""Exact bytes are accepted by a clinical lead; a file or a step is withdrawn in one act, and who met it is listed."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest
from small_service import SmallService
from sqlalchemy import select
from sqlalchemy.exc import IntegrityError

from quizapp.content.library import Library
from quizapp.errors import BadInput, Conflict, NotAllowed, NotFound
from quizapp.services.accept_content import (
    ContentState,
    accept_content,
    accepted_hashes,
    content_states,
    lift_withdrawal,
    withdraw_content,
)
from quizapp.services.content_in_force import content_in_force
from quizapp.services.content_items import ContentItem, ContentKind, content_items
from quizapp.services.who_met import who_met
from quizapp.store.accepted_content import ContentAcceptance
from quizapp.store.audit import AuditRow
from quizapp.store.rehearsals import Rehearsal
from quizapp.store.sittings import Sitting, SittingQuestion

REASON = "two right answers were found in it"


def item_of(library: Library, kind: ContentKind) -> ContentItem:
    return next(item for item in content_items(library) if item.kind is kind)


def named(item: ContentItem) -> tuple[str, str, str]:
    return (item.kind.value, item.code, item.content_hash)


def accept(small: SmallService, library: Library, *items: ContentItem, by: str = "cleo") -> tuple[str, ...]:
    with small.acting(by) as act:
        wanted = [named(item) for item in items]
        return accept_content(act, library, wanted=wanted, local_changes=" we call it the black bag ")


def withdraw(small: SmallService, library: Library, item: ContentItem, *, by: str = "ines", step: str = "") -> str:
    kind, code, content_hash = named(item)
    with small.acting(by) as act:
        return withdraw_content(act, library, kind=kind, code=code, content_hash=content_hash, step=step, reason=REASON)


def state_of(small: SmallService, library: Library, item: ContentItem) -> ContentState:
    with small.acting("cleo") as act:
        return next(state for state in content_states(act, library) if state.item == item)


def hashes(small: SmallService) -> frozenset[str]:
    with small.database.reading() as session:
        return accepted_hashes(session)


@pytest.mark.parametrize("kind", list(ContentKind))
def test_nothing_counts_until_a_clinical_lead_accepted_it(
    small: SmallService, library: Library, kind: ContentKind
) -> None:
    item = item_of(library, kind)
    assert hashes(small) == frozenset()
    accept(small, library, item)
    assert hashes(small) == {item.content_hash}
    state = state_of(small, library, item)
    assert (state.accepted_by, state.local_changes) == ("Cleo", "we call it the black bag")
    with small.database.reading() as session:
        assert session.scalars(select(AuditRow)).one().event == "content_accepted"


def test_all_of_the_folder_is_accepted_in_one_act(small: SmallService, library: Library) -> None:
    items = content_items(library)
    assert len(accept(small, library, *items)) == len(items)
    assert hashes(small) == {item.content_hash for item in items}


@pytest.mark.parametrize("name", ["mira", "tor", "ines", "leif", "ada"])
def test_nobody_else_accepts(small_sqlite: SmallService, library: Library, name: str) -> None:
    with pytest.raises(NotAllowed):
        accept(small_sqlite, library, item_of(library, ContentKind.FAMILY), by=name)


def test_what_cannot_be_accepted(small_sqlite: SmallService, library: Library) -> None:
    item = item_of(library, ContentKind.FAMILY)
    with pytest.raises(BadInput):
        accept(small_sqlite, library)
    with pytest.raises(NotFound):
        accept(small_sqlite, library, replace(item, code="N-0"))
    with pytest.raises(Conflict, match="changed meanwhile"):
        accept(small_sqlite, library, replace(item, content_hash="0" * 64))
    accept(small_sqlite, library, item)
    with pytest.raises(Conflict, match="accepted already"):
        accept(small_sqlite, library, item)


def test_the_database_keeps_one_acceptance_in_force(small: SmallService, library: Library) -> None:
    item = item_of(library, ContentKind.FAMILY)
    accept(small, library, item)
    with pytest.raises(IntegrityError), small.database.writing() as session:
        session.add(
            ContentAcceptance(
                id="1" * 32, kind="family", code=item.code, content_hash=item.content_hash,
                accepted_by=small.person_id("cleo"), accepted_at=small.now, local_changes="",
            )
        )  # fmt: skip


@pytest.mark.parametrize("by", ["ines", "cleo"])
def test_an_educator_withdraws_a_file_in_one_act_accepted_or_not(
    small: SmallService, library: Library, by: str
) -> None:
    family, procedure = item_of(library, ContentKind.FAMILY), item_of(library, ContentKind.PROCEDURE)
    accept(small, library, family)
    withdraw(small, library, family, by=by)
    withdraw(small, library, procedure, by=by)
    assert hashes(small) == frozenset()
    with small.acting("ines") as act:
        assert content_in_force(act).is_withdrawn(library.families[family.code])
    assert state_of(small, library, procedure).is_withdrawn
    with pytest.raises(Conflict):
        withdraw(small, library, family, by=by)


def test_accepting_again_takes_a_withdrawn_file_back(small: SmallService, library: Library) -> None:
    family = item_of(library, ContentKind.FAMILY)
    accept(small, library, family)
    withdraw(small, library, family)
    accept(small, library, family)
    assert hashes(small) == {family.content_hash}
    assert not state_of(small, library, family).is_withdrawn


def test_a_withdrawn_step_leaves_the_procedure_accepted_and_can_be_lifted(
    small: SmallService, library: Library
) -> None:
    procedure = item_of(library, ContentKind.PROCEDURE)
    accept(small, library, procedure)
    step = procedure.steps[0]
    withdrawal_id = withdraw(small, library, procedure, step=step)
    state = state_of(small, library, procedure)
    assert (state.is_withdrawn, [one.step for one in state.withdrawals]) == (False, [step])
    assert hashes(small) == {procedure.content_hash}
    with small.acting("ines") as act, pytest.raises(NotAllowed):
        lift_withdrawal(act, withdrawal_id=withdrawal_id)
    with small.acting("cleo") as act:
        lift_withdrawal(act, withdrawal_id=withdrawal_id)
        with pytest.raises(Conflict):
            lift_withdrawal(act, withdrawal_id=withdrawal_id)
        with pytest.raises(NotFound):
            lift_withdrawal(act, withdrawal_id="0" * 32)
    assert state_of(small, library, procedure).withdrawals == ()


def test_what_cannot_be_withdrawn(small_sqlite: SmallService, library: Library) -> None:
    procedure = item_of(library, ContentKind.PROCEDURE)
    with pytest.raises(BadInput, match="no step"):
        withdraw(small_sqlite, library, procedure, step="zz")
    for name in ("mira", "tor", "leif", "ada"):
        with pytest.raises(NotAllowed):
            withdraw(small_sqlite, library, procedure, by=name)
    kind, code, content_hash = named(procedure)
    with small_sqlite.acting("ines") as act, pytest.raises(BadInput, match="Say why"):
        withdraw_content(act, library, kind=kind, code=code, content_hash=content_hash, step="", reason="bad")


def met_question(small: SmallService, number: int, name: str, family: str, content_hash: str) -> None:
    sitting_id = f"{number:032x}"
    with small.database.writing() as session:
        session.add(
            Sitting(
                id=sitting_id, assessment_id=None, person_id=small.person_id(name), purpose="practice", seed="0" * 64,
                profile_code="TV-A", profile_revision=1, started_at=small.now + timedelta(minutes=number),
            )
        )  # fmt: skip
        session.flush()
        session.add(
            SittingQuestion(
                id=sitting_id, sitting_id=sitting_id, position=1, family=family, competency="C5",
                content_hash=content_hash, counts_for_sign_off=False, weight_percent=100, frozen={},
            )
        )  # fmt: skip


def test_everybody_who_met_a_family_is_listed_newest_first(small: SmallService, library: Library) -> None:
    family = item_of(library, ContentKind.FAMILY)
    met_question(small, 1, "mira", family.code, family.content_hash)
    met_question(small, 2, "mira", family.code, family.content_hash)
    met_question(small, 3, "petra", family.code, "0" * 64)
    met_question(small, 4, "tor", "another", family.content_hash)
    with small.acting("ines") as act:
        found = who_met(act, library, kind=family.kind, code=family.code, content_hash=family.content_hash)
    assert [(one.name, one.base_name, one.how, one.times, one.same_bytes) for one in found] == [
        ("Petra", "Skerrandy", "sitting", 1, False),
        ("Mira", "Cairnlow", "sitting", 2, True),
    ]
    assert found[0].last_at == small.now + timedelta(minutes=3)


def test_rehearsals_and_device_profiles_are_met_too(small: SmallService, library: Library) -> None:
    procedure, profile = item_of(library, ContentKind.PROCEDURE), item_of(library, ContentKind.PROFILE)
    with small.database.writing() as session:
        session.add(
            Rehearsal(
                id="1" * 32, person_id=small.person_id("tor"), procedure=procedure.code,
                content_hash=procedure.content_hash, frozen={}, shown_order=[], started_at=small.now,
            )
        )  # fmt: skip
    met_question(small, 1, "mira", "any", "0" * 64)
    with small.acting("ines") as act:
        met = who_met(act, library, kind=procedure.kind, code=procedure.code, content_hash=procedure.content_hash)
        assert [(one.name, one.how) for one in met] == [("Tor", "rehearsal")]
        met = who_met(act, library, kind=profile.kind, code="tv-a-1", content_hash=profile.content_hash)
        assert [(one.name, one.how) for one in met] == [("Mira", "sitting")]
        with pytest.raises(NotFound):
            who_met(act, library, kind=profile.kind, code="tv-z-9", content_hash="")
    with small.acting("leif") as act, pytest.raises(NotAllowed):
        who_met(act, library, kind=procedure.kind, code=procedure.code, content_hash="")
