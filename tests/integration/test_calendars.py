"""Calendars from what is stored, read back by an independent parser, and the secret addresses that give them."""

from __future__ import annotations

from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from icalendar import Calendar
from icalendar.cal import Component
from sqlalchemy import select, update

from quizapp.assessment.calendar_text import Method
from quizapp.errors import NotAllowed, NotFound
from quizapp.services.calendars import (
    base_calendar,
    end_feed,
    feed_calendar,
    feeds_of,
    make_feed,
    my_calendar,
    place_file,
)
from quizapp.services.hold_place import book_place, give_up_place, move_place
from quizapp.services.session_days import cancel_session_day, change_session_day
from quizapp.store.accounts import Account
from quizapp.store.places import CalendarFeed
from quizapp.store.roles import RoleGrant
from tests.planning import day_opened, wanted_day
from tests.small_service import SmallService

LONDON = ZoneInfo("Europe/London")


def booked(small: SmallService, day_id: str, who: str = "mira") -> str:
    with small.acting(who) as act:
        return book_place(act, day_id)


def events(text: str) -> list[Component]:
    return list(Calendar.from_ical(text).walk("VEVENT"))


def mine(small: SmallService, who: str = "mira") -> list[Component]:
    with small.acting(who) as act:
        return events(my_calendar(act))


def read_feed(small: SmallService, secret: str, **later: int) -> str:
    with small.database.reading() as session:
        return feed_calendar(small.act(session, "ada", at=small.now + timedelta(**later)), secret)


def test_a_place_stands_in_ones_calendar_at_the_hour_on_the_wall(small: SmallService) -> None:
    """29 March 2026: the clocks in the United Kingdom go forward; the day after, nine o'clock is eight in UTC."""
    place_id = booked(small, day_opened(small, 28))
    (event,) = mine(small)
    assert event["UID"] == f"place-{place_id}"
    assert event.decoded("DTSTART") == datetime(2026, 3, 30, 9, tzinfo=LONDON)
    assert event.decoded("DTSTART").hour == 8
    assert (event["SUMMARY"], event["LOCATION"], event["STATUS"]) == (
        "Your place: P06 watched",
        "Cairnlow",
        "CONFIRMED",
    )


def test_each_change_keeps_the_uid_and_raises_the_sequence(small: SmallService) -> None:
    first, second = day_opened(small, 10), day_opened(small, 12)
    place_id = booked(small, first)
    seen = [mine(small)[0]]
    with small.acting("leif") as act:
        move_place(act, place_id, second)
    seen.append(mine(small)[0])
    with small.acting("leif") as act:
        change_session_day(act, second, wanted_day(small, 12, starts_at="11:00"))
    seen.append(mine(small)[0])
    with small.acting("leif") as act:
        cancel_session_day(act, second, reason="No aircraft that day.")
    seen.append(mine(small)[0])
    assert {str(one["UID"]) for one in seen} == {f"place-{place_id}"}
    assert [int(one["SEQUENCE"]) for one in seen] == [0, 1, 2, 3]
    assert [str(one["STATUS"]) for one in seen] == ["CONFIRMED"] * 3 + ["CANCELLED"]
    assert [one.decoded("DTSTART").hour for one in seen] == [9, 9, 11, 11]


def test_one_place_as_a_file_cancels_itself_once_it_is_given_up(small: SmallService) -> None:
    place_id = booked(small, day_opened(small, 10))
    with small.acting("mira") as act:
        text, method = place_file(act, place_id)
        assert method is Method.NONE
        give_up_place(act, place_id, reason="on shift that day")
        text, method = place_file(act, place_id)
    calendar = Calendar.from_ical(text)
    assert (method, calendar["METHOD"]) == (Method.CANCEL, "CANCEL")
    (event,) = calendar.walk("VEVENT")
    assert (event["STATUS"], int(event["SEQUENCE"])) == ("CANCELLED", 1)
    with small.acting("tor") as act, pytest.raises(NotFound):
        place_file(act, place_id)


def test_an_assessor_sees_the_days_they_watch_on(small: SmallService) -> None:
    day_id = day_opened(small, 10)
    (event,) = mine(small, "tor")
    assert (event["UID"], event["SUMMARY"]) == (f"watch-{day_id}-{small.person_id('tor')}", "You watch, Cairnlow")


def test_a_base_calendar_says_how_many_and_never_who(small: SmallService) -> None:
    booked(small, day_opened(small, 10))
    day_opened(small, 12, reach_ids=(small.base_id, small.other_base_id))
    with small.acting("leif") as act:
        text = base_calendar(act, small.base_id)
        with pytest.raises(NotFound):
            base_calendar(act, small.other_base_id)
    assert [str(one["DESCRIPTION"]) for one in events(text)] == [
        "P06 watched. 1 of 2 places are taken. Training and assessment only.",
        "P06 watched. 0 of 2 places are taken. Training and assessment only.",
    ]
    assert "Mira" not in text
    with small.acting("olaf") as act:
        assert len(events(base_calendar(act, small.other_base_id))) == 1
    with small.acting("mira") as act, pytest.raises(NotFound):
        base_calendar(act, small.base_id)


def test_an_address_gives_the_same_until_it_is_ended(small: SmallService) -> None:
    booked(small, day_opened(small, 10))
    with small.acting("mira") as act:
        made = make_feed(act)
    assert len(events(read_feed(small, made.secret))) == 1
    with small.database.reading() as session:
        kept = session.scalars(select(CalendarFeed)).one()
    assert made.secret not in repr(vars(kept))
    with small.acting("mira") as act:
        again = make_feed(act)
        assert list(feeds_of(act)) == [""]
    with pytest.raises(NotFound):
        read_feed(small, made.secret)
    assert len(events(read_feed(small, again.secret))) == 1
    with small.acting("mira") as act:
        assert end_feed(act)
        assert not end_feed(act)
    for secret in (again.secret, "", "guess"):
        with pytest.raises(NotFound):
            read_feed(small, secret)


def test_an_address_ends_with_the_account_and_with_the_role(small: SmallService) -> None:
    with small.acting("mira") as act:
        own = make_feed(act)
        with pytest.raises(NotAllowed):
            make_feed(act, small.base_id)
    with small.acting("leif") as act:
        base = make_feed(act, small.base_id)
        with pytest.raises(NotAllowed):
            make_feed(act, small.other_base_id)
    assert read_feed(small, base.secret).startswith("BEGIN:VCALENDAR")
    with small.database.writing() as session:
        session.execute(update(Account).where(Account.sign_in_name == "mira").values(is_active=False))
        leif = RoleGrant.person_id == small.person_id("leif")
        session.execute(update(RoleGrant).where(leif).values(until_day=small.now.date()))
    with pytest.raises(NotFound):
        read_feed(small, own.secret)
    assert read_feed(small, base.secret)
    with pytest.raises(NotFound):
        read_feed(small, base.secret, days=1)


def test_what_is_long_over_leaves_the_calendar(small: SmallService) -> None:
    booked(small, day_opened(small, 10))
    with small.acting("mira", at=small.now + timedelta(days=70)) as act:
        assert len(events(my_calendar(act))) == 1
    with small.acting("mira", at=small.now + timedelta(days=71)) as act:
        assert events(my_calendar(act)) == []
