"""Deciding as pages: evidence against the standard, the very words that are signed, a password, one signature."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import timedelta

import pytest
from sqlalchemy import func, select

from quizapp.assessment.sign_off import EvidenceOutcome
from quizapp.assessment.standing import Outcome
from quizapp.content.library import Library
from quizapp.store.audit import AuditRow, Signature
from quizapp.store.decisions import Decision
from tests.conftest import StandingClock
from tests.counted_statements import counted_statements
from tests.deciding import REASON, decide, show, with_standard
from tests.knowledge_forms import answer, begun, composed, handed_in, questions, right_text
from tests.many_people import add_clinicians
from tests.odd_addresses import ODD_IDS
from tests.small_service import PASSWORD, SmallService
from tests.web_app import JudgingClient, form_of, values_of

ClientAs = Callable[[str], JudgingClient]
CAUTION = "Training and assessment only. Not for use while caring for a patient."
COMPETENT = {"outcome": "competent", "competencies": ["C5", "C8"], "reason": REASON}


@pytest.fixture
def ruled(small_sqlite: SmallService, library: Library) -> SmallService:
    """Mira's evidence is complete: questions on C5, and P06 watched by Tor for C8."""
    with_standard(small_sqlite, library)
    show(small_sqlite, "C5")
    show(small_sqlite, "C8", assessor="tor")
    return small_sqlite


def desk_of(small: SmallService, name: str = "mira") -> str:
    return f"/decisions/{small.person_id(name)}"


def prepared(client: JudgingClient, small: SmallService, **changes: object) -> str:
    answer = client.submit(desk_of(small), {**COMPETENT, **changes}, action=desk_of(small))
    assert answer.status_code == 303
    return str(answer.location)


def count(small: SmallService, model: type[object]) -> int:
    with small.database.reading() as session:
        return session.scalar(select(func.count()).select_from(model)) or 0


def test_decided_shown_and_signed(client_as: ClientAs, ruled: SmallService) -> None:
    client = client_as("ines")
    assert "1 person waits for a decision." in client.get("/decisions").text
    desk = client.get(desk_of(ruled)).text
    assert "Nothing is missing." in desk
    assert CAUTION in desk
    page = prepared(client, ruled)
    shown = client.get(page).text
    assert "You are about to sign: competent, for Mira, T-mira." in shown
    assert "until 2 March 2027, that day included" in shown
    assert "C8 seen" in shown
    assert REASON in shown
    signed = client.submit(page, {"password": PASSWORD}, action=page)
    assert signed.status_code == 303
    after = client.get(signed.location).text
    with ruled.database.reading() as session:
        (signature,) = session.scalars(select(Signature))
    assert signature.signature_hash[:16] in after
    assert "Signed: competent, for Mira" in after
    assert "Nobody waits for a decision." in after
    assert count(ruled, Decision) == 2


def test_only_who_signed_is_shown_the_receipt(client_as: ClientAs, ruled: SmallService, library: Library) -> None:
    (first, *_) = decide(ruled, library)
    assert "Signed: competent" in client_as("ines").get(f"/decisions?signed={first}").text
    assert "Signed: competent" not in client_as("cleo").get(f"/decisions?signed={first}").text


def test_a_wrong_password_signs_nothing_and_is_kept_on_record(client_as: ClientAs, ruled: SmallService) -> None:
    client = client_as("ines")
    page = prepared(client, ruled)
    refused = client.submit(page, {"password": "wrong"}, action=page)
    assert refused.status_code == 422
    assert "Nothing was signed" in refused.text
    assert "wrong" not in str(values_of(form_of(refused.text, page)).get("password", ""))
    assert count(ruled, Decision) == 0
    with ruled.database.reading() as session:
        assert session.scalar(select(func.count()).select_from(AuditRow).where(AuditRow.event == "refused")) == 1
    assert client.submit(page, {"password": PASSWORD}, action=page).status_code == 303


def test_an_empty_password_is_asked_for(client_as: ClientAs, ruled: SmallService) -> None:
    client = client_as("ines")
    page = prepared(client, ruled)
    refused = client.submit(page, {"password": ""}, action=page)
    assert refused.status_code == 422
    assert "Write your password." in refused.text


