"""What is kept of standings counts as the records do, and goes with the first change of a record behind it."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta

import pytest
from sqlalchemy import select

from quizapp.assessment.standing_event_kind import StandingEventKind
from quizapp.content.library import Library
from quizapp.services.act import Act
from quizapp.services.base_readiness import base_readiness
from quizapp.services.change_standing import StandingChange, change_standing
from quizapp.services.import_people import import_people
from quizapp.services.keep_standings import clinicians_not_kept, keep_standings
from quizapp.services.people import move_person
from quizapp.services.put_device_in_service import put_in_service
from quizapp.services.whole_readiness import whole_readiness
from quizapp.store.kept_standings import KeptStanding
from tests.counted_statements import counted_statements
from tests.crewing import signed_off
from tests.deciding import decide, show
from tests.many_people import add_clinicians
from tests.small_service import SmallService


def keep(small: SmallService, library: Library) -> int:
    with small.acting("leif") as act:
        return keep_standings(act, library, clinicians_not_kept(act))


def kept(small: SmallService) -> set[str]:
    with small.database.reading() as session:
        found = session.scalars(select(KeptStanding.person_id))
        return {bytes.fromhex(one).decode().rstrip("\0") for one in found}


def test_the_counts_are_those_of_the_records(small: SmallService, library: Library) -> None:
    signed_off(small, library, "mira", "tor")
    assert keep(small, library) == 4
    for days in (0, 300, 310, 340, 365, 366):
        with small.acting("leif", at=small.now + timedelta(days=days)) as act:
            ((_, counted),) = whole_readiness(act, library).bases
            worked_out = base_readiness(act, library).readiness
        assert (counted.people, counted.in_date) == (worked_out.people, worked_out.in_date)
        assert counted.standings == worked_out.counts
        assert counted.ending_within == worked_out.ending_within


def test_who_is_not_kept_is_worked_out(small: SmallService, library: Library) -> None:
    signed_off(small, library, "mira")
    with small.acting("leif") as act:
        page = whole_readiness(act, library)
    assert (page.bases[0][1].in_date, len(page.missing), page.left_out) == (1, 3, 0)


def suspend(act: Act, small: SmallService, _library: Library) -> None:
    change = StandingChange(kind=StandingEventKind.SUSPENDED, from_day=date(2026, 3, 5), until_day=None,
                            reason="an incident is looked at")  # fmt: skip
    change_standing(act, small.person_id("mira"), change)


def move(act: Act, small: SmallService, _library: Library) -> None:
    move_person(act, person_id=small.person_id("mira"), base_id=small.other_base_id)


def new_device(act: Act, small: SmallService, library: Library) -> None:
    put_in_service(act, library, base_id=small.base_id, profile_code="TV-A", profile_revision=2, from_day=act.today)


def roster(act: Act, _small: SmallService, _library: Library) -> None:
    rows = "staff_number,name,profession,base,joined_on\nT-mira,Mira,doctor,SKE,2025-01-01\n"
    import_people(act, content=rows.encode(), path="roster.csv")


@pytest.mark.parametrize(
    ("change", "by", "left"),
    [
        (suspend, "ines", {"tor", "una", "petra"}),
        (move, "ada", {"tor", "una", "petra"}),
        (roster, "ada", {"tor", "una", "petra"}),
        (new_device, "leif", set()),
    ],
)
def test_a_change_throws_away_what_rests_on_it(
    small: SmallService, library: Library, change: Callable[[Act, SmallService, Library], None], by: str,
    left: set[str],
) -> None:  # fmt: skip
    signed_off(small, library, "mira")
    keep(small, library)
    assert kept(small) == {"mira", "tor", "una", "petra"}
    with small.acting(by) as act:
        change(act, small, library)
    assert kept(small) == left


def test_a_decision_throws_away_that_of_its_person(small: SmallService, library: Library) -> None:
    signed_off(small, library, "mira")
    keep(small, library)
    show(small, "C5", who="una")
    show(small, "C8", who="una", assessor="tor")
    decide(small, library, who="una")
    assert kept(small) == {"mira", "tor", "petra"}


def test_what_was_kept_and_not_committed_is_not_there(small: SmallService, library: Library) -> None:
    signed_off(small, library, "mira")
    keep(small, library)

    class Stopped(Exception):
        pass

    def put_and_stop() -> None:
        with small.acting("leif") as act:
            new_device(act, small, library)
            raise Stopped

    with pytest.raises(Stopped):
        put_and_stop()
    assert len(kept(small)) == 4


def test_a_whole_service_takes_two_statements(small: SmallService, library: Library) -> None:
    signed_off(small, library, "mira")
    for start, number in ((0, 3), (3, 297)):
        add_clinicians(small, number, start=start)
        keep(small, library)
        with small.acting("leif") as act, counted_statements(small.database) as statements:
            whole_readiness(act, library)
        assert len(statements) == 2
