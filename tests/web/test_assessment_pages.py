"""Assessments as pages: composed with what is typed kept, given out once, nothing for those without the right."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta

import pytest
from scipy.stats import binom
from sqlalchemy import func, select

from quizapp.content.library import Library
from quizapp.services.assign_assessment import assign_assessment
from quizapp.store.assessments import Assessment, Assignment
from tests.counted_statements import counted_statements
from tests.knowledge_forms import begun, composed, handed_in
from tests.observing import put_in_service
from tests.odd_addresses import ODD_IDS
from tests.small_service import SmallService
from tests.web_app import JudgingClient, form_of, values_of

ClientAs = Callable[[str], JudgingClient]
CAUTION = "Training and assessment only. Not for use while caring for a patient."
ENTRIES = {
    "title": "Spring <form>",
    "profile": "TV-A-1",
    "count_C3": "2",
    "count_C5": "6",
    "minimum_C5": "4",
    "cut": "6",
    "cut_reason": "six of eight, agreed by the educators",
    "time_allowance_min": "30",
}
WITHOUT_THE_RIGHT = ["mira", "tor", "leif", "ada", "petra"]


def count(small: SmallService, model: type[object]) -> int:
    with small.database.reading() as session:
        return session.scalar(select(func.count()).select_from(model)) or 0


def composed_by_form(client: JudgingClient) -> str:
    answer = client.submit("/assessments/new", ENTRIES, action="/new")
    assert answer.status_code == 303
    return str(answer.location)


def test_composed_and_shown_with_its_exact_chances(client_as: ClientAs) -> None:
    """Six of eight: 0.4278 of those at 0.65 pass, 0.0381 of those at 0.90 do not (binomial distribution)."""
    client = client_as("ines")
    page = client.get(composed_by_form(client)).text
    assert "6 of 8 right pass Spring &lt;form&gt;." in page
    assert "42.8 in 100" in page
    assert "3.8 in 100" in page
    assert CAUTION in page
    assert "1 assessment is composed." in client.get("/assessments").text


def test_a_length_and_a_cut_are_proposed_with_their_chances(client_as: ClientAs) -> None:
    """The exact sums of the binomial distribution, found by trying every length and cut (scipy)."""
    n, cut = next(
        (n, cut)
        for n in range(1, 100)
        for cut in range(1, n + 1)
        if binom.sf(cut - 1, n, 0.65) <= 0.05 and binom.cdf(cut - 1, n, 0.9) <= 0.05
    )
    assert (
        f"either way: {n} questions, pass at {cut}: somebody right 65 %"
        in client_as("ines").get("/assessments/new").text
    )


def test_the_device_in_service_here_is_chosen_beforehand(client_as: ClientAs, small_sqlite: SmallService) -> None:
    put_in_service(small_sqlite)
    assert values_of(form_of(client_as("ines").get("/assessments/new").text, "/new"))["profile"] == "TV-A-1"


@pytest.mark.parametrize(
    ("entry", "text", "says"),
    [
        ("title", "", "Give it a title."),
        ("title", "t" * 201, "Write at most 200 characters."),
        ("cut", "", "Write how many at least."),
        ("cut", "six", "Write a whole number from 1 to 500."),
        ("cut", "0", "Write a whole number from 1 to 500."),
        ("cut", "99999999999999999999", "Write a whole number from 1 to 500."),
        ("cut", "9", "The cut lies between 1 and the 8 questions asked."),
        ("cut_reason", "why", "Say in a sentence why the cut lies there; people will ask."),
        ("count_C5", "six", "C5: write a whole number from 0 to 60."),
        ("count_C5", "-6", "C5: write a whole number from 0 to 60."),
        ("count_C5", "99999999999999999999", "C5: write a whole number from 0 to 60."),
        ("count_C5", "4", "C5: its own minimum needs at least 5 questions on it."),
        ("minimum_C5", "7", "C5: its minimum lies between 1 and 6."),
        ("time_allowance_min", "0", "Write a whole number from 1 to 480."),
        ("profile", "TV-Z-9", "Not a valid choice."),
    ],
)
def test_what_cannot_work_is_said_and_everything_typed_is_kept(
    client_as: ClientAs, small_sqlite: SmallService, entry: str, text: str, says: str
) -> None:
    sent = {**ENTRIES, entry: text}
    refused = client_as("ines").submit("/assessments/new", sent, action="/new")
    assert refused.status_code == 422
    assert says in refused.text
    kept = values_of(form_of(refused.text, "/new"))
    assert {name: kept[name] for name in sent if name != "profile"} == {
        name: value for name, value in sent.items() if name != "profile"
    }
    assert count(small_sqlite, Assessment) == 0


def test_nothing_chosen_is_nothing_composed(client_as: ClientAs) -> None:
    sent = {**ENTRIES, "count_C3": "", "count_C5": "0", "minimum_C5": ""}
    refused = client_as("ines").submit("/assessments/new", sent, action="/new")
    assert refused.status_code == 422
    assert "Ask at least one question on one competency." in refused.text


def test_sent_twice_it_is_composed_once(client_as: ClientAs, small_sqlite: SmallService) -> None:
    client = client_as("ines")
    sent = {**values_of(form_of(client.get("/assessments/new").text, "/new")), **ENTRIES}
    first, again = (client.post("/assessments/new", data=sent) for _ in range(2))
    assert first.location == again.location
    assert count(small_sqlite, Assessment) == 1


def test_given_to_a_base_and_given_again_it_is_given_once(client_as: ClientAs, small_sqlite: SmallService) -> None:
    client = client_as("ines")
    page = composed_by_form(client)
    for _ in range(2):
        given = client.submit(page, {"to": "bases", "bases": [small_sqlite.base_id]}, action="/assign")
        assert given.status_code == 303
    assert count(small_sqlite, Assignment) == 3
    text = client.get(page).text
    assert "Mira" in text
    assert "not begun" in text


@pytest.mark.parametrize(
    ("entries", "says"),
    [
        ({"to": "bases"}, "Nobody was chosen"),
        ({"to": "people"}, "Nobody was chosen"),
        ({"to": "people", "people": ["0" * 32]}, "is not a valid choice"),
        ({"to": "bases", "bases": ["c" * 32]}, "is not a valid choice"),
        ({"to": "everybody", "due_on": "2026-03-01"}, "That day is past. Choose today or a later day."),
        ({"to": "everybody", "due_on": "31 March"}, "31 March"),
        ({"to": "nobody"}, "Not a valid choice"),
    ],
)
def test_what_cannot_be_given_is_said(
    client_as: ClientAs, small_sqlite: SmallService, entries: dict[str, object], says: str
) -> None:
    client = client_as("ines")
    refused = client.submit(composed_by_form(client), entries, action="/assign")
    assert refused.status_code == 422
    assert says in refused.text
    assert count(small_sqlite, Assignment) == 0


def test_the_day_that_was_typed_is_kept(client_as: ClientAs) -> None:
    client = client_as("ines")
    refused = client.submit(composed_by_form(client), {"to": "people", "due_on": "2026-04-01"}, action="/assign")
    assert values_of(form_of(refused.text, "/assign"))["due_on"] == "2026-04-01"
    assert '<details class="table" open>' in refused.text


@pytest.mark.parametrize("name", WITHOUT_THE_RIGHT)
def test_without_the_right_there_is_nothing_to_see_or_to_do(
    client_as: ClientAs, small_sqlite: SmallService, library: Library, name: str
) -> None:
    assessment_id = composed(small_sqlite, library)
    client = client_as(name)
    for address in ("", "/new", f"/{assessment_id}"):
        assert client.get(f"/assessments{address}").status_code == 403
    sent = {**values_of(form_of(client.get("/practice").text, "/practice")), **ENTRIES}
    assert client.post("/assessments/new", data=sent).status_code == 403
    assert client.post(f"/assessments/{assessment_id}/assign", data=sent).status_code == 403
    assert count(small_sqlite, Assessment) == 1


@pytest.mark.parametrize("odd", ODD_IDS)
def test_odd_ids_are_not_found(client_as: ClientAs, odd: str) -> None:
    assert client_as("ines").get(f"/assessments/{odd}").status_code == 404


def test_how_far_people_are_is_shown(client_as: ClientAs, small_sqlite: SmallService, library: Library) -> None:
    assessment_id = composed(small_sqlite, library)
    sitting_id = begun(small_sqlite, library, assessment_id)
    client = client_as("ines")
    assert "begun" in client.get(f"/assessments/{assessment_id}").text
    handed_in(small_sqlite, sitting_id)
    assert "handed in" in client.get(f"/assessments/{assessment_id}").text
    assert "1 of 3 handed in" in client.get("/assessments").text


def test_the_list_takes_as_many_statements_for_300_as_for_3(
    client_as: ClientAs, small_sqlite: SmallService, library: Library
) -> None:
    composed(small_sqlite, library)
    client = client_as("ines")
    client.get("/assessments")
    found = []
    for number in (3, 297):
        with small_sqlite.acting("ines") as act:
            for _ in range(number):
                row = Assessment(
                    id=act.randomness.new_id(), title="One of many", cut=1, cut_reason="made up", profile_code="TV-A",
                    profile_revision=1, composed_by=act.actor.person_id, composed_at=act.now - timedelta(days=1),
                )  # fmt: skip
                act.session.add(row)
                act.session.flush()
                assign_assessment(act, row.id, person_ids=[small_sqlite.person_id("mira")])
        with counted_statements(small_sqlite.database) as statements:
            page = client.get("/assessments").text
        found.append(len(statements))
    assert page.count("One of many") == 300
    assert found[0] == found[1]