def test_signed_twice_with_the_same_page_is_signed_once(client_as: ClientAs, ruled: SmallService) -> None:
    client = client_as("ines")
    page = prepared(client, ruled)
    sent = {**values_of(form_of(client.get(page).text, page)), "password": PASSWORD}
    first, again = (client.post(page, data=sent) for _ in range(2))
    assert (first.status_code, again.status_code) == (303, 303)
    assert first.location == again.location
    assert count(ruled, Signature) == 1
    assert count(ruled, Decision) == 2


def test_prepared_twice_with_the_same_page_leads_to_one_statement(client_as: ClientAs, ruled: SmallService) -> None:
    client = client_as("ines")
    sent = {**values_of(form_of(client.get(desk_of(ruled)).text, desk_of(ruled))), **COMPETENT}
    assert client.post(desk_of(ruled), data=sent).location == client.post(desk_of(ruled), data=sent).location


def test_the_back_button_after_signing_finds_it_signed(client_as: ClientAs, ruled: SmallService) -> None:
    client = client_as("ines")
    page = prepared(client, ruled)
    client.submit(page, {"password": PASSWORD}, action=page)
    again = client.get(page)
    assert again.status_code == 409
    assert "This was signed already." in again.text


def test_after_five_minutes_it_has_to_be_shown_again(
    client_as: ClientAs, ruled: SmallService, clock: StandingClock
) -> None:
    client = client_as("ines")
    page = prepared(client, ruled)
    sent = {**values_of(form_of(client.get(page).text, page)), "password": PASSWORD}
    clock.advance(timedelta(minutes=5, seconds=1))
    late = client.post(page, data=sent)
    assert late.status_code == 409
    assert "older than five minutes, so nothing was signed" in late.text


def test_evidence_that_came_meanwhile_stops_the_signature(client_as: ClientAs, ruled: SmallService) -> None:
    client = client_as("ines")
    page = prepared(client, ruled)
    show(ruled, "C5", outcome=EvidenceOutcome.NOT_SHOWN, days_ago=0)
    refused = client.submit(page, {"password": PASSWORD}, action=page)
    assert refused.status_code == 409
    assert "The evidence changed since this was shown." in refused.text
    assert count(ruled, Decision) == 0


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"outcome": ""}, "Choose a decision. Nothing is chosen beforehand."),
        ({"competencies": []}, "Choose at least one competency to decide on."),
        ({"competencies": ["C99"]}, "not a valid choice"),
        ({"reason": "short"}, "Write a reason of 10 to 2000 characters; the person reads it."),
        ({"reason": "r" * 2001}, "Write at most 2000 characters."),
        ({"outcome": "restricted"}, "Say under which conditions"),
        ({"outcome": "restricted", "conditions": "with a colleague", "restricted_until": "2028-01-01"}, "ends between"),
        ({"outcome": "restricted", "conditions": "with a colleague", "restricted_until": "May"}, "May"),
        ({"outcome": "excellent"}, "Not a valid choice"),
    ],
)
def test_what_cannot_be_decided_is_said_and_the_text_is_kept(
    client_as: ClientAs, ruled: SmallService, changes: dict[str, object], says: str
) -> None:
    sent = {**COMPETENT, "reason": "I saw <all> of it, twice.", **changes}
    refused = client_as("ines").submit(desk_of(ruled), sent, action=desk_of(ruled))
    assert refused.status_code == 422
    assert says in refused.text
    assert values_of(form_of(refused.text, desk_of(ruled)))["reason"] == sent["reason"]


def test_how_often_the_rule_errs_stands_beside_the_evidence(
    client_as: ClientAs, small_sqlite: SmallService, library: Library
) -> None:
    """Two of three: 0.7183 of those at 0.65 pass, 0.0280 of those at 0.90 do not (binomial distribution)."""
    with_standard(small_sqlite, library)
    client = client_as("ines")
    assert "How often the rule errs" not in client.get(desk_of(small_sqlite)).text
    sitting_id = begun(small_sqlite, library, composed(small_sqlite, library))
    for one in questions(small_sqlite, sitting_id):
        answer(small_sqlite, sitting_id, one.position, right_text(one.question))
    handed_in(small_sqlite, sitting_id)
    desk = client.get(desk_of(small_sqlite)).text
    assert "Autumn form: 2 of 3 right." in desk
    assert "71.8 in 100" in desk
    assert "2.8 in 100" in desk


