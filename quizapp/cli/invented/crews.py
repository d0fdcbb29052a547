"""The crews of the invented service: three weeks of shifts from a file, with a hole on the coming Friday night."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime, timedelta

from sqlalchemy import select

from quizapp.assessment.roles import Role
from quizapp.assessment.shift_cover import Span
from quizapp.cli.invented.cast import Member
from quizapp.cli.invented.stage import MONTHS_OF_HISTORY_DAYS, ZONE, Stage
from quizapp.services.act import Act
from quizapp.services.import_crews import import_crews
from quizapp.services.standings_ahead import StandingsAhead, standings_ahead
from quizapp.store.people import Person

CREWS = {"CAI": ("Helicopter", "Winch"), "SKE": ("Boat",), "POR": ("Road",)}
DAYS = 21
FRIDAY = 4
HOURS = (("07:00", "19:00", 0), ("19:00", "07:00", 1))


def put_on_crews(stage: Stage, members: Sequence[Member]) -> None:
    """Let the lead of each base take over a file of crews on the day before."""
    for base in CREWS:
        lead = next(one for one in members if one.base == base and Role.TEAM_LEAD in one.roles)
        with stage.acting(lead.staff_number, stage.moment(MONTHS_OF_HISTORY_DAYS - 1, 16)) as act:
            rows = _rows(stage, act, base, [one for one in members if one.base == base])
            import_crews(act, stage.library, content="\n".join(rows).encode(), path=f"crews-{base.casefold()}.csv")


def _rows(stage: Stage, act: Act, base: str, members: Sequence[Member]) -> list[str]:
    """Give each crew two people in turn; on the first Friday night only people who are not current then."""
    people = {one.staff_number: stage.people[one.staff_number] for one in members}
    known = list(act.session.scalars(select(Person).where(Person.id.in_(people.values()))))
    ahead = standings_ahead(act, stage.library, known, [stage.bases[base]])
    order = [one.staff_number for one in members]
    rows, turn, hole = ["base,crew,starts,ends,staff_number,role"], 0, base == "CAI"
    for away in range(DAYS):
        day = stage.today + timedelta(days=away)
        for half, (start, end, next_day) in enumerate(HOURS):
            span = _span(day, start, end, next_day)
            able = {one for one in order if _covers(ahead, people[one], stage.bases[base], span)}
            on_duty: list[str] = []
            for crew in CREWS[base]:
                free = [one for one in order if one not in on_duty]
                current, others = [one for one in free if one in able], [one for one in free if one not in able]
                is_hole = hole and half == 1 and day.weekday() == FRIDAY and len(others) >= 2
                first = current[turn % len(current)]
                second = [one for one in free if one != first][turn % (len(free) - 1)]
                chosen = others[:2] if is_hole else [first, second]
                hole, turn = hole and not is_hole, turn + 2
                on_duty += chosen
                last = (day + timedelta(days=next_day)).isoformat()
                rows += [f"{base},{crew},{day} {start},{last} {end},{one},{_part(members, one)}" for one in chosen]
            order = [one for one in order if one not in on_duty] + on_duty
    return rows


def _part(members: Sequence[Member], staff_number: str) -> str:
    return next(one.profession for one in members if one.staff_number == staff_number)


def _span(day: date, start: str, end: str, next_day: int) -> Span:
    begins = datetime.fromisoformat(f"{day}T{start}").replace(tzinfo=ZONE)
    ends = datetime.fromisoformat(f"{day + timedelta(days=next_day)}T{end}").replace(tzinfo=ZONE)
    return Span(begins, ends)


def _covers(ahead: StandingsAhead, person_id: str, base_id: str, span: Span) -> bool:
    return ahead.spells(person_id, base_id, span) == (span,)
