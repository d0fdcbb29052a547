"""How a person stands, worked out from what is stored: as of any minute, for one or for many."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from sqlalchemy import select

from quizapp.assessment.standing import CompetencyStanding, Outcome, PersonStanding
from quizapp.assessment.standing_event_kind import StandingEventKind
from quizapp.content.library import Library
from quizapp.services.change_standing import StandingChange, change_standing
from quizapp.services.people import move_person
from quizapp.services.person_standing import PersonStands, standing_of, standings
from quizapp.services.put_device_in_service import put_in_service, take_out_of_service
from quizapp.services.standards import Terms, record_standard
from quizapp.store.devices import DeviceInService
from quizapp.store.people import Person
from tests.counted_statements import counted_statements
from tests.deciding import decide, requirement, show, with_standard
from tests.many_people import add_clinicians
from tests.small_service import SmallService

LONDON = ZoneInfo("Europe/London")


@pytest.fixture
def signed_off(small: SmallService, library: Library) -> SmallService:
    """Mira is signed off in C5 and C8, both until 2 March 2027."""
    with_standard(small, library)
    show(small, "C5")
    show(small, "C8", assessor="tor")
    decide(small, library)
    return small


def stands(small: SmallService, library: Library, at: datetime | None = None, who: str = "mira") -> PersonStands:
    """How somebody stood, as asked long afterwards."""
    with small.acting("ines", at=small.now + timedelta(days=1000)) as act:
        return standing_of(act, library, small.person_id(who), at=at or small.now)


def word(small: SmallService, library: Library, at: datetime | None = None) -> PersonStanding:
    return stands(small, library, at).report.standing


def change(
    small: SmallService, kind: StandingEventKind, *, days: int | None = 30, after: timedelta = timedelta()
) -> None:
    with small.acting("ines", at=small.now + after) as act:
        until = act.today + timedelta(days=days) if days is not None else None
        wanted = StandingChange(kind=kind, from_day=act.today, until_day=until, reason="a reason long enough")
        change_standing(act, small.person_id("mira"), wanted)


def midnight(day: date) -> datetime:
    return datetime(day.year, day.month, day.day, tzinfo=LONDON)


def test_the_last_valid_day_ends_at_midnight_where_the_service_is(signed_off: SmallService, library: Library) -> None:
    end = midnight(date(2027, 3, 3))
    assert word(signed_off, library, end - timedelta(seconds=1)) is PersonStanding.LAPSING
    assert word(signed_off, library, end) is PersonStanding.LAPSED


def test_in_summer_the_day_ends_an_hour_before_utc(signed_off: SmallService, library: Library) -> None:
    """British Summer Time: the end of 1 July in London is 23:00 UTC."""
    utc = ZoneInfo("UTC")
    change(signed_off, StandingEventKind.PAUSED, days=(date(2026, 7, 1) - signed_off.now.date()).days)
    assert word(signed_off, library, datetime(2026, 7, 1, 22, 59, tzinfo=utc)) is PersonStanding.PAUSED
    assert (
        word(signed_off, library, datetime(2026, 7, 1, 23, 0, tzinfo=utc)) is PersonStanding.RESTRICTED
    )  # back from long leave


def test_sixty_days_before_the_end_it_begins_to_lapse(signed_off: SmallService, library: Library) -> None:
    first = midnight(date(2027, 3, 2) - timedelta(days=60))
    assert word(signed_off, library, first - timedelta(seconds=1)) is PersonStanding.CURRENT
    assert word(signed_off, library, first) is PersonStanding.LAPSING


def test_before_it_was_signed_nobody_was_signed_off(signed_off: SmallService, library: Library) -> None:
    before = stands(signed_off, library, signed_off.now - timedelta(seconds=1)).report
    assert before.standing is PersonStanding.NOT_YET_SIGNED_OFF
    assert before.of_competency("C5") is CompetencyStanding.NOT_YET_SIGNED_OFF


@pytest.mark.parametrize("kind", StandingEventKind)
def test_a_change_holds_from_the_minute_it_was_recorded_to_the_end_of_its_last_day(
    signed_off: SmallService, library: Library, kind: StandingEventKind
) -> None:
    recorded = timedelta(hours=6)
    change(signed_off, kind, days=3, after=recorded)
    assert word(signed_off, library, signed_off.now + recorded - timedelta(seconds=1)) is PersonStanding.CURRENT
    assert word(signed_off, library, signed_off.now + recorded).value == kind.value
    end = midnight(signed_off.now.date() + timedelta(days=4))
    assert word(signed_off, library, end - timedelta(seconds=1)).value == kind.value
    assert word(signed_off, library, end) is PersonStanding.CURRENT


@pytest.mark.parametrize(
    ("first", "second", "found"),
    [
        (StandingEventKind.PAUSED, StandingEventKind.SUSPENDED, PersonStanding.SUSPENDED),
        (StandingEventKind.SUSPENDED, StandingEventKind.WITHDRAWN, PersonStanding.WITHDRAWN),
        (StandingEventKind.RESTRICTED, StandingEventKind.PAUSED, PersonStanding.PAUSED),
    ],
)
def test_the_graver_of_two_changes_is_the_word(
    signed_off: SmallService, library: Library, first: StandingEventKind, second: StandingEventKind,
    found: PersonStanding,
) -> None:  # fmt: skip
    change(signed_off, first)
    change(signed_off, second)
    assert word(signed_off, library) is found


def test_a_revision_put_in_service_later_needs_its_own_sign_off(signed_off: SmallService, library: Library) -> None:
    with signed_off.acting("leif", at=signed_off.now + timedelta(days=1)) as act:
        put_in_service(act, library, base_id=signed_off.base_id, profile_code="TV-A", profile_revision=2,
                       from_day=act.today)  # fmt: skip
    assert word(signed_off, library, signed_off.now) is PersonStanding.CURRENT
    report = stands(signed_off, library, signed_off.now + timedelta(days=1, minutes=1)).report
    assert report.standing is PersonStanding.NOT_YET_SIGNED_OFF
    assert len(report.by_revision) == 2
    with signed_off.acting("leif", at=signed_off.now + timedelta(days=2)) as act:
        row = act.session.scalars(select(DeviceInService).where(DeviceInService.profile_revision == 2)).one()
        take_out_of_service(act, device_id=row.id, until_day=act.today)
    assert word(signed_off, library, signed_off.now + timedelta(days=3)) is PersonStanding.CURRENT


def test_what_was_recorded_later_about_devices_changes_no_minute_gone_by(
    signed_off: SmallService, library: Library
) -> None:
    """A revision recorded on day 5 as there since day 1, and its last day recorded on day 9 as day 6."""
    day = timedelta(days=1)
    with signed_off.acting("leif", at=signed_off.now + 5 * day) as act:
        device_id = put_in_service(act, library, base_id=signed_off.base_id, profile_code="TV-A", profile_revision=2,
                                   from_day=act.today - 4 * day)  # fmt: skip
    with signed_off.acting("leif", at=signed_off.now + 9 * day) as act:
        take_out_of_service(act, device_id=device_id, until_day=act.today - 3 * day)
    known = {days: word(signed_off, library, signed_off.now + days * day) for days in (3, 5, 8, 9)}
    assert known == {
        3: PersonStanding.CURRENT, 5: PersonStanding.NOT_YET_SIGNED_OFF, 8: PersonStanding.NOT_YET_SIGNED_OFF,
        9: PersonStanding.CURRENT,
    }  # fmt: skip


def test_a_standard_recorded_for_today_says_nothing_about_this_morning(
    signed_off: SmallService, library: Library
) -> None:
    noon = signed_off.now + timedelta(hours=3)
    with signed_off.acting("ines", at=noon) as act:
        record_standard(act, library, more(act.today))
    assert word(signed_off, library, noon - timedelta(seconds=1)) is PersonStanding.CURRENT
    assert word(signed_off, library, noon) is PersonStanding.NOT_YET_SIGNED_OFF


def more(starts_on: date, **changed: object) -> Terms:
    """A standard that asks for C3 as well."""
    terms = Terms(
        name="More", starts_on=starts_on, reason="one more competency is asked for", agreed_by="the educators",
        requirements=tuple(requirement(code, knowledge=True) for code in ("C3", "C5", "C8")),
    )  # fmt: skip
    return replace(terms, **changed)  # type: ignore[arg-type]


def test_people_signed_off_keep_their_date_unless_the_standard_says_otherwise(
    signed_off: SmallService, library: Library
) -> None:
    """The shorter day holds from the minute it is recorded, and no later version gives the longer one back."""
    starts_on = signed_off.now.date() + timedelta(days=10)
    kept, shortened = requirement("C5", knowledge=True), requirement("C8", procedures=("P06",))
    shortened = replace(shortened, renew_by=date(2026, 9, 30), validity_months=6)
    with signed_off.acting("ines") as act:
        record_standard(act, library, more(starts_on, requirements=(replace(kept, validity_months=3), shortened)))
    with signed_off.acting("ines", at=signed_off.now + timedelta(days=20)) as act:
        usual = (kept, replace(shortened, renew_by=None))
        record_standard(act, library, more(act.today, requirements=usual))
    report = stands(signed_off, library, midnight(date(2026, 9, 30))).report
    assert {row.competency: row.last_valid_day for row in report.rows} == {
        "C5": date(2027, 3, 2), "C8": date(2026, 9, 30),
    }  # fmt: skip
    assert report.standing is PersonStanding.LAPSING
    assert word(signed_off, library, midnight(date(2026, 10, 1))) is PersonStanding.LAPSED
    earlier = stands(signed_off, library, signed_off.now - timedelta(seconds=1))
    assert [one.last_valid_day for one in earlier.record.decisions] == [date(2027, 3, 2)] * 2


def test_the_standard_of_the_day_applies(signed_off: SmallService, library: Library) -> None:
    starts_on = signed_off.now.date() + timedelta(days=10)
    with signed_off.acting("ines") as act:
        record_standard(act, library, more(starts_on))
    assert word(signed_off, library, midnight(starts_on) - timedelta(seconds=1)) is PersonStanding.CURRENT
    assert word(signed_off, library, midnight(starts_on)) is PersonStanding.NOT_YET_SIGNED_OFF


def test_a_person_who_moves_stands_by_the_devices_of_the_new_base(signed_off: SmallService, library: Library) -> None:
    moved = timedelta(days=2)
    with signed_off.acting("ada", at=signed_off.now + moved) as act:
        move_person(act, person_id=signed_off.person_id("mira"), base_id=signed_off.other_base_id)
    assert word(signed_off, library, signed_off.now + moved - timedelta(seconds=1)) is PersonStanding.CURRENT
    report = stands(signed_off, library, signed_off.now + moved).report
    assert report.standing is PersonStanding.NOT_YET_SIGNED_OFF
    assert "no device revision is in service at this base" in report.sentence


def test_a_later_not_yet_takes_the_sign_off_away(signed_off: SmallService, library: Library) -> None:
    show(signed_off, "C5", days_ago=0)
    decide(signed_off, library, competencies=("C5",), outcome=Outcome.NOT_YET, after=timedelta(hours=2))
    assert word(signed_off, library, signed_off.now + timedelta(hours=1)) is PersonStanding.CURRENT
    assert word(signed_off, library, signed_off.now + timedelta(hours=2)) is PersonStanding.NOT_YET_SIGNED_OFF


def test_many_people_take_as_many_statements_as_one(signed_off: SmallService, library: Library) -> None:
    add_clinicians(signed_off, 60)
    with signed_off.database.reading() as session:
        people = list(session.scalars(select(Person)))
        act = signed_off.act(session, "ines")
        counts = []
        for some in (people[:1], people):
            with counted_statements(signed_off.database) as statements:
                standings(act, library, some)
            counts.append(len(statements))
    assert counts[0] == counts[1]
