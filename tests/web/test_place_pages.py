"""Places as pages: a day opened, a plan looked at, one moved, published; the clinician sees it first."""

from __future__ import annotations

from collections.abc import Callable
from xml.etree.ElementTree import Element

import html5lib
import pytest
from icalendar import Calendar

from quizapp.content.library import Library
from quizapp.services.hold_place import book_place
from tests.many_people import add_clinicians
from tests.odd_addresses import ODD_IDS
from tests.planning import day_opened, people_due, places, planned, published
from tests.small_service import SmallService
from tests.web_app import JudgingClient, form_of, values_of

ClientAs = Callable[[str], JudgingClient]


@pytest.fixture
def due(small_sqlite: SmallService, library: Library) -> SmallService:
    add_clinicians(small_sqlite, 3)
    return people_due(small_sqlite, library, mira=20, c0=12, c1=-5)


def day_entries(small: SmallService, **changes: object) -> dict[str, object]:
    usual = {
        "base_id": small.base_id, "held_on": "2026-03-12", "starts_at": "09:00", "ends_at": "13:00", "capacity": "2",
        "about": "P06 watched", "assessor_ids": [small.person_id("tor")], "reach_ids": [small.base_id],
    }  # fmt: skip
    return {**usual, **changes}


def test_from_opening_a_day_to_the_clinicians_first_page(client_as: ClientAs, due: SmallService) -> None:
    lead = client_as("leif")
    assert "No session day is to come." in lead.get("/places").text
    refused = lead.submit("/places/days/new", day_entries(due, starts_at="25:00"))
    assert refused.status_code == 422
    assert "Write the time as on a clock of 24 hours" in refused.text
    assert 'value="P06 watched"' in refused.text
    opened = lead.submit("/places/days/new", day_entries(due))
    assert opened.status_code == 303
    assert "No place is taken on 12 March 2026." in lead.get(str(opened.location)).text
    plan = str(lead.submit("/places", {}, action="/places/plan").location)
    page = lead.get(plan)
    assert "2 people get a place; 2 have none in time." in page.text
    assert "One more place on 12 Mar 2026 at Cairnlow." in page.text
    assert "Nothing is booked" in page.text
    assert client_as("mira").get("/").text.count("12 March 2026") == 0
    done = lead.submit(plan, {}, action="/publish")
    assert done.location == "/places"
    assert "2 of 2" in lead.get("/places").text
    mine = client_as("mira").get("/").text
    assert "Your place" in mine
    assert "12 March 2026, 09:00 to 13:00, Cairnlow" in mine


def test_the_effect_of_a_move_is_seen_and_then_saved(client_as: ClientAs, due: SmallService, library: Library) -> None:
    day_opened(due, 10, capacity=2)
    late = day_opened(due, 25, capacity=3)
    plan_id, mira = planned(due, library), due.person_id("mira")
    lead = client_as("leif")
    address = f"/places/plan/{plan_id}/move/{mira}"
    seen = lead.get(f"{address}?to={late}").text
    assert "Mira would then come after the last valid day." in seen
    assert "Save this move" in seen
    assert lead.get(address).text.count("Save this move") == 0
    data = values_of(next_post_form(seen))
    assert lead.post(address, data=data).location == f"/places/plan/{plan_id}"
    assert "after the last valid day" in lead.get(f"/places/plan/{plan_id}").text
    out = lead.get(f"{address}?to=out").text
    assert lead.post(address, data=values_of(next_post_form(out))).status_code == 303
    assert "3 people get a place; 1 has none in time." in lead.get(f"/places/plan/{plan_id}").text


def next_post_form(text: str) -> Element:
    """The one form in the main part that changes something."""
    main = html5lib.parse(text, namespaceHTMLElements=False).find(".//main")
    assert main is not None
    (found,) = [form for form in main.iter("form") if form.get("method") == "post"]
    return found


def test_a_plan_that_changed_is_not_published(client_as: ClientAs, due: SmallService, library: Library) -> None:
    day_id = day_opened(due, 10, capacity=3)
    plan_id = planned(due, library)
    lead = client_as("leif")
    data = values_of(form_of(lead.get(f"/places/plan/{plan_id}").text, "/publish"))
    with due.acting("mira") as act:
        book_place(act, day_id)
    refused = lead.post(f"/places/plan/{plan_id}/publish", data=data)
    assert refused.status_code == 409
    assert "Nothing was booked" in refused.text
    assert len(places(due)) == 1


def test_a_clinician_takes_a_free_place_and_gives_it_up(client_as: ClientAs, due: SmallService) -> None:
    day_opened(due, 10)
    mira = client_as("mira")
    assert "You hold no place" in mira.get("/my-places").text
    mira.submit("/my-places", {}, action="/take")
    page = mira.get("/my-places").text
    assert "Your place is on 12 March 2026, 09:00, Cairnlow." in page
    assert "Take a place" not in page
    (place,) = places(due)
    give_up = f"/my-places/{place.id}/give-up"
    assert mira.submit(give_up, {"reason": " "}).status_code == 422
    assert mira.submit(give_up, {"reason": "on shift that day"}).status_code == 303
    assert places(due) == []


