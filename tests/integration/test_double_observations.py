"""Two assessors: independent sheets, neither shown before both are locked, compared, decided, and counted once."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest
from sqlalchemy import select

from quizapp.assessment.double_settlement import Settlement
from quizapp.assessment.observation_state import StepMark
from quizapp.assessment.roles import Role
from quizapp.errors import BadInput, Conflict, NotAllowed, NotFound
from quizapp.services.double_observations import double_view, doubles_for_figures, doubles_seen, locked_pair
from quizapp.services.observations_of import observation_record, observations_of, to_counter_sign
from quizapp.services.performance_pairs import sheets_to_join
from quizapp.services.settle_double_observation import settle_double_observation, thirds_for
from quizapp.store.evidence import Evidence
from quizapp.store.roles import RoleGrant
from tests.observing import (
    Phone,
    accept,
    checklists,
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
    for name in ("tor", "una"):
        sign_off(small, name, "C8")
    accept(small, "P06")
    return small


def joined(small: SmallService, first: str, **changed: object) -> str:
    return opened(small, by="una", watched=replace(watched(), together_with=first, **changed))  # type: ignore[arg-type]


def both(small: SmallService, *, second_order: str = "abcdefghij") -> tuple[str, str]:
    """Tor and Una mark the same performance; Una's order may be another one. Both are locked."""
    first = opened(small)
    second = joined(small, first)
    performed(small, first)
    phone = Phone(small.now, device_id="019cae00-tablet")
    phone.start()
    for place, step in enumerate(second_order, 1):
        phone.mark(step, after_s=3 * place)
    sent(small, second, phone.made, by="una")
    locked(small, first)
    locked(small, second, by="una")
    return first, second


def test_a_second_assessor_is_offered_the_sheet_but_not_what_it_says(ready: SmallService) -> None:
    first = opened(ready)
    performed(ready, first)
    with ready.acting("una") as act:
        (offered,) = sheets_to_join(act, person_id=ready.person_id("mira"), procedure="P06")
    assert (offered.id, offered.assessor_name) == (first, "Tor")
    assert set(offered.__dataclass_fields__) == {"id", "assessor_name", "opened_at"}


def test_neither_sheet_is_shown_to_the_other_assessor_before_both_are_locked(ready: SmallService) -> None:
    first = opened(ready)
    second = joined(ready, first)
    performed(ready, first)
    locked(ready, first)
    with ready.acting("una") as act:
        for call in (lambda: observation_record(act, first), lambda: double_view(act, first)):
            with pytest.raises(NotFound):
                call()
    with ready.acting("tor") as act, pytest.raises(NotFound):
        observation_record(act, second)
    sent(ready, second, [Phone(ready.now, device_id="1").mark("a")], by="una")
    locked(ready, second, by="una")
    for name in ("tor", "una", "ines"):
        with ready.acting(name) as act:
            assert {double_view(act, first).first.id, double_view(act, first).second.id} == {first, second}


def test_a_list_does_not_say_either_what_the_other_has_marked(ready: SmallService) -> None:
    """An educator sees a locked sheet at once; the other assessor not before both are locked."""
    first = opened(ready)
    joined(ready, first)
    performed(ready, first)
    locked(ready, first)
    with ready.acting("ines") as act:
        assert [line.id for line in observations_of(act, ready.person_id("mira"))] == [first]
    with ready.acting("una") as act:
        assert observations_of(act, ready.person_id("mira")) == ()
        assert to_counter_sign(act) == ()
        assert doubles_seen(act) == ()


@pytest.mark.parametrize("other", [{"profile_revision": 1, "presented": frozenset({"k"})}])
def test_another_card_cannot_be_joined(ready: SmallService, other: dict[str, object]) -> None:
    first = opened(ready)
    with pytest.raises(BadInput, match="Settle the same card") as problem:
        joined(ready, first, **other)
    assert problem.value.field == "together"


def test_a_third_sheet_or_a_strangers_cannot_be_joined(ready: SmallService) -> None:
    first = opened(ready)
    joined(ready, first)
    with pytest.raises(BadInput):
        joined(ready, first)
    with pytest.raises(BadInput):
        joined(ready, "0" * 32)


def test_a_locked_sheet_waits_for_the_other_before_it_is_signed(ready: SmallService) -> None:
    first = opened(ready)
    second = joined(ready, first)
    performed(ready, first)
    locked(ready, first)
    with pytest.raises(Conflict, match="has not locked yet"):
        signed(ready, first)
    sent(ready, second, [Phone(ready.now, device_id="1").mark(step) for step in "a"], by="una")
    locked(ready, second, by="una")
    with pytest.raises(Conflict, match="say different things"):
        signed(ready, first)


def test_sheets_that_agree_are_both_signed_and_count_once(ready: SmallService) -> None:
    first, second = both(ready)
    counted = [*signed(ready, first), *signed(ready, second, by="una")]
    with ready.database.reading() as session:
        rows = {row.id: row for row in session.scalars(select(Evidence))}
    assert [rows[one].counts_for_sign_off for one in counted] == [True, False]
    assert {rows[one].details["performance"] for one in counted} == {first}


def test_a_comparison_says_where_the_sheets_differ(ready: SmallService) -> None:
    first, _ = both(ready, second_order="bcdefghij")
    with ready.acting("ines") as act:
        view = double_view(act, first)
    assert not view.comparison.same_decision
    assert [(step.letter, step.first, step.second) for step in view.comparison.differing] == [
        ("a", StepMark.DONE, None)
    ]
    assert view.comparison.agreeing == len(view.comparison.steps) - 1


