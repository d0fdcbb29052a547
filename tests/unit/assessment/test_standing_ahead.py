"""Standings ahead: the spells, worked out from few moments, say the same as asking the one rule often."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as some

from quizapp.assessment.current import is_current
from quizapp.assessment.kept_standings import count_bases, steps_of
from quizapp.assessment.shift_cover import Span
from quizapp.assessment.standing import Decision, InService, Measure, Outcome, Pause, PersonStanding, Restriction
from quizapp.assessment.standing_ahead import begin_of, current_spells, from_then_on, standing_at
from quizapp.assessment.standing_record import ProfileRevision, RequiredCompetency, StandingRecord

ZONE = ZoneInfo("Europe/London")
ONE, TWO = ProfileRevision(code="TV-A", revision=1), ProfileRevision(code="TV-A", revision=2)
C5, C8 = (RequiredCompetency(code=code, is_critical=True) for code in ("C5", "C8"))
REQUIRED = ((date(2025, 1, 1), (C5,)), (date(2026, 4, 2), (C5, C8)))
FIRST = date(2026, 3, 20)
WITHIN = Span(datetime(2026, 3, 20, 6, tzinfo=UTC), datetime(2026, 4, 6, 18, tzinfo=UTC))


def signed(competency: str, last: date, *, profile: ProfileRevision = ONE, voided: datetime | None = None) -> Decision:
    return Decision(
        reference=f"{competency}{last}{profile}", competency=competency, profile=profile, outcome=Outcome.COMPETENT,
        decided_at=datetime(2025, 6, 1, tzinfo=UTC), valid_from=date(2025, 6, 1), last_valid_day=last, voided_at=voided,
    )  # fmt: skip


RECORD = StandingRecord(
    required=(), in_service=(InService(profile=ONE, from_day=date(2025, 1, 1)),),
    decisions=(signed("C5", date(2026, 12, 1)), signed("C8", date(2026, 12, 1))),
)  # fmt: skip


def test_the_last_valid_day_ends_at_midnight_of_the_service() -> None:
    """In the night in which the clock goes forward, 29 March 2026, the day still begins at midnight."""
    record = replace(RECORD, decisions=(signed("C5", date(2026, 3, 28)),))
    spells = current_spells(record, REQUIRED, WITHIN, ZONE)
    assert spells == (Span(WITHIN.start, datetime(2026, 3, 29, 0, 0, tzinfo=UTC)),)
    later = replace(RECORD, decisions=(signed("C5", date(2026, 3, 29)),))
    assert current_spells(later, REQUIRED, WITHIN, ZONE)[-1].end == datetime(2026, 3, 29, 23, 0, tzinfo=UTC)


def test_a_new_standard_asks_for_more_from_its_first_day() -> None:
    record = replace(RECORD, decisions=(signed("C5", date(2026, 12, 1)),))
    assert current_spells(record, REQUIRED, WITHIN, ZONE) == (Span(WITHIN.start, begin_of(date(2026, 4, 2), ZONE)),)
    assert standing_at(record, (), WITHIN.start, ZONE).standing is PersonStanding.NOT_YET_SIGNED_OFF


def test_a_revision_that_comes_into_service_must_be_held() -> None:
    both = (*RECORD.in_service, InService(profile=TWO, from_day=date(2026, 3, 25), until_day=date(2026, 3, 27)))
    assert current_spells(replace(RECORD, in_service=both), REQUIRED, WITHIN, ZONE) == (
        Span(WITHIN.start, begin_of(date(2026, 3, 25), ZONE)),
        Span(begin_of(date(2026, 3, 28), ZONE), WITHIN.end),
    )


days = some.integers(-3, 20).map(lambda away: FIRST + timedelta(days=away))
moments = some.integers(-200, 1700).map(lambda quarters: WITHIN.start + timedelta(minutes=15 * quarters))


@settings(max_examples=25)
@given(
    ends=some.lists(some.tuples(some.sampled_from(["C5", "C8"]), days, some.sampled_from([ONE, TWO])), max_size=4),
    pause=some.tuples(days, days), restriction=some.tuples(days, days), device=some.tuples(days, days),
    suspended=some.tuples(moments, moments), voided=moments, withdrawn=some.none() | moments,
    away=some.integers(0, 130),
)  # fmt: skip
def test_spells_are_what_asking_often_gives(
    ends: list[tuple[str, date, ProfileRevision]], pause: tuple[date, date], restriction: tuple[date, date],
    device: tuple[date, date], suspended: tuple[datetime, datetime], voided: datetime, withdrawn: datetime | None,
    away: int,
) -> None:  # fmt: skip
    record = replace(
        RECORD,
        decisions=(*RECORD.decisions, *(signed(code, end, profile=profile) for code, end, profile in ends),
                   replace(signed("C5", date(2026, 3, 21)), voided_at=voided)),
        pauses=(Pause(from_day=min(pause), until_day=max(pause)),
                Pause(from_day=min(pause) - timedelta(days=away + 20), until_day=min(pause) - timedelta(days=20),
                      return_completed_on=max(pause))),
        withdrawals=() if withdrawn is None else (Measure(from_at=withdrawn, competency="C5"),),
        restrictions=(Restriction(conditions="with another", from_day=min(restriction), until_day=max(restriction)),),
        suspensions=(Measure(from_at=min(suspended), until_at=max(suspended)),),
        in_service=(*RECORD.in_service, InService(profile=TWO, from_day=min(device), until_day=max(device))),
    )  # fmt: skip
    spells = current_spells(record, REQUIRED, WITHIN, ZONE)
    assert current_spells(from_then_on(record, WITHIN.start, ZONE), REQUIRED, WITHIN, ZONE) == spells
    at = WITHIN.start
    while at < WITHIN.end:
        asked = standing_at(record, REQUIRED, at, ZONE).standing.is_in_date
        begun = [required for first, required in REQUIRED if first <= at.astimezone(ZONE).date()]
        assert is_current(replace(record, required=begun[-1]), at, ZONE) is asked
        assert asked is any(spell.start <= at < spell.end for spell in spells), at
        at += timedelta(minutes=15 * 7)


def test_what_is_kept_counts_as_the_rule_does() -> None:
    now = WITHIN.start
    people = [
        ("a", replace(RECORD, decisions=(signed("C5", date(2026, 4, 10)), signed("C8", date(2026, 12, 1))))),
        ("a", RECORD),
        ("b", replace(RECORD, decisions=())),
    ]
    kept = [(base, steps_of(record, REQUIRED, now, ZONE)) for base, record in people]
    for away in (0, 10, 22, 40, 300):
        later = now + timedelta(days=away)
        counts = count_bases(kept, later, later.date())
        for base in ("a", "b"):
            stands = [standing_at(record, REQUIRED, later, ZONE).standing for at, record in people if at == base]
            assert counts[base].in_date == sum(one.is_in_date for one in stands)
            assert {one: number for one, number in counts[base].standings.items() if number} == {
                one: stands.count(one) for one in stands
            }
    soon = count_bases(kept, now, now.date())["a"]
    assert (soon.people, soon.in_date, soon.ending_within) == (2, 2, {30: 1, 60: 1, 90: 1})
    with pytest.raises(ValueError, match="begins after"):
        count_bases(kept, now - timedelta(days=1), now.date())


OUTCOMES = some.sampled_from([Outcome.COMPETENT, Outcome.NOT_YET, Outcome.RESTRICTED])
EARLIER = some.tuples(
    some.sampled_from(["C5", "C8"]), some.sampled_from([ONE, TWO]), OUTCOMES, some.integers(-400, 20),
    some.integers(0, 400), some.none() | some.integers(-30, 30),
)  # fmt: skip


@given(some.lists(EARLIER, max_size=10))
def test_decisions_that_say_nothing_any_more_can_go(
    rows: list[tuple[str, ProfileRevision, Outcome, int, int, int | None]],
) -> None:
    decisions = tuple(
        Decision(
            reference=str(number), competency=code, profile=profile, outcome=outcome,
            decided_at=WITHIN.start + timedelta(days=made), valid_from=FIRST + timedelta(days=made),
            last_valid_day=None if outcome is Outcome.NOT_YET else FIRST + timedelta(days=made + lasts),
            conditions="with another" if outcome is Outcome.RESTRICTED else "",
            voided_at=None if voided is None else WITHIN.start + timedelta(days=voided),
        )
        for number, (code, profile, outcome, made, lasts, voided) in enumerate(rows)
    )  # fmt: skip
    both = (*RECORD.in_service, InService(profile=TWO, from_day=date(2026, 3, 28)))
    record = replace(RECORD, decisions=decisions, in_service=both)
    less = from_then_on(record, WITHIN.start, ZONE)
    for away in range(0, 17, 2):
        at = WITHIN.start + timedelta(days=away)
        found = standing_at(record, REQUIRED, at, ZONE)
        assert found == standing_at(less, REQUIRED, at, ZONE)
        begun = [required for first, required in REQUIRED if first <= at.astimezone(ZONE).date()]
        assert is_current(replace(record, required=begun[-1]), at, ZONE) is found.standing.is_in_date


def test_ten_years_of_renewals_leave_the_newest() -> None:
    yearly = tuple(
        Decision(
            reference=str(year), competency="C5", profile=ONE, outcome=Outcome.COMPETENT,
            decided_at=datetime(2016 + year, 1, 5, tzinfo=UTC), valid_from=date(2016 + year, 1, 5),
            last_valid_day=date(2016 + year, 12, 31),
        )
        for year in range(11)
    )  # fmt: skip
    less = from_then_on(replace(RECORD, decisions=yearly), WITHIN.start, ZONE)
    assert [one.reference for one in less.decisions] == ["10"]
