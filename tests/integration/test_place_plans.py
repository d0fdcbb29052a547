"""A plan of places from what is stored: worked out, one place moved, published as it was shown or not at all."""

from __future__ import annotations

from datetime import timedelta

import pytest
from sqlalchemy import select

from quizapp.assessment.attendance import Attendance
from quizapp.assessment.place_mends import MendKind, WhyNot
from quizapp.assessment.standing_event_kind import StandingEventKind
from quizapp.content.library import Library
from quizapp.errors import Conflict, NotAllowed, NotFound
from quizapp.services.change_standing import StandingChange, change_standing
from quizapp.services.hold_place import book_place, record_attendance
from quizapp.services.place_plans import draft_of, move_in_plan, move_shown, plan_shown, propose_plan, publish_plan
from quizapp.services.plan_inputs import plan_inputs
from quizapp.services.session_days import cancel_session_day, open_session_day
from quizapp.store.challenges import Message
from quizapp.store.places import PlacePlan
from quizapp.store.shifts import CrewShift, ShiftMember
from tests.counted_statements import counted_statements
from tests.many_people import add_clinicians
from tests.planning import day_opened, people_due, places, planned, published, signed_off, wanted_day
from tests.small_service import SmallService


@pytest.fixture
def due(small: SmallService, library: Library) -> SmallService:
    """Mira is due in 20 days, c0 in 12, c1 lapsed 5 days ago, c2 was never signed off, c3 is on leave."""
    add_clinicians(small, 4)
    people_due(small, library, mira=20, c0=12, c1=-5, c3=9)
    with small.acting("ines") as act:
        wanted = StandingChange(
            kind=StandingEventKind.PAUSED, from_day=act.today, until_day=None, reason="on leave here"
        )
        change_standing(act, small.person_id("c3"), wanted)
    return small


def seats(small: SmallService) -> dict[str, str]:
    """Who holds a place on which day, by the names of the small service."""
    names = {small.person_id(who): who for who in ("mira", "c0", "c1", "c2", "c3", "tor", "una")}
    return {f"{names[one.person_id]}{' again' * one.is_fallback}": one.session_day_id for one in places(small)}


def test_who_needs_a_place_is_told_from_how_people_stand(due: SmallService, library: Library) -> None:
    with due.acting("leif") as act:
        found = plan_inputs(act, library, [])
    assert {one.person_id: None if one.due is None else (one.due - due.now.date()).days for one in found.people} == {
        due.person_id("mira"): 20, due.person_id("c0"): 12, due.person_id("c1"): -5, due.person_id("c2"): None
    }  # fmt: skip


def test_the_earliest_due_first_then_who_is_not_current(due: SmallService, library: Library) -> None:
    first, second = day_opened(due, 10, capacity=1), day_opened(due, 18, capacity=2)
    plan_id = planned(due, library)
    with due.acting("leif") as act:
        shown = plan_shown(act, library, plan_id)
    assert {one.person_id: one.session_id for one in shown.plan.placements} == {
        due.person_id("c0"): first, due.person_id("mira"): second, due.person_id("c1"): second
    }  # fmt: skip
    (left,) = shown.unmet
    assert (left.person_id, left.why, left.mend.kind) == (
        due.person_id("c2"), WhyNot.FULL, MendKind.ONE_MORE_PLACE
    )  # fmt: skip
    assert places(due) == []
    assert published(due, library, plan_id) == 3
    assert seats(due) == {"c0": first, "mira": second, "c1": second}
    with due.database.reading() as session:
        said = list(session.scalars(select(Message.text).where(Message.person_id == due.person_id("mira"))))
    assert said == ["You have a place on 20 March 2026, 09:00 to 13:00, Cairnlow."]


def test_who_has_a_place_is_not_planned_again(due: SmallService, library: Library) -> None:
    day_opened(due, 10, capacity=4)
    published(due, library, planned(due, library))
    with due.acting("leif") as act:
        again = plan_shown(act, library, propose_plan(act, library))
    assert again.plan.placements == ()
    assert again.inputs.people == ()
    assert again.inputs.holding == 4


