"""How a person stands: precedence, inclusive last days, revisions in service, sentences and next steps."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from quizapp.assessment.standing import (
    CompetencyStanding,
    Decision,
    InService,
    Measure,
    NextWhat,
    Outcome,
    Pause,
    PersonStanding,
    ProfileRevision,
    RequiredCompetency,
    Restriction,
    StandingRecord,
    StandingReport,
    standing,
)

LONDON = ZoneInfo("Europe/London")
TV_A_1 = ProfileRevision(code="TV-A", revision=1)
TV_A_2 = ProfileRevision(code="TV-A", revision=2)
START = date(2026, 3, 14)
LAST = date(2027, 3, 14)
REQUIRED = (
    RequiredCompetency(code="C3", is_critical=True),
    RequiredCompetency(code="C7", is_critical=False),
)


def at(day: date, hour: int = 12) -> datetime:
    return datetime(day.year, day.month, day.day, hour, tzinfo=UTC)


def decision(competency: str, **changes: object) -> Decision:
    fields: dict[str, object] = {
        "reference": f"d-{competency}",
        "competency": competency,
        "profile": TV_A_2,
        "outcome": Outcome.COMPETENT,
        "decided_at": at(START, 9),
        "valid_from": START,
        "last_valid_day": LAST,
    }
    return Decision(**(fields | changes))  # type: ignore[arg-type]


def record(*decisions: Decision, **changes: object) -> StandingRecord:
    fields: dict[str, object] = {
        "required": REQUIRED,
        "in_service": (InService(profile=TV_A_2, from_day=date(2026, 1, 1)),),
        "decisions": decisions or (decision("C3"), decision("C7")),
    }
    return StandingRecord(**(fields | changes))  # type: ignore[arg-type]


def stands(what: StandingRecord, day: date) -> StandingReport:
    return standing(what, at(day), LONDON)


def test_a_current_person_is_told_until_when_and_on_what():
    report = stands(record(), date(2026, 6, 1))
    assert report.standing is PersonStanding.CURRENT
    assert report.sentence == "Current until 14 March 2027 on TV-A revision 2."
    assert report.soonest_end == LAST
    assert report.next_step.what is NextWhat.NOTHING


@pytest.mark.parametrize(
    ("days_left", "expected"),
    [
        (61, PersonStanding.CURRENT),
        (60, PersonStanding.LAPSING),
        (0, PersonStanding.LAPSING),
        (-1, PersonStanding.LAPSED),
    ],
)
def test_the_last_valid_day_is_inside(days_left, expected):
    assert stands(record(), LAST - timedelta(days=days_left)).standing is expected


def test_the_last_day_ends_at_midnight_of_the_service_and_not_of_greenwich():
    summer_last = date(2026, 7, 31)
    what = record(decision("C3", last_valid_day=summer_last), decision("C7"))
    before_midnight = datetime(2026, 7, 31, 22, 59, tzinfo=UTC)
    assert standing(what, before_midnight, LONDON).standing is PersonStanding.LAPSING
    assert standing(what, before_midnight + timedelta(minutes=1), LONDON).standing is PersonStanding.LAPSED
    assert standing(what, before_midnight + timedelta(minutes=1), ZoneInfo("UTC")).standing is PersonStanding.LAPSING


def test_lapsing_says_what_ends_first_and_how_to_keep_it():
    report = stands(record(decision("C3"), decision("C7", last_valid_day=date(2027, 2, 1))), date(2027, 1, 30))
    assert report.sentence == "Current until 1 February 2027 on TV-A revision 2: 2 days left, C7 ends first."
    assert report.next_step.what is NextWhat.RENEW
    assert (report.next_step.competency, report.next_step.by_day) == ("C7", date(2027, 2, 1))
    assert "today is the last day" in stands(record(), LAST).sentence


def test_a_critical_competency_lapses_the_person_and_another_one_restricts():
    early = date(2026, 9, 30)
    critical = stands(record(decision("C3", last_valid_day=early), decision("C7")), date(2026, 10, 1))
    assert critical.standing is PersonStanding.LAPSED
    assert critical.sentence == "Lapsed: C3 on TV-A revision 2 ended on 30 September 2026."
    other = stands(record(decision("C3"), decision("C7", last_valid_day=early)), date(2026, 10, 1))
    assert other.standing is PersonStanding.RESTRICTED
    assert other.sentence == "Restricted: C7 is lapsed; every critical competency is in date."
    assert other.next_step.competency == "C7"


def test_a_restricted_sentence_never_hides_a_critical_competency_still_to_be_shown():
    report = stands(record(decision("C7", last_valid_day=date(2026, 4, 1))), date(2026, 10, 1))
    assert report.standing is PersonStanding.RESTRICTED
    assert report.sentence == "Restricted: C7 is lapsed, and C3 still open."


def test_nobody_is_current_for_a_revision_that_is_not_the_one_in_service():
    report = stands(record(decision("C3", profile=TV_A_1), decision("C7")), date(2026, 6, 1))
    assert report.standing is PersonStanding.NOT_YET_SIGNED_OFF
    assert report.sentence == "Not yet signed off on TV-A revision 2: C3 still open."
    row = next(row for row in report.rows if row.competency == "C3")
    assert row.why == "Signed off on TV-A revision 1, not on TV-A revision 2, which is in service here."


def test_mixed_stock_needs_both_revisions():
    mixed = (
        InService(profile=TV_A_1, from_day=date(2025, 1, 1), until_day=date(2026, 6, 30)),
        InService(profile=TV_A_2, from_day=date(2026, 3, 1)),
    )
    what = record(in_service=mixed)
    report = stands(what, date(2026, 6, 30))
    assert report.standing is PersonStanding.NOT_YET_SIGNED_OFF
    assert [str(one.profile) for one in report.by_revision] == ["TV-A revision 1", "TV-A revision 2"]
    assert [one.standing for one in report.by_revision][1] is PersonStanding.CURRENT
    assert stands(what, date(2026, 7, 1)).standing is PersonStanding.CURRENT


def test_without_a_device_or_a_requirement_nobody_is_current():
    assert "no device revision is in service" in stands(record(in_service=()), START).sentence
    assert "requires no competency" in stands(record(required=()), START).sentence
    assert stands(record(required=()), START).standing is PersonStanding.NOT_YET_SIGNED_OFF


def test_the_latest_decision_counts_and_a_void_gives_the_one_before_back():
    not_yet = decision(
        "C3",
        reference="d-2",
        outcome=Outcome.NOT_YET,
        decided_at=at(date(2026, 5, 1)),
        valid_from=date(2026, 5, 1),
        last_valid_day=None,
        voided_at=at(date(2026, 5, 20)),
    )
    what = record(decision("C3"), not_yet, decision("C7"))
    assert stands(what, date(2026, 4, 30)).standing is PersonStanding.CURRENT
    assert stands(what, date(2026, 5, 19)).standing is PersonStanding.NOT_YET_SIGNED_OFF
    assert stands(what, date(2026, 5, 20)).standing is PersonStanding.CURRENT


def test_the_past_is_told_as_it_was_known():
    assert stands(record(), START - timedelta(days=1)).standing is PersonStanding.NOT_YET_SIGNED_OFF


def test_a_restricted_decision_carries_its_conditions_and_ends():
    restricted = decision("C3", outcome=Outcome.RESTRICTED, conditions="not at night", last_valid_day=date(2026, 9, 1))
    report = stands(record(restricted, decision("C7")), date(2026, 9, 1))
    assert report.standing is PersonStanding.RESTRICTED
    assert report.conditions == ("C3: not at night",)
    assert report.sentence == "Restricted until 1 September 2026 in C3 on TV-A revision 2: not at night."
    assert stands(record(restricted, decision("C7")), date(2026, 9, 2)).standing is PersonStanding.LAPSED


def test_a_newcomer_works_with_a_colleague_until_a_day():
    provisional = Restriction(conditions="works with a current colleague", from_day=START, until_day=date(2026, 6, 12))
    what = StandingRecord(required=REQUIRED, in_service=record().in_service, restrictions=(provisional,))
    report = stands(what, date(2026, 6, 12))
    assert report.standing is PersonStanding.RESTRICTED
    assert report.sentence == "Restricted until 12 June 2026: works with a current colleague."
    assert report.soonest_end == date(2026, 6, 12)
    assert (report.next_step.what, report.next_step.competency) == (NextWhat.SHOW, "C3")
    assert stands(what, date(2026, 6, 13)).standing is PersonStanding.NOT_YET_SIGNED_OFF


def test_suspension_and_withdrawal_of_the_person_and_of_one_competency():
    whole = Measure(from_at=at(date(2026, 5, 1), 10), until_at=at(date(2026, 5, 3), 10))
    report = stands(record(suspensions=(whole,)), date(2026, 5, 2))
    assert report.standing is PersonStanding.SUSPENDED
    assert report.sentence == "Suspended since 1 May 2026 by an educator's decision."
    assert {row.standing for row in report.rows} == {CompetencyStanding.SUSPENDED}
    assert report.next_step.what is NextWhat.SPEAK_TO_EDUCATOR
    assert stands(record(suspensions=(whole,)), date(2026, 5, 3)).standing is PersonStanding.CURRENT
    one = Measure(from_at=at(date(2026, 5, 1)), competency="C7")
    assert stands(record(withdrawals=(one,)), date(2026, 5, 2)).standing is PersonStanding.RESTRICTED
    critical = Measure(from_at=at(date(2026, 5, 1)), competency="C3")
    assert stands(record(withdrawals=(critical,)), date(2026, 5, 2)).sentence.startswith("Withdrawn in C3 since")


def test_a_new_decision_ends_the_withdrawal_of_a_competency_but_not_of_a_person():
    again = decision("C3", reference="d-9", decided_at=at(date(2026, 7, 1)), valid_from=date(2026, 7, 1))
    for competency, expected in (("C3", PersonStanding.CURRENT), (None, PersonStanding.WITHDRAWN)):
        measure = Measure(from_at=at(date(2026, 5, 1)), competency=competency)
        what = record(decision("C3"), again, decision("C7"), withdrawals=(measure,))
        assert stands(what, date(2026, 7, 2)).standing is expected


def test_leave_is_said_and_moves_no_day():
    what = record(pauses=(Pause(from_day=date(2027, 3, 1), until_day=date(2027, 4, 30)),))
    report = stands(what, date(2027, 4, 30))
    assert report.standing is PersonStanding.PAUSED
    assert report.sentence == "Paused until 30 April 2027."
    assert report.next_step.what is NextWhat.COME_BACK
    assert stands(what, date(2027, 5, 1)).standing is PersonStanding.LAPSED
    assert "no day of return" in stands(record(pauses=(Pause(from_day=START),)), START).sentence


def test_one_competency_is_told_by_its_least_good_revision():
    report = stands(record(), date(2027, 2, 1))
    assert report.of_competency("C3") is CompetencyStanding.LAPSING
    assert report.of_competency("C99") is CompetencyStanding.NOT_YET_SIGNED_OFF
    assert [row.competency for row in report.soonest_first] == ["C3", "C7"]


def test_a_decision_without_its_day_or_conditions_is_refused():
    with pytest.raises(ValueError, match="last valid day"):
        decision("C3", last_valid_day=None)
    with pytest.raises(ValueError, match="conditions"):
        decision("C3", outcome=Outcome.RESTRICTED)


def test_words():
    assert PersonStanding.NOT_YET_SIGNED_OFF.words == CompetencyStanding.NOT_YET_SIGNED_OFF.words
    assert PersonStanding.NOT_YET_SIGNED_OFF.words == "not yet signed off"
