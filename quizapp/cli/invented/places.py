"""Session days of the invented service: one gone by, a plan published, days to come, and a question asked."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import timedelta
from functools import partial

from sqlalchemy import select

from quizapp.assessment.attendance import Attendance
from quizapp.assessment.roles import Role
from quizapp.cli.invented.beginning import assessors_of, educator_of
from quizapp.cli.invented.cast import Member
from quizapp.cli.invented.stage import MONTHS_OF_HISTORY_DAYS, Stage
from quizapp.services.hold_place import book_place, record_attendance
from quizapp.services.place_plans import plan_shown, propose_plan, publish_plan
from quizapp.services.session_days import SessionDayWanted, open_session_day
from quizapp.services.standing_then import ask_standing
from quizapp.store.places import Place, SessionDay

TODAY = MONTHS_OF_HISTORY_DAYS
GONE_BY = 30


def lead_of(members: Sequence[Member], base: str) -> Member:
    """Return the team lead of a base."""
    return next(one for one in members if one.base == base and Role.TEAM_LEAD in one.roles)


def open_a_day(stage: Stage, members: Sequence[Member], base: str, opened: int, in_days: int, *, capacity: int,
               reaches: Sequence[str], is_open: bool = False) -> str:  # fmt: skip
    """Let the team lead of a base open a session day, so many days after the day of opening."""
    with stage.acting(lead_of(members, base).staff_number, stage.moment(opened, 10)) as act:
        wanted = SessionDayWanted(
            base_id=stage.bases[base],
            held_on=act.today + timedelta(days=in_days),
            starts_at="09:00",
            ends_at="13:00",
            about="P01 and P06 watched",
            capacity=capacity,
            takes_bookings=is_open,
            assessor_ids=tuple(stage.people[one.staff_number] for one in assessors_of(members, base)),
            reach_ids=tuple(stage.bases[code] for code in reaches),
        )
        return open_session_day(act, wanted)


def take_places(stage: Stage, people: Sequence[Member], day: int) -> None:
    """Let some people take a place themselves on the one day that is open."""
    for minute, member in enumerate(people):
        with stage.acting(member.staff_number, stage.moment(day, 20, minute)) as act:
            day_id = act.session.scalars(select(SessionDay.id)).one()
            book_place(act, day_id)


def say_who_came(stage: Stage, members: Sequence[Member], day: int) -> None:
    """Two came, one did not, one was called away."""
    became = (Attendance.CAME, Attendance.DID_NOT_COME, Attendance.EXCUSED, Attendance.CAME)
    with stage.acting(lead_of(members, "CAI").staff_number, stage.moment(day, 14)) as act:
        places = list(act.session.scalars(select(Place.id).order_by(Place.seat)))
        for place_id, attendance in zip(places, became, strict=False):
            record_attendance(act, place_id, attendance)


def publish_a_plan(stage: Stage, members: Sequence[Member]) -> None:
    """Fill one day to come by a plan."""
    open_a_day(stage, members, "CAI", TODAY - 4, 10, capacity=4, reaches=("CAI",))
    lead = lead_of(members, "CAI").staff_number
    with stage.acting(lead, stage.moment(TODAY - 4, 11)) as act:
        plan_id = propose_plan(act, stage.library)
        publish_plan(act, stage.library, plan_id, digest=plan_shown(act, stage.library, plan_id).digest)


def open_days_to_come(stage: Stage, members: Sequence[Member]) -> None:
    """Open three more days, with places that nobody has been given yet."""
    open_a_day(stage, members, "CAI", TODAY - 2, 17, capacity=3, reaches=("CAI", "POR"))
    open_a_day(stage, members, "POR", TODAY - 2, 29, capacity=4, reaches=("CAI", "POR"), is_open=True)
    open_a_day(stage, members, "SKE", TODAY - 2, 24, capacity=3, reaches=("SKE",), is_open=True)


def a_question_asked(stage: Stage, members: Sequence[Member]) -> None:
    """An educator asked how those with a place stood a month ago; they read it on their own pages."""
    with stage.acting(educator_of(members, "CAI").staff_number, stage.moment(TODAY - 1, 12)) as act:
        held = act.session.scalars(
            select(Place.person_id)
            .join(SessionDay, SessionDay.id == Place.session_day_id)
            .where(SessionDay.held_on >= act.today, Place.person_id != act.actor.person_id)
            .order_by(Place.seat)
        )
        for person_id in list(held):
            ask_standing(act, person_id=person_id, at=act.now - timedelta(days=GONE_BY),
                         purpose="review of a long transfer last month")  # fmt: skip


Scene = tuple[int, Callable[[], object]]


def scenes_of_places(stage: Stage, members: Sequence[Member], soon: Sequence[Member]) -> list[Scene]:
    """Give the scenes by day; `soon` are people who will need a place."""
    day = TODAY - GONE_BY
    here = [member for member in soon if member.base in {"CAI", "POR"}][:4]
    open_first = partial(
        open_a_day, stage, members, "CAI", day - 10, 10, capacity=6, reaches=("CAI", "POR"), is_open=True
    )
    return [
        (day - 10, open_first),
        (day - 6, partial(take_places, stage, here, day - 6)),
        (day, partial(say_who_came, stage, members, day)),
        (TODAY - 4, partial(publish_a_plan, stage, members)),
        (TODAY - 2, partial(open_days_to_come, stage, members)),
        (TODAY - 1, partial(a_question_asked, stage, members)),
    ]
