"""The standard on its pages: read by everybody, drafted and signed by educators; what was typed is kept."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date

import pytest
from sqlalchemy import func, select

from quizapp.content.library import Library
from quizapp.services.standards import standards_recorded
from quizapp.store.standards import Standard, StandardDraft
from tests.deciding import decide, show, with_standard
from tests.odd_addresses import ODD_IDS
from tests.small_service import PASSWORD, SmallService
from tests.web_app import JudgingClient, form_of, values_of

ClientAs = Callable[[str], JudgingClient]
AGREED = {
    "name": "Standard for 2027",
    "starts_on": "2026-04-01",
    "reason": "P06 was often done late last year",
    "agreed_by": "both educators, 1 March",
    "form_questions": "20",
    "form_cut": "16",
}


@pytest.fixture
def ruled(small_sqlite: SmallService, library: Library) -> SmallService:
    """Mira is signed off in C5 and C8 until 2 March 2027."""
    with_standard(small_sqlite, library)
    show(small_sqlite, "C5")
    show(small_sqlite, "C8", assessor="tor")
    decide(small_sqlite, library)
    return small_sqlite


def drafted(client: JudgingClient) -> str:
    answer = client.submit("/standard", {}, action="/standard/draft")
    assert answer.status_code == 303
    return str(answer.location)


def count(small: SmallService, model: type[object]) -> int:
    with small.database.reading() as session:
        return session.scalar(select(func.count()).select_from(model)) or 0


@pytest.mark.parametrize("name", ["mira", "tor", "ines", "leif", "ada"])
def test_everybody_reads_what_is_in_force(client_as: ClientAs, ruled: SmallService, name: str) -> None:
    page = client_as(name).get("/standard").text
    assert "Standard, version 1 is in force since 1 January 2025." in page
    assert "Forms count with each form&#39;s own cut." in page
    assert "This is the first version." in page
    assert ("Draft the next standard" in page) is (name == "ines")
    with ruled.database.reading() as session:
        standard_id = session.scalars(select(Standard.id)).one()
    assert "What it asks" in client_as(name).get(f"/standard/version/{standard_id}").text


def test_without_a_standard_nothing_is_required(client_as: ClientAs, small_sqlite: SmallService) -> None:
    assert "No standard is in force yet." in client_as("mira").get("/standard").text
    ines = client_as("ines")
    draft = drafted(ines)
    assert "This is the first version." in ines.get(draft).text


def test_drafted_shown_with_its_effect_and_signed(client_as: ClientAs, ruled: SmallService) -> None:
    ines = client_as("ines")
    draft = drafted(ines)
    assert "2 things stand in the way of putting it in force." in ines.get(draft).text
    assert ines.submit(draft, AGREED, action=draft).status_code == 303
    c8 = f"{draft}/C8"
    assert ines.submit(c8, {"renew_by": "2026-06-30", "validity_months": "6"}, action=c8).status_code == 303
    page = ines.get(draft).text
    assert "The draft is ready to be put in force." in page
    assert "C8 changes: a new sign-off holds 6 months instead of 12." in page
    assert "C8: sign-offs given before end on 30 June 2026 at the latest." in page
    signing = ines.submit(draft, {}, action=f"{draft}/prepare").location
    shown = ines.get(signing).text
    assert "For 1 person a sign-off ends earlier, the first on 30 June 2026." in shown
    assert "at least 20 questions and a cut of at least 16 of 20" in shown
    refused = ines.submit(signing, {"password": "wrong"}, action=signing)
    assert (refused.status_code, "Nothing was signed" in refused.text) == (422, True)
    signed = ines.submit(signing, {"password": PASSWORD}, action=signing)
    assert signed.status_code == 303
    after = ines.get(signed.location).text
    assert "Signed: Standard for 2027, version 2, in force from 1 April 2026." in after
    assert "comes into force on 1 April 2026" in after
    with ruled.database.reading() as session:
        newest = standards_recorded(session)[0]
    assert (newest.version, newest.starts_on, newest.form_cut) == (2, date(2026, 4, 1), 16)
    assert ines.get(draft).status_code == 404


def test_the_chances_of_the_rule_stand_beside_it(client_as: ClientAs, ruled: SmallService) -> None:
    """16 of 20: 0.1182 of those at 0.65 pass, 0.0432 of those at 0.90 do not (binomial distribution)."""
    ines = client_as("ines")
    draft = drafted(ines)
    ines.submit(draft, AGREED, action=draft)
    page = ines.get(draft).text
    assert "11.8 in 100" in page
    assert "4.3 in 100" in page


@pytest.mark.parametrize(
    ("changed", "says"),
    [
        ({"name": ""}, "Give it a name."),
        ({"starts_on": "1 April"}, "1 April"),
        ({"form_questions": "twenty"}, "Write a whole number from 0 to 500."),
        ({"form_cut": ""}, "Write a whole number from 0 to 500."),
        ({"reason": "r" * 1001}, "Write at most 1000 characters."),
    ],
)
def test_what_cannot_be_kept_is_said_and_all_that_was_typed_stays(
    client_as: ClientAs, ruled: SmallService, changed: dict[str, str], says: str
) -> None:
    ines = client_as("ines")
    draft = drafted(ines)
    sent = {**AGREED, "agreed_by": "us <all> of us, on the first of March", **changed}
    refused = ines.submit(draft, sent, action=draft)
    assert refused.status_code == 422
    assert says in refused.text
    kept = values_of(form_of(refused.text, draft))
    assert {name: kept[name] for name in sent if name != "form_questions"} == {
        name: value for name, value in sent.items() if name != "form_questions"
    }
    assert kept["form_questions"] == sent["form_questions"]


@pytest.mark.parametrize(
    ("changed", "says"),
    [
        ({"validity_months": "0"}, "Write a whole number from 1 to 60."),
        ({"validity_months": "a year"}, "Write a whole number from 1 to 60."),
        ({"minimum_assessors": "2"}, "two assessors need two things"),
        ({"renew_by": "2026-01-01"}, "may end then at the earliest"),
        ({"observed_here": ["P01"]}, "must be among the procedures"),
        ({"procedures": ["P99"]}, "not a valid choice"),
        ({"procedures": []}, "ask for knowledge, for a procedure or for a discussion"),
    ],
)
def test_a_competency_that_cannot_be_asked_like_this_keeps_all_entries(
    client_as: ClientAs, ruled: SmallService, changed: dict[str, object], says: str
) -> None:
    ines = client_as("ines")
    page = f"{drafted(ines)}/C8"
    refused = ines.submit(page, {"practice_months": "7", **changed}, action=page)
    assert refused.status_code == 422
    assert says in refused.text
    kept = values_of(form_of(refused.text, page))
    assert kept["practice_months"] == "7"
    for name in {"validity_months", "renew_by"} & set(changed):
        assert kept[name] == changed[name]


def test_of_two_educators_the_second_one_keeps_what_they_typed(client_as: ClientAs, ruled: SmallService) -> None:
    ines, cleo = client_as("ines"), client_as("cleo")
    draft = drafted(ines)
    seen = values_of(form_of(cleo.get(draft).text, draft))
    ines.submit(draft, AGREED, action=draft)
    late = cleo.post(draft, data={**seen, **AGREED, "name": "Another name"})
    assert late.status_code == 409
    assert "was not saved" in late.text
    assert values_of(form_of(late.text, draft))["name"] == "Another name"


def test_a_competency_is_added_and_left_out(client_as: ClientAs, ruled: SmallService) -> None:
    ines = client_as("ines")
    draft = drafted(ines)
    ines.submit(f"{draft}/C3", {}, action=f"{draft}/C3")
    assert "C3 is new: knowledge; critical, valid 12 months." in ines.get(draft).text
    ines.submit(f"{draft}/C5", {}, action=f"{draft}/C5/leave-out")
    assert "C5 is no longer asked for." in ines.get(draft).text
    assert ines.get(f"{draft}/C99").status_code == 404


def test_a_dropped_draft_is_gone_and_nothing_changed(client_as: ClientAs, ruled: SmallService) -> None:
    ines = client_as("ines")
    draft = drafted(ines)
    assert "Go on with the draft" in client_as("cleo").get("/standard").text
    assert ines.submit(draft, {}, action=f"{draft}/drop").status_code == 303
    assert ines.get(draft).status_code == 404
    assert (count(ruled, Standard), count(ruled, StandardDraft)) == (1, 1)


def test_a_draft_with_gaps_is_not_put_in_force(client_as: ClientAs, ruled: SmallService) -> None:
    ines = client_as("ines")
    draft = drafted(ines)
    assert f"{draft}/prepare" not in ines.get(draft).text
    form = values_of(form_of(ines.get(draft).text, f"{draft}/drop"))
    refused = ines.post(f"{draft}/prepare", data=form)
    assert refused.status_code == 422
    assert "why it changes" in refused.text


@pytest.mark.parametrize("odd", ODD_IDS)
def test_odd_ids_are_not_found(client_as: ClientAs, ruled: SmallService, odd: str) -> None:
    ines = client_as("ines")
    for page in (f"/standard/version/{odd}", f"/standard/draft/{odd}", f"/standard/draft/{odd}/C5",
                 f"/standard/sign/{odd}"):  # fmt: skip
        assert ines.get(page).status_code == 404