def test_an_assessor_who_will_have_lapsed_watches_nobody(small: SmallService, library: Library) -> None:
    people_due(small, library, mira=20)
    signed_off(small, "tor", 5)
    day_opened(small, 10, assessor_ids=(small.person_id("tor"),))
    with small.acting("leif") as act:
        shown = plan_shown(act, library, propose_plan(act, library))
    whys = {one.person_id: one.why for one in shown.unmet}
    assert whys[small.person_id("mira")] is WhyNot.NO_ASSESSOR


def test_a_likely_no_show_gets_a_second_place_and_it_is_freed_by_coming(due: SmallService, library: Library) -> None:
    past = day_opened(due, 1, capacity=4)
    with due.acting("mira") as act:
        missed = book_place(act, past)
    due.now += timedelta(days=2)
    with due.acting("tor") as act:
        record_attendance(act, missed, Attendance.DID_NOT_COME)
    first, second = day_opened(due, 8, capacity=4), day_opened(due, 16, capacity=3)
    plan_id = planned(due, library)
    with due.acting("leif") as act:
        shown = plan_shown(act, library, plan_id)
    assert {one.person_id for one in shown.fallbacks} == {due.person_id("mira")}
    came = 9 / 11 * 0.9
    ratio = shown.figures.all_succeed_fraction / shown.without_fallback.all_succeed_fraction
    assert ratio == pytest.approx((1 - (1 - came) ** 2) / came)
    published(due, library, plan_id)
    held = seats(due)
    assert held["mira again"] == second
    assert held["mira"] == first
    due.now += timedelta(days=8)
    with due.acting("una") as act:
        record_attendance(act, next(one.id for one in places(due, first) if one.person_id == due.person_id("mira")),
                          Attendance.CAME)  # fmt: skip
    assert "mira again" not in seats(due)


def test_one_is_moved_and_its_effect_is_seen_before_it_is_saved(due: SmallService, library: Library) -> None:
    first, second = day_opened(due, 10, capacity=1), day_opened(due, 18, capacity=2)
    late = day_opened(due, 25, capacity=1)
    plan_id, mira = planned(due, library), due.person_id("mira")
    with due.acting("leif") as act:
        shown = move_shown(act, library, plan_id, mira, late)
        assert shown.now_on == second
        assert shown.why_not == {first: "It is full.", second: "", late: "It is full."}
    with due.acting("leif") as act, pytest.raises(Conflict, match="full"):
        move_in_plan(act, library, plan_id, mira, late)
    with due.acting("leif") as act:
        move_in_plan(act, library, plan_id, due.person_id("c2"), "")
        effect = move_shown(act, library, plan_id, mira, late)
        assert effect.becomes_late
        assert effect.after is not None
        assert (effect.before.in_time, effect.after.in_time, effect.after.late) == (3, 2, 1)
    with due.acting("leif") as act:
        move_in_plan(act, library, plan_id, mira, late)
    published(due, library, plan_id)
    assert seats(due)["mira"] == late
    with due.acting("leif") as act, pytest.raises(Conflict, match="published"):
        move_in_plan(act, library, plan_id, mira, second)


def test_a_plan_is_published_as_it_was_shown_or_not_at_all(due: SmallService, library: Library) -> None:
    first = day_opened(due, 10, capacity=4)
    plan_id = planned(due, library)
    with due.acting("leif") as act:
        digest = plan_shown(act, library, plan_id).digest
        with pytest.raises(Conflict, match="Something changed"):
            publish_plan(act, library, plan_id, digest="another")
    with due.acting("mira") as act:
        book_place(act, first)
    with due.acting("leif") as act, pytest.raises(Conflict, match="Something changed"):
        publish_plan(act, library, plan_id, digest=digest)
    assert seats(due) == {"mira": first}
    published(due, library, planned(due, library))
    assert len(seats(due)) == 4
    with due.acting("leif") as act, pytest.raises(NotFound):
        plan_shown(act, library, plan_id)


