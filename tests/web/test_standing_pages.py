"""One person's standing on its page: at any minute gone by, what changed it, changing it and ending a change."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta

import pytest
from sqlalchemy import select

from quizapp.assessment.standing import Outcome
from quizapp.content.library import Library
from quizapp.store.decisions import Decision, StandingEnd, StandingEvent
from tests.conftest import StandingClock
from tests.deciding import REASON, decide, show, with_standard
from tests.odd_addresses import ODD_IDS
from tests.small_service import PASSWORD, SmallService
from tests.web_app import JudgingClient, form_of, values_of

ClientAs = Callable[[str], JudgingClient]
SUSPENDS = {"kind": "suspended", "reason": "Asked for after the night of the first", "password": PASSWORD}


@pytest.fixture
def ruled(small_sqlite: SmallService, library: Library) -> SmallService:
    """Mira was signed off in C5 and C8 at nine on 2 March."""
    with_standard(small_sqlite, library)
    show(small_sqlite, "C5")
    show(small_sqlite, "C8", assessor="tor")
    decide(small_sqlite, library)
    return small_sqlite


def page_of(small: SmallService, name: str = "mira") -> str:
    return f"/standing/{small.person_id(name)}"


def test_a_lead_reads_standing_and_who_changed_it_but_not_why(client_as: ClientAs, ruled: SmallService) -> None:
    page = client_as("leif").get(page_of(ruled)).text
    assert "Current until 2 March 2027 on TV-A revision 1." in page
    assert "C5: competent until 2 March 2027" in page
    assert "Ines" in page
    assert REASON not in page
    assert "Amend or void it" not in page
    for name in ("ines", "mira"):
        assert REASON in client_as(name).get(page_of(ruled)).text


def test_any_minute_gone_by_can_be_asked(client_as: ClientAs, ruled: SmallService, clock: StandingClock) -> None:
    clock.advance(timedelta(days=40))
    ines = client_as("ines")
    before = ines.get(f"{page_of(ruled)}?at=2026-03-02 08:59").text
    assert "Not yet signed off on TV-A revision 1: C5, C8 still open." in before
    assert "So it was known on 2 March 2026, 08:59." in before
    assert "Current until 2 March 2027" in ines.get(f"{page_of(ruled)}?at=2026-03-02T09:00").text
    twice = ines.get(f"{page_of(ruled)}?at=2026-03-29 01:30")
    assert (twice.status_code, "The clock skips 2026-03-29 01:30" in twice.text) == (422, True)
    for asked in ("2026-03-02", "yesterday", "2027-01-01 10:00", "2026-03-02 25:00"):
        refused = ines.get(f"{page_of(ruled)}?at={asked}")
        assert refused.status_code == 422
        assert asked in refused.text


def test_suspended_with_a_password_and_lifted(client_as: ClientAs, ruled: SmallService, clock: StandingClock) -> None:
    ines, change = client_as("ines"), f"{page_of(ruled)}/change"
    assert ines.submit(change, SUSPENDS, action=change).status_code == 303
    clock.advance(timedelta(minutes=20))
    assert "Suspended since 2 March 2026" in ines.get(page_of(ruled)).text
    with ruled.database.reading() as session:
        event_id = session.scalars(select(StandingEvent.id)).one()
    end = f"/standing/end/{event_id}"
    assert client_as("mira").get(end).status_code == 403
    lifted = ines.submit(end, {"reason": "Talked through and shown again", "password": PASSWORD}, action=end)
    assert lifted.status_code == 303
    after = ines.get(lifted.location).text
    assert "Current until 2 March 2027" in after
    assert "Ended early" in after
    assert ines.get(end).status_code == 409
    assert "Suspended since" in ines.get(f"{page_of(ruled)}?at=2026-03-02 09:10").text


def test_a_withdrawal_asks_for_a_second_educator_to_take_it_back(
    client_as: ClientAs, ruled: SmallService, clock: StandingClock
) -> None:
    ines, change = client_as("ines"), f"{page_of(ruled)}/change"
    ines.submit(change, {**SUSPENDS, "kind": "withdrawn", "competency": "C8"}, action=change)
    with ruled.database.reading() as session:
        event_id = session.scalars(select(StandingEvent.id)).one()
    clock.advance(timedelta(minutes=20))
    end = f"/standing/end/{event_id}"
    entries = {"reason": "It was the wrong person", "password": PASSWORD}
    assert "Two educators are needed" in ines.submit(end, entries, action=end).text
    wrong = {**entries, "second_name": "cleo", "second_password": "wrong"}
    refused = ines.submit(end, wrong, action=end)
    assert (refused.status_code, values_of(form_of(refused.text, end))["second_name"]) == (422, "cleo")
    assert ines.submit(end, {**wrong, "second_password": PASSWORD}, action=end).status_code == 303
    with ruled.database.reading() as session:
        assert session.scalars(select(StandingEnd)).one().second_by == ruled.person_id("cleo")


@pytest.mark.parametrize(
    ("changed", "says"),
    [
        ({"kind": ""}, "Choose what changes."),
        ({"reason": "short"}, "Write the reason in a sentence"),
        ({"from_day": "2026-03-01"}, "It starts today or later"),
        ({"kind": "restricted"}, "A restriction has a last day."),
        ({"kind": "paused", "competency": "C5"}, "Only a suspension or a withdrawal"),
        ({"password": "wrong"}, "not your password"),
    ],
)
def test_what_cannot_be_changed_is_said_and_the_text_kept(
    client_as: ClientAs, ruled: SmallService, changed: dict[str, str], says: str
) -> None:
    change = f"{page_of(ruled)}/change"
    sent = {**SUSPENDS, "until_day": "", **changed}
    refused = client_as("ines").submit(change, sent, action=change)
    assert refused.status_code == 422
    assert says in refused.text
    kept = values_of(form_of(refused.text, change))
    assert (kept["reason"], kept.get("password", "")) == (sent["reason"], "")


def test_a_lead_pauses_and_may_do_no_more(client_as: ClientAs, ruled: SmallService) -> None:
    leif, change = client_as("leif"), f"{page_of(ruled)}/change"
    assert leif.submit(change, SUSPENDS, action=change).status_code == 403
    assert leif.submit(change, {**SUSPENDS, "kind": "paused"}, action=change).status_code == 303


@pytest.mark.parametrize("name", ["tor", "ada", "olaf"])
def test_others_find_nobody(client_as: ClientAs, ruled: SmallService, name: str) -> None:
    assert client_as(name).get(page_of(ruled)).status_code == 404


def test_a_decision_is_amended_and_voided_by_two(
    client_as: ClientAs, ruled: SmallService, clock: StandingClock
) -> None:
    ines, cleo = client_as("ines"), client_as("cleo")
    with ruled.database.reading() as session:
        decision_id = session.scalars(select(Decision.id).where(Decision.competency == "C8")).one()
    clock.advance(timedelta(minutes=20))
    page = f"/decisions/decision/{decision_id}"
    assert "Mira, C8: competent until 2 March 2027." in ines.get(page).text
    amend = f"{page}/amend"
    longer = ines.submit(amend, {"last_valid_day": "2027-03-03", "why": "by mistake longer"}, action=amend)
    assert (longer.status_code, "time is never added" in longer.text) == (422, True)
    assert values_of(form_of(longer.text, amend))["why"] == "by mistake longer"
    sign = ines.submit(amend, {"last_valid_day": "2026-09-01", "why": "the interval was wrong"}, action=amend).location
    assert "the interval was wrong" in ines.get(sign).text
    newest = ines.submit(sign, {"password": PASSWORD}, action=sign).location.partition("?")[0]
    assert "<s>1: competent</s>" in ines.get(newest).text
    void = f"{newest}/void"
    proposal = ines.submit(void, {"reason": "The wrong person was meant"}, action=void).location
    ines.submit(proposal, {"password": PASSWORD}, action=proposal)
    assert "Decisions to be voided" in cleo.get("/decisions").text
    answer = next(link for link in cleo.get("/decisions").text.split('"') if link.startswith("/decisions/proposal/"))
    assert "You proposed this yourself" in ines.get(answer).text
    asked = cleo.submit(answer, {"reason": "I looked at it as well"}, action=answer)
    assert (asked.status_code, "Choose one." in asked.text) == (422, True)
    settle = cleo.submit(answer, {"answer": "confirm", "reason": "I looked at it as well"}, action=answer).location
    done = cleo.submit(settle, {"password": PASSWORD}, action=settle)
    assert "Signed: it stands void." in cleo.get(done.location).text
    assert "this decision is void." in ines.get(newest).text
    for again in ("amend", "void"):
        assert ines.get(f"{newest}/{again}").status_code == 409


def test_a_second_educator_signs_for_themselves(
    client_as: ClientAs, ruled: SmallService, library: Library, clock: StandingClock
) -> None:
    decide(ruled, library, competencies=("C5",), outcome=Outcome.NOT_YET, after=timedelta(minutes=10))
    show(ruled, "C5", days_ago=0)
    clock.advance(timedelta(hours=1))
    desk, ines = f"/decisions/{ruled.person_id('mira')}", client_as("ines")
    sign = ines.submit(desk, {"outcome": "competent", "competencies": ["C5"], "reason": REASON}, action=desk).location
    both = {"password": PASSWORD, "second_name": "cleo", "second_password": PASSWORD}
    assert ines.submit(sign, both, action=sign).status_code == 303
    with ruled.database.reading() as session:
        row = session.scalars(select(Decision).order_by(Decision.decided_at.desc()).limit(1)).one()
    page = ines.get(f"/decisions/decision/{row.id}").text
    assert page.count("verify ") == 2
    assert "Ines and Cleo" in page


@pytest.mark.parametrize("odd", ODD_IDS)
def test_odd_ids_are_not_found(client_as: ClientAs, ruled: SmallService, odd: str) -> None:
    ines = client_as("ines")
    for page in (f"/standing/{odd}", f"/standing/{odd}/change", f"/standing/end/{odd}", f"/decisions/decision/{odd}",
                 f"/decisions/decision/{odd}/amend", f"/decisions/decision/{odd}/void", f"/decisions/proposal/{odd}",
                 f"/decisions/amendment/{odd}", f"/decisions/void/{odd}"):  # fmt: skip
        assert ines.get(page).status_code == 404