def test_what_is_missing_is_named_first_and_cannot_be_signed_off(
    client_as: ClientAs, small_sqlite: SmallService, library: Library
) -> None:
    with_standard(small_sqlite, library)
    show(small_sqlite, "C5")
    client = client_as("ines")
    desk = client.get(desk_of(small_sqlite)).text
    assert "One part is missing: C8, P06." in desk
    refused = client.submit(desk_of(small_sqlite), COMPETENT, action=desk_of(small_sqlite))
    assert refused.status_code == 422
    assert "C8: still missing P06" in refused.text


def test_a_not_yet_turned_round_asks_for_a_second_educator(
    client_as: ClientAs, ruled: SmallService, library: Library, clock: StandingClock
) -> None:
    decide(ruled, library, competencies=("C5",), outcome=Outcome.NOT_YET)
    show(ruled, "C5", days_ago=0)
    clock.advance(timedelta(hours=1))
    client = client_as("ines")
    page = prepared(client, ruled, competencies=["C5"])
    assert "so a second educator signs with you" in client.get(page).text
    alone = client.submit(page, {"password": PASSWORD}, action=page)
    assert alone.status_code == 422
    assert "Two people are needed" in alone.text
    wrong = {"password": PASSWORD, "second_name": "cleo", "second_password": "wrong"}
    refused = client.submit(page, wrong, action=page)
    assert refused.status_code == 422
    assert values_of(form_of(refused.text, page))["second_name"] == "cleo"
    assert "Nothing was signed" in refused.text
    both = client.submit(page, {**wrong, "second_password": PASSWORD}, action=page)
    assert both.status_code == 303
    assert count(ruled, Decision) == 2


@pytest.mark.parametrize("name", ["mira", "tor", "leif", "ada", "olaf"])
def test_without_the_right_there_is_nothing_to_decide(client_as: ClientAs, ruled: SmallService, name: str) -> None:
    client = client_as(name)
    assert client.get("/decisions").status_code == 403
    assert client.get(desk_of(ruled)).status_code == 403
    sent = {**values_of(form_of(client.get("/practice").text, "/practice")), **COMPETENT}
    assert client.post(desk_of(ruled), data=sent).status_code == 403


def test_people_elsewhere_and_oneself_are_not_found(client_as: ClientAs, ruled: SmallService) -> None:
    client = client_as("ines")
    for name in ("petra", "ines"):
        assert client.get(desk_of(ruled, name)).status_code == 404


def test_a_colleague_does_not_find_what_somebody_else_is_about_to_sign(
    client_as: ClientAs, ruled: SmallService
) -> None:
    page = prepared(client_as("ines"), ruled)
    assert client_as("cleo").get(page).status_code == 404


@pytest.mark.parametrize("odd", ODD_IDS)
def test_odd_ids_are_not_found(client_as: ClientAs, odd: str) -> None:
    client = client_as("ines")
    assert client.get(f"/decisions/{odd}").status_code == 404
    assert client.get(f"/decisions/sign/{odd}").status_code == 404
    assert client.get(f"/decisions?signed={odd}").status_code in {200, 422}


def test_the_list_takes_as_many_statements_for_300_as_for_3(client_as: ClientAs, ruled: SmallService) -> None:
    client = client_as("ines")
    client.get("/decisions")
    found = []
    for start, number in ((0, 3), (3, 297)):
        for name in add_clinicians(ruled, number, start=start):
            show(ruled, "C5", who=name)
        with counted_statements(ruled.database) as statements:
            page = client.get("/decisions").text
        found.append(len(statements))
    assert len(re.findall(r">Clinician \d+<", page)) == 300
    assert found[0] == found[1]
