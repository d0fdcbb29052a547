"""Session days and the places on them: opened, booked, moved, given up, attended; never more than there is room for."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta
from threading import Barrier

import pytest
from sqlalchemy import select

from quizapp.assessment.attendance import Attendance
from quizapp.errors import BadInput, Conflict, NotAllowed, NotFound
from quizapp.services.booked_places import booked_days, booked_places
from quizapp.services.hold_place import book_place, bookable_days, give_up_place, move_place, record_attendance
from quizapp.services.seats import attended
from quizapp.services.session_days import cancel_session_day, change_session_day, open_session_day
from quizapp.store.audit import AuditRow
from quizapp.store.challenges import Message
from quizapp.store.places import Place, SessionDay
from tests.many_people import add_clinicians
from tests.planning import day_opened, places, wanted_day
from tests.small_service import SmallService

RACERS = 16


def booked(small: SmallService, day_id: str, who: str = "mira") -> str:
    with small.acting(who) as act:
        return book_place(act, day_id)


def told(small: SmallService, who: str) -> list[str]:
    with small.database.reading() as session:
        rows = select(Message.text).where(Message.person_id == small.person_id(who)).order_by(Message.id)
        return list(session.scalars(rows))


def events(small: SmallService) -> list[str]:
    with small.database.reading() as session:
        return list(session.scalars(select(AuditRow.event).order_by(AuditRow.seq)))


@pytest.mark.parametrize("left", [1, 3, 15])
def test_sixteen_people_race_for_the_seats_and_no_seat_is_given_twice(small: SmallService, left: int) -> None:
    names = add_clinicians(small, RACERS)
    day_id = day_opened(small, 10, capacity=left)
    start = Barrier(RACERS)

    def race(name: str) -> bool:
        start.wait(timeout=20)
        try:
            booked(small, day_id, name)
        except Conflict:
            return False
        return True

    with ThreadPoolExecutor(RACERS) as pool:
        won = sum(pool.map(race, names))
    assert won == left
    assert [one.seat for one in places(small, day_id)] == list(range(1, left + 1))


def test_one_person_in_sixteen_windows_gets_one_place(small: SmallService) -> None:
    days = [day_opened(small, 10 + at, capacity=20) for at in range(RACERS)]
    start = Barrier(RACERS)

    def race(day_id: str) -> bool:
        start.wait(timeout=20)
        try:
            booked(small, day_id)
        except Conflict:
            return False
        return True

    with ThreadPoolExecutor(RACERS) as pool:
        won = sum(pool.map(race, days))
    assert won == 1
    assert len(places(small)) == 1


def test_a_seat_given_up_is_free_again_and_the_lowest_is_taken_first(small: SmallService) -> None:
    day_id = day_opened(small, 10)
    first = booked(small, day_id)
    booked(small, day_id, "tor")
    with pytest.raises(Conflict, match="last place"):
        booked(small, day_id, "una")
    with small.acting("mira") as act:
        give_up_place(act, first, reason="on shift that day")
    booked(small, day_id, "una")
    assert [one.seat for one in places(small, day_id)] == [1, 2]
    with small.acting("mira") as act, pytest.raises(Conflict, match="given up before"):
        give_up_place(act, first, reason="on shift that day")


def test_who_may_not_book(small: SmallService) -> None:
    closed = day_opened(small, 10, takes_bookings=False)
    own = day_opened(small, 11, assessor_ids=(small.person_id("tor"),))
    with pytest.raises(NotFound):
        booked(small, closed)
    with pytest.raises(NotFound):
        booked(small, own, "petra")
    with pytest.raises(Conflict, match="watched by themselves"):
        booked(small, own, "tor")
    with pytest.raises(NotFound):
        booked(small, "0" * 32)
    with small.acting("tor") as act:
        assert bookable_days(act) == []
    with small.acting("mira") as act:
        assert [one.id for one in bookable_days(act)] == [own]


def test_a_move_keeps_the_place_raises_its_sequence_and_tells_its_person(small: SmallService) -> None:
    first, second = day_opened(small, 10), day_opened(small, 12, capacity=1)
    place_id = booked(small, first)
    with small.acting("leif") as act:
        move_place(act, place_id, second)
    (place,) = places(small)
    assert (place.id, place.session_day_id, place.seat, place.sequence) == (place_id, second, 1, 1)
    assert any("moved to 14 March 2026" in text for text in told(small, "mira"))
    other = booked(small, first, "tor")
    with small.acting("leif") as act, pytest.raises(Conflict, match="last place"):
        move_place(act, other, second)
    with small.acting("olaf") as act, pytest.raises(NotFound):
        move_place(act, other, second)
    with small.acting("leif") as act, pytest.raises(Conflict, match="on that day already"):
        move_place(act, other, first)


def test_a_day_is_changed_and_cancelled_and_its_people_are_told(small: SmallService) -> None:
    day_id = day_opened(small, 10)
    place_id = booked(small, day_id)
    with small.acting("leif") as act:
        change_session_day(act, day_id, wanted_day(small, 11, starts_at="10:00", capacity=1))
    assert any("now on 13 March 2026, 10:00 to 13:00" in text for text in told(small, "mira"))
    with small.acting("leif") as act, pytest.raises(BadInput, match="few words why"):
        cancel_session_day(act, day_id, reason=" ")
    with small.acting("leif") as act:
        assert cancel_session_day(act, day_id, reason="The helicopter is away.") == 1
    assert any("was cancelled: The helicopter is away." in text for text in told(small, "mira"))
    with small.database.reading() as session:
        place, day = session.get_one(Place, place_id), session.get_one(SessionDay, day_id)
    assert (place.sequence, day.sequence) == (2, 2)
    assert place.ended_at is not None
    with small.acting("leif") as act, pytest.raises(Conflict, match="was cancelled"):
        cancel_session_day(act, day_id, reason="The helicopter is away.")
    assert events(small)[-3:] == ["place_booked", "session_day_changed", "session_day_cancelled"]


def test_seats_move_up_when_a_day_gets_smaller_and_nobody_loses_theirs(small: SmallService) -> None:
    day_id = day_opened(small, 10, capacity=3)
    first = booked(small, day_id)
    booked(small, day_id, "tor")
    booked(small, day_id, "una")
    with small.acting("leif") as act, pytest.raises(BadInput, match="3 places are taken"):
        change_session_day(act, day_id, wanted_day(small, 10, capacity=2))
    with small.acting("mira") as act:
        give_up_place(act, first, reason="on shift that day")
    with small.acting("leif") as act:
        change_session_day(act, day_id, wanted_day(small, 10, capacity=2))
    assert sorted(one.seat for one in places(small, day_id)) == [1, 2]
    with small.acting("leif") as act, pytest.raises(BadInput, match="nobody else to watch"):
        change_session_day(act, day_id, wanted_day(small, 10, capacity=2, assessor_ids=(small.person_id("tor"),)))


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"starts_at": "9:00"}, "starts_at"), ({"ends_at": "24:00"}, "ends_at"), ({"ends_at": "08:59"}, "ends_at"),
        ({"starts_at": "０9:00"}, "starts_at"), ({"capacity": 0}, "capacity"), ({"capacity": 61}, "capacity"),
        ({"about": " "}, "about"), ({"reach_ids": ()}, "reach_ids"), ({"reach_ids": ("9" * 32,)}, "reach_ids"),
        ({"assessor_ids": ("0" * 32,)}, "assessor_ids"),
    ],
)  # fmt: skip
def test_what_cannot_be_is_refused_with_its_field(
    small_sqlite: SmallService, changes: dict[str, object], field: str
) -> None:
    with small_sqlite.acting("leif") as act, pytest.raises(BadInput) as refused:
        open_session_day(act, wanted_day(small_sqlite, 10, **changes))
    assert refused.value.field == field


def test_only_those_who_plan_for_a_base_open_its_days(small_sqlite: SmallService) -> None:
    for who in ("mira", "tor", "ada", "olaf"):
        with small_sqlite.acting(who) as act, pytest.raises(NotAllowed):
            open_session_day(act, wanted_day(small_sqlite, 10))
    with small_sqlite.acting("leif") as act, pytest.raises(BadInput):
        open_session_day(act, wanted_day(small_sqlite, -1))
    assert places(small_sqlite) == []


def test_attendance_is_recorded_on_the_day_by_those_around_it_never_for_oneself(small: SmallService) -> None:
    day_id = day_opened(small, 10)
    mine, tors = booked(small, day_id), booked(small, day_id, "tor")
    the_day = small.now + timedelta(days=10)
    with small.acting("una") as act, pytest.raises(Conflict, match="still to come"):
        record_attendance(act, mine, Attendance.CAME)
    for who, refusal in (("mira", NotFound), ("petra", NotFound), ("olaf", NotFound)):
        with small.acting(who, at=the_day) as act, pytest.raises(refusal):
            record_attendance(act, mine, Attendance.CAME)
    with small.acting("tor", at=the_day) as act, pytest.raises(NotAllowed, match="their own attendance"):
        record_attendance(act, tors, Attendance.CAME)
    with small.acting("una", at=the_day) as act:
        record_attendance(act, mine, Attendance.DID_NOT_COME)
        record_attendance(act, tors, Attendance.CAME)
        assert attended(act, [small.person_id("mira"), small.person_id("tor")]) == {
            small.person_id("mira"): (0, 1), small.person_id("tor"): (1, 0)
        }  # fmt: skip
        assert booked_places(act, [small.person_id("mira")]) == {}
    assert "attendance_recorded" in events(small)


def test_readiness_is_told_who_holds_a_place_when(small: SmallService) -> None:
    day_id = day_opened(small, 10)
    booked(small, day_id)
    everybody = [small.person_id(who) for who in ("mira", "tor", "una")]
    with small.acting("leif") as act:
        assert booked_days(act, everybody) == {small.person_id("mira"): (small.now.date() + timedelta(days=10),)}
        (place,) = booked_places(act, everybody)[small.person_id("mira")]
        assert (place.base_name, place.starts_at, place.is_fallback) == ("Cairnlow", "09:00", False)
    with small.acting("leif", at=small.now + timedelta(days=11)) as act:
        assert booked_days(act, everybody) == {}