def test_attendance_by_the_assessor_of_the_day(client_as: ClientAs, due: SmallService, clock: object) -> None:
    day_id = day_opened(due, 0)
    with due.acting("mira") as act:
        book_place(act, day_id)
    tor = client_as("tor")
    assert "12 March" not in tor.get("/places/watching").text
    page = tor.get(f"/places/days/{day_id}").text
    assert "Did not come" in page
    done = tor.submit(f"/places/days/{day_id}", {"attendance": "came"}, action="/attendance")
    assert done.location == f"/places/days/{day_id}"
    assert "<strong>came</strong>" in tor.get(str(done.location)).text
    assert client_as("una").get(f"/places/days/{day_id}").status_code == 200
    assert client_as("mira").get(f"/places/days/{day_id}").status_code == 403


def test_a_published_place_is_moved_and_given_up(client_as: ClientAs, due: SmallService, library: Library) -> None:
    first, second = day_opened(due, 10, capacity=3), day_opened(due, 13, capacity=3)
    published(due, library, planned(due, library))
    lead = client_as("leif")
    place = next(one for one in places(due) if one.person_id == due.person_id("c0"))
    other = second if place.session_day_id == first else first
    moved = lead.submit(f"/places/places/{place.id}/move", {"to": other}, action="/move")
    assert moved.location == f"/places/days/{other}"
    assert lead.submit(f"/places/places/{place.id}/move", {"reason": "x"}, action="/give-up").status_code == 422
    gone = lead.submit(f"/places/places/{place.id}/move", {"reason": "called away"}, action="/give-up")
    assert gone.status_code == 303
    assert len(places(due)) == 3


def test_a_day_is_changed_and_cancelled(client_as: ClientAs, due: SmallService) -> None:
    day_id = day_opened(due, 10)
    lead = client_as("leif")
    changed = lead.submit(f"/places/days/{day_id}/change", {"capacity": "4", "ends_at": "14:30"})
    assert changed.status_code == 303
    assert "09:00 to 14:30" in lead.get(f"/places/days/{day_id}").text
    assert lead.submit(f"/places/days/{day_id}/cancel", {"reason": "no"}).status_code == 422
    assert lead.submit(f"/places/days/{day_id}/cancel", {"reason": "No aircraft."}).location == "/places"
    assert "was cancelled." in lead.get(f"/places/days/{day_id}").text


@pytest.mark.parametrize("odd", ODD_IDS)
def test_odd_ids_are_no_pages(client_as: ClientAs, due: SmallService, odd: str) -> None:
    lead = client_as("leif")
    for path in ("/places/days/{}", "/places/days/{}/change", "/places/plan/{}", "/places/places/{}/move",
                 "/my-places/{}/give-up", "/calendars/place/{}.ics", "/calendars/base/{}.ics"):  # fmt: skip
        assert lead.get(path.format(odd)).status_code in {404, 308, 400}, path


def test_calendar_files_and_the_address(client_as: ClientAs, due: SmallService, client: JudgingClient) -> None:
    day_id = day_opened(due, 10)
    with due.acting("mira") as act:
        place_id = book_place(act, day_id)
    mira = client_as("mira")
    answer = mira.get("/calendars/mine.ics")
    assert answer.headers["Content-Type"] == "text/calendar; charset=utf-8"
    assert answer.headers["Cache-Control"] == "no-store"
    assert 'attachment; filename="places.ics"' in answer.headers["Content-Disposition"]
    assert len(Calendar.from_ical(answer.text).walk("VEVENT")) == 1
    made = mira.submit("/calendars", {}, action="/calendars/address")
    address = made.text.split("<code>")[1].split("</code>")[0]
    path = address.removeprefix("http://localhost")
    assert client.get(path).status_code == 200
    assert "Your new address" not in mira.get("/calendars").text
    assert path not in mira.get("/calendars").text
    mira.submit(f"/my-places/{place_id}/give-up", {"reason": "on shift that day"})
    (event,) = Calendar.from_ical(client.get(path).text).walk("VEVENT")
    assert event["STATUS"] == "CANCELLED"
    cancelled = mira.get(f"/calendars/place/{place_id}.ics")
    assert cancelled.headers["Content-Type"] == "text/calendar; charset=utf-8; method=CANCEL"
    assert mira.submit("/calendars", {}, action="/address/end").status_code == 303
    gone = client.get(path)
    assert gone.status_code == 404
    assert "no such calendar" in gone.text
    lead = client_as("leif")
    assert lead.get(f"/calendars/base/{due.base_id}.ics").status_code == 200
    assert lead.get(f"/calendars/base/{due.other_base_id}.ics").status_code == 404
    assert lead.post("/calendars/address", data={"base": due.other_base_id}).status_code in {400, 403}