def test_a_cancelled_day_makes_its_places_of_a_plan_fall_away(due: SmallService, library: Library) -> None:
    first = day_opened(due, 10, capacity=4)
    plan_id = planned(due, library)
    with due.acting("leif") as act:
        digest = plan_shown(act, library, plan_id).digest
        cancel_session_day(act, first, reason="No aircraft that day.")
    with due.acting("leif") as act:
        shown = plan_shown(act, library, plan_id)
        assert shown.plan.placements == ()
        with pytest.raises(Conflict):
            publish_plan(act, library, plan_id, digest=digest)


def test_whose_plan_it_is(due: SmallService, library: Library) -> None:
    plan_id = planned(due, library)
    for who in ("ines", "olaf"):
        with due.acting(who) as act, pytest.raises(NotFound):
            plan_shown(act, library, plan_id)
    for who in ("mira", "tor", "ada"):
        with due.acting(who) as act, pytest.raises(NotAllowed):
            propose_plan(act, library)
    with due.acting("olaf") as act, pytest.raises(NotFound):
        propose_plan(act, library, [due.base_id])
    with due.acting("leif") as act:
        again = propose_plan(act, library)
        found = draft_of(act)
        assert found is not None
        assert found.id == again
        assert len(list(act.session.scalars(select(PlacePlan)))) == 1


def test_as_many_statements_for_thirty_people_as_for_three(small_sqlite: SmallService, library: Library) -> None:
    small = small_sqlite
    people_due(small, library, mira=20)
    add_clinicians(small, 2)
    day_opened(small, 10, capacity=9)
    plan_id = planned(small, library)
    counts = []
    for more in (0, 30):
        add_clinicians(small, more, start=10)
        for at in range(more // 10):
            day_opened(small, 12 + at, capacity=9)
        with small.acting("leif") as act, counted_statements(small.database) as statements:
            plan_shown(act, library, plan_id)
        counts.append(len(statements))
    assert counts[0] == counts[1]


def test_a_day_elsewhere_that_reaches_a_base_is_planned_too(due: SmallService, library: Library) -> None:
    with due.acting("olaf") as act:
        elsewhere = open_session_day(
            act, wanted_day(due, 10, base_id=due.other_base_id, reach_ids=(due.base_id, due.other_base_id))
        )
    plan_id = planned(due, library)
    with due.acting("leif") as act:
        shown = plan_shown(act, library, plan_id)
    assert {one.session_id for one in shown.plan.placements} == {elsewhere}
    assert shown.figures.travelling == 2


def test_who_is_on_shift_or_just_came_off_one_gets_another_day(due: SmallService, library: Library) -> None:
    first, second = day_opened(due, 10, capacity=4), day_opened(due, 11, capacity=4)
    on_shift(due, "mira", from_hour=-2, until_hour=10)
    on_shift(due, "c0", from_hour=-14, until_hour=-2)
    on_shift(due, "c1", from_hour=-24, until_hour=-8)
    plan_id = planned(due, library)
    with due.acting("leif") as act:
        shown = plan_shown(act, library, plan_id)
        move = move_shown(act, library, plan_id, due.person_id("mira"), None)
    assert {one.person_id: one.session_id for one in shown.plan.placements} == {
        due.person_id("mira"): second, due.person_id("c0"): second, due.person_id("c1"): first,
        due.person_id("c2"): first,
    }  # fmt: skip
    assert move.why_not[first] == "They are on shift or away on this day."


def on_shift(small: SmallService, who: str, *, from_hour: int, until_hour: int) -> None:
    """A shift around nine o'clock of the tenth day; hours before it are negative."""
    nine = small.now + timedelta(days=10)
    with small.acting("leif") as act:
        shift = CrewShift(
            id=act.randomness.new_id(), base_id=small.base_id, crew=f"crew of {who}",
            starts_at=nine + timedelta(hours=from_hour), ends_at=nine + timedelta(hours=until_hour),
            confirmed_at=act.now, confirmed_by=act.actor.person_id, known_cover="unknown",
        )  # fmt: skip
        act.session.add(shift)
        act.session.flush()
        act.session.add(ShiftMember(shift_id=shift.id, person_id=small.person_id(who), crew_role="clinician",
                                    from_at=shift.starts_at, until_at=shift.ends_at))  # fmt: skip
