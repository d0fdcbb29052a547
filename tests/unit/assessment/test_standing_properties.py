"""Standing over many invented records: precedence, time alone, order of the record, allowed moves."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from quizapp.assessment.standing import (
    PRECEDENCE,
    CompetencyStanding,
    Decision,
    InService,
    Measure,
    Outcome,
    Pause,
    PersonStanding,
    ProfileRevision,
    RequiredCompetency,
    Restriction,
    StandingRecord,
    standing,
)
from quizapp.assessment.standing_moves import MOVES_BY, StandingAct, acts_that_move

ZONE = ZoneInfo("Europe/London")
FIRST = date(2026, 1, 1)
CODES = ("C1", "C2", "C3")
PROFILES = (ProfileRevision(code="TV-A", revision=1), ProfileRevision(code="TV-A", revision=2))


def noon(offset: int) -> datetime:
    day = FIRST + timedelta(days=offset)
    return datetime(day.year, day.month, day.day, 12, tzinfo=UTC)


OFFSETS = st.integers(0, 500)


@st.composite
def decisions(draw: st.DrawFn) -> Decision:
    begin = draw(OFFSETS)
    outcome = draw(st.sampled_from(Outcome))
    last = None if outcome is Outcome.NOT_YET else FIRST + timedelta(days=begin + draw(st.integers(0, 400)))
    return Decision(
        reference=f"d{draw(st.integers(0, 999))}",
        competency=draw(st.sampled_from(CODES)),
        profile=draw(st.sampled_from(PROFILES)),
        outcome=outcome,
        decided_at=noon(begin),
        valid_from=FIRST + timedelta(days=begin),
        last_valid_day=last,
        conditions="works with a colleague" if outcome is Outcome.RESTRICTED else "",
    )


@st.composite
def measures(draw: st.DrawFn) -> Measure:
    begin, length = draw(OFFSETS), draw(st.none() | st.integers(1, 200))
    return Measure(
        from_at=noon(begin),
        until_at=None if length is None else noon(begin + length),
        competency=draw(st.sampled_from([None, *CODES])),
    )


@st.composite
def spans(draw: st.DrawFn) -> tuple[date, date]:
    begin = draw(OFFSETS)
    return FIRST + timedelta(days=begin), FIRST + timedelta(days=begin + draw(st.integers(0, 100)))


RECORDS = st.builds(
    StandingRecord,
    required=st.tuples(
        *(st.builds(RequiredCompetency, code=st.just(code), is_critical=st.booleans()) for code in CODES)
    ),
    in_service=st.sets(st.sampled_from(PROFILES)).map(
        lambda chosen: tuple(InService(profile=profile, from_day=FIRST) for profile in sorted(chosen))
    ),
    decisions=st.lists(decisions(), max_size=8).map(tuple),
    suspensions=st.lists(measures(), max_size=1).map(tuple),
    withdrawals=st.lists(measures(), max_size=1).map(tuple),
    pauses=st.lists(spans().map(lambda span: Pause(from_day=span[0], until_day=span[1])), max_size=1).map(tuple),
    restrictions=st.lists(
        spans().map(lambda span: Restriction(conditions="by day", from_day=span[0], until_day=span[1])), max_size=1
    ).map(tuple),
)


@given(RECORDS, OFFSETS)
def test_what_stands_first_is_said_and_every_report_is_whole(record, offset):
    report = standing(record, noon(offset), ZONE)
    assert report.sentence.endswith(".")
    assert len(report.rows) == len(record.required) * len(report.by_revision)
    ranks = [PRECEDENCE.index(one.standing) for one in report.by_revision]
    assert PRECEDENCE.index(report.standing) == min(ranks, default=PRECEDENCE.index(report.standing))


@given(RECORDS, OFFSETS)
def test_current_means_every_required_competency_in_date_on_every_revision(record, offset):
    report = standing(record, noon(offset), ZONE)
    in_date = bool(report.rows) and all(row.standing.is_in_date for row in report.rows)
    assert not report.standing.is_in_date or in_date
    if report.standing is PersonStanding.CURRENT:
        assert all(row.days_left is not None and row.days_left > 60 for row in report.rows)
    if report.standing is PersonStanding.LAPSING:
        assert min(row.days_left for row in report.rows if row.days_left is not None) <= 60


@given(RECORDS, OFFSETS)
def test_each_measure_stands_in_its_place(record, offset):
    plain = replace(record, suspensions=(), withdrawals=(), pauses=(), restrictions=())
    day = FIRST + timedelta(days=offset)
    suspended = (Measure(from_at=noon(0)),)
    paused = (Pause(from_day=day, until_day=day),)
    minute = noon(offset)
    with_pause = replace(plain, pauses=paused)
    with_suspension = replace(with_pause, suspensions=suspended)
    with_withdrawal = replace(with_suspension, withdrawals=suspended)
    assert standing(with_pause, minute, ZONE).standing is PersonStanding.PAUSED
    assert standing(with_suspension, minute, ZONE).standing is PersonStanding.SUSPENDED
    assert standing(with_withdrawal, minute, ZONE).standing is PersonStanding.WITHDRAWN


@given(RECORDS, OFFSETS, st.randoms(use_true_random=False))
def test_the_order_of_the_record_changes_nothing(record, offset, shuffler):
    turned = list(record.decisions)
    shuffler.shuffle(turned)
    here, there = (standing(one, noon(offset), ZONE) for one in (record, replace(record, decisions=tuple(turned))))
    assert here == there


@given(RECORDS, st.integers(0, 800), st.integers(0, 800))
def test_once_lapsed_a_competency_never_comes_back_by_itself(record, one, other):
    earlier, later = noon(min(one, other)), noon(max(one, other))
    known = replace(
        record,
        decisions=tuple(item for item in record.decisions if item.decided_at <= earlier),
        suspensions=(),
        withdrawals=(),
    )
    before, after = standing(known, earlier, ZONE), standing(known, later, ZONE)
    for row, row_later in zip(before.rows, after.rows, strict=True):
        if row.standing is CompetencyStanding.LAPSED:
            assert row_later.standing is CompetencyStanding.LAPSED
        if row_later.standing.is_in_date:
            assert row.standing.is_in_date


@given(RECORDS, OFFSETS)
def test_time_alone_makes_only_the_moves_that_time_may_make(record, offset):
    minute = noon(offset)
    known = replace(
        record,
        decisions=tuple(item for item in record.decisions if item.decided_at <= minute),
        restrictions=tuple(item for item in record.restrictions if item.holds_on(minute.date())),
        pauses=tuple(item for item in record.pauses if item.holds_on(minute.date())),
        suspensions=(),
        withdrawals=(),
    )
    before = standing(known, minute, ZONE).standing
    for days in range(1, 130):
        after = standing(known, minute + timedelta(days=days), ZONE).standing
        assert before is after or StandingAct.TIME_PASSES in acts_that_move(before, after)
        before = after


@given(RECORDS, decisions(), OFFSETS)
def test_a_decision_makes_only_the_moves_a_decision_may_make(record, new, offset):
    assume(new.valid_from <= FIRST + timedelta(days=offset))
    before = standing(record, noon(offset), ZONE).standing
    after = standing(replace(record, decisions=(*record.decisions, new)), noon(offset), ZONE).standing
    assert before is after or StandingAct.DECIDE in acts_that_move(before, after)


def back_on(pause: Pause, day: date) -> Pause:
    """End a leave that holds on a day, which is the first day back."""
    return replace(pause, until_day=day - timedelta(days=1)) if pause.holds_on(day) else pause


@given(RECORDS, OFFSETS, st.data())
def test_a_void_a_pause_and_a_measure_make_only_their_own_moves(record, offset, data):
    minute, day = noon(offset), FIRST + timedelta(days=offset)
    before = standing(record, minute, ZONE).standing
    measure = Measure(from_at=minute, competency=data.draw(st.sampled_from([None, *CODES])))
    changed = {
        StandingAct.RESTRICT: replace(
            record, restrictions=(*record.restrictions, Restriction(conditions="by day", from_day=day, until_day=day))
        ),
        StandingAct.PAUSE: replace(record, pauses=(*record.pauses, Pause(from_day=day))),
        StandingAct.SUSPEND: replace(record, suspensions=(*record.suspensions, measure)),
        StandingAct.WITHDRAW: replace(record, withdrawals=(*record.withdrawals, measure)),
        StandingAct.END_RESTRICTION: replace(record, restrictions=()),
        StandingAct.LIFT_WITHDRAWAL: replace(record, withdrawals=()),
        StandingAct.END_PAUSE: replace(record, pauses=tuple(back_on(one, day) for one in record.pauses)),
        StandingAct.COMPLETE_RETURN: replace(
            record, pauses=tuple(replace(one, return_completed_on=day) for one in record.pauses)
        ),
        StandingAct.LEAVE: replace(record, endings=(minute,)),
        StandingAct.LIFT_SUSPENSION: replace(record, suspensions=()),
    }
    if record.decisions:
        place = data.draw(st.integers(0, len(record.decisions) - 1))
        void = replace(record.decisions[place], voided_at=minute)
        decisions = (*record.decisions[:place], void, *record.decisions[place + 1 :])
        changed[StandingAct.VOID] = replace(record, decisions=decisions)
    for act, after in ((act, standing(one, minute, ZONE).standing) for act, one in changed.items()):
        assert before is after or act in acts_that_move(before, after)


@pytest.mark.parametrize("shorter_first", [True, False])
def test_of_two_decisions_at_one_instant_the_shorter_one_holds(shorter_first):
    both = [
        Decision(
            reference="d1",
            competency="C1",
            profile=PROFILES[0],
            outcome=Outcome.COMPETENT,
            decided_at=noon(0),
            valid_from=FIRST,
            last_valid_day=FIRST + timedelta(days=days),
        )
        for days in (10, 20)
    ]
    record = StandingRecord(
        required=(RequiredCompetency(code="C1", is_critical=True),),
        in_service=(InService(profile=PROFILES[0], from_day=FIRST),),
        decisions=tuple(both if shorter_first else reversed(both)),
    )
    assert standing(record, noon(1), ZONE).soonest_end == FIRST + timedelta(days=10)


def test_everything_but_time_names_who_may_cause_it():
    assert {act for act, allowed in MOVES_BY.items() if not allowed.roles} == {StandingAct.TIME_PASSES}
    assert set(MOVES_BY) == set(StandingAct)
    assert {act for act, allowed in MOVES_BY.items() if allowed.needs_two} == {
        StandingAct.VOID, StandingAct.LIFT_WITHDRAWAL,
    }  # fmt: skip