def settle(small: SmallService, performance: str, *, by: str = "ines", **said: object) -> str:
    arguments: dict[str, object] = {"outcome": Settlement.OBSERVE_AGAIN, "reason": "Neither saw the bag.", **said}
    with small.acting(by) as act:
        return settle_double_observation(act, library=checklists(), performance_id=performance, **arguments)  # type: ignore[arg-type]


def test_an_educator_decides_and_only_the_sheet_that_stands_counts(ready: SmallService) -> None:
    first, second = both(ready, second_order="bcdefghij")
    settle(ready, first, outcome=Settlement.ONE_STANDS, stands_id=second, reason="Una stood at the head.")
    counts = {}
    for sheet, name in ((first, "tor"), (second, "una")):
        ids = signed(ready, sheet, by=name)
        with ready.database.reading() as session:
            counts[sheet] = [session.get_one(Evidence, one).counts_for_sign_off for one in ids]
    assert counts == {first: [False], second: [True]}


@pytest.mark.parametrize("by", ["tor", "una"])
def test_who_marked_a_sheet_does_not_decide_about_both(ready: SmallService, by: str) -> None:
    first, _ = both(ready, second_order="bcdefghij")
    with pytest.raises(NotAllowed):
        settle(ready, first, by=by)


@pytest.mark.parametrize("by", ["mira", "leif", "petra", "ada"])
def test_nobody_else_learns_that_there_are_two_sheets(ready: SmallService, by: str) -> None:
    first, _ = both(ready, second_order="bcdefghij")
    with pytest.raises(NotFound):
        settle(ready, first, by=by)


@pytest.mark.parametrize(
    ("said", "field"),
    [({"reason": " "}, "reason"), ({"outcome": Settlement.ONE_STANDS}, "stands"), ({"third_id": "0" * 32}, "third")],
)
def test_a_decision_needs_its_reason_its_sheet_and_a_third_who_can(
    ready: SmallService, said: dict[str, object], field: str
) -> None:
    first, _ = both(ready, second_order="bcdefghij")
    with pytest.raises(BadInput) as problem:
        settle(ready, first, **said)
    assert problem.value.field == field


def test_it_is_decided_once(ready: SmallService) -> None:
    first, _ = both(ready, second_order="bcdefghij")
    settle(ready, first)
    with pytest.raises(Conflict, match="decided already"):
        settle(ready, first)
    with ready.acting("ines") as act:
        settled = double_view(act, first).settled
    assert settled is not None
    assert (settled.outcome, settled.decided_by_name, settled.reason) == (
        Settlement.OBSERVE_AGAIN, "Ines", "Neither saw the bag.",
    )  # fmt: skip


def test_no_third_is_proposed_who_marked_already_or_is_not_current(ready: SmallService) -> None:
    first, _ = both(ready, second_order="bcdefghij")
    with ready.acting("ines") as act:
        thirds = thirds_for(act, checklists(), locked_pair(act, first))
    assert {one.name for one in thirds}.isdisjoint({"Tor", "Una", "Mira"})
    assert all(one.is_current for one in thirds)


def as_assessor(small: SmallService, name: str, *, base_id: str = "") -> None:
    with small.acting("ada") as act:
        act.session.add(
            RoleGrant(
                id=act.randomness.new_id(), person_id=small.person_id(name), role=Role.ASSESSOR.value,
                base_id=base_id or small.base_id, from_day=date(2025, 1, 1), until_day=None, reason="made up",
                second_by=small.person_id("bea"),
                granted_by=act.actor.person_id, granted_at=act.now,
            )
        )  # fmt: skip


def thirds(small: SmallService, performance: str) -> list[str]:
    with small.acting("ines") as act:
        return [one.name for one in thirds_for(act, checklists(), locked_pair(act, performance))]


def test_a_third_who_is_current_and_unconnected_is_proposed_and_can_be_named(ready: SmallService) -> None:
    first, _ = both(ready, second_order="bcdefghij")
    as_assessor(ready, "leif")
    assert thirds(ready, first) == []
    sign_off(ready, "leif", "C8")
    assert thirds(ready, first) == ["Leif"]
    settle(ready, first, third_id=ready.person_id("leif"))
    with ready.acting("ines") as act:
        settled = double_view(act, first).settled
    assert settled is not None
    assert settled.third_name == "Leif"


def test_where_nobody_here_can_one_from_another_base_is_named(ready: SmallService) -> None:
    first, _ = both(ready, second_order="bcdefghij")
    as_assessor(ready, "petra", base_id=ready.other_base_id)
    put_in_service(ready, base_id=ready.other_base_id)
    sign_off(ready, "petra", "C8")
    with ready.acting("ines") as act:
        (one,) = thirds_for(act, checklists(), locked_pair(act, first))
    assert (one.name, one.elsewhere) == ("Petra", "Skerrandy")
    as_assessor(ready, "leif")
    sign_off(ready, "leif", "C8")
    assert thirds(ready, first) == ["Leif"]


def test_a_third_with_a_connection_on_record_is_not_proposed(ready: SmallService) -> None:
    as_assessor(ready, "leif")
    sign_off(ready, "leif", "C8")
    opened(ready, by="leif", watched=replace(watched(), connection="Married."))
    first, _ = both(ready, second_order="bcdefghij")
    assert thirds(ready, first) == []


def test_a_double_observation_goes_into_the_figures_as_one_performance(ready: SmallService) -> None:
    both(ready, second_order="bcdefghij")
    opened(ready)
    with ready.acting("ines") as act:
        (one,) = doubles_for_figures(act)
    assert set(one.assessor_ids) == {ready.person_id("tor"), ready.person_id("una")}
    assert one.totals[0] is not None
