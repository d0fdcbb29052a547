"""Cover of a shift minute by minute, checked against counting every minute; nights, handovers, changes of the clock."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as some

from quizapp.assessment.shift_answers import (
    AlertCause,
    Answer,
    AnswerKind,
    has_worsened,
    rest_between,
    situation,
)
from quizapp.assessment.shift_cover import CoverState, Span, cover, is_stale, joined_spans

ZONE = ZoneInfo("Europe/London")
START = datetime(2026, 3, 6, 19, 0, tzinfo=UTC)


def span(start_min: int, end_min: int) -> Span:
    return Span(START + timedelta(minutes=start_min), START + timedelta(minutes=end_min))


SHIFT = span(0, 720)


@pytest.mark.parametrize(
    ("current", "state", "fewest", "gaps"),
    [
        ([], CoverState.NONE, 0, (SHIFT,)),
        ([SHIFT], CoverState.THIN, 1, ()),
        ([SHIFT, SHIFT], CoverState.COVERED, 2, ()),
        ([span(-60, 300), span(300, 800)], CoverState.THIN, 1, ()),
        ([span(0, 300), span(301, 720)], CoverState.NONE, 0, (span(300, 301),)),
        ([span(0, 300)], CoverState.NONE, 0, (span(300, 720),)),
        ([span(60, 120), span(120, 240), span(700, 720)], CoverState.NONE, 0, (span(0, 60), span(240, 700))),
        ([span(-500, 0), span(720, 900)], CoverState.NONE, 0, (SHIFT,)),
        ([SHIFT, span(0, 719)], CoverState.THIN, 1, ()),
    ],
)
def test_cover_by_hand(current: list[Span], state: CoverState, fewest: int, gaps: tuple[Span, ...]) -> None:
    found = cover(SHIFT, current)
    assert (found.state, found.fewest, found.gaps) == (state, fewest, gaps)


@given(some.lists(some.tuples(some.integers(-5, 25), some.integers(1, 15)), max_size=6))
def test_cover_is_what_counting_every_minute_gives(parts: list[tuple[int, int]]) -> None:
    shift = span(0, 20)
    found = cover(shift, [span(start, start + length) for start, length in parts])
    counts = [sum(start <= minute < start + length for start, length in parts) for minute in range(20)]
    empty = {minute for minute in range(20) if counts[minute] == 0}
    in_gaps = {minute for minute in range(20) for gap in found.gaps if gap.start <= span(minute, 99).start < gap.end}
    assert found.fewest == min(counts)
    assert in_gaps == empty


def test_a_shift_that_ends_before_it_starts_is_refused() -> None:
    with pytest.raises(ValueError, match="ends after it starts"):
        cover(Span(START, START), [])


def test_spans_that_touch_are_one() -> None:
    assert joined_spans([span(5, 9), span(0, 5), span(20, 30), span(22, 25)]) == (span(0, 9), span(20, 30))


def test_what_answers_close() -> None:
    hole = cover(SHIFT, [span(0, 300)])
    assert situation(hole, []).open_gaps == (span(300, 720),)
    assert situation(hole, [Answer(kind=AnswerKind.BRING_ASSESSOR)]).needs_somebody
    until = span(0, 500).end
    restricted = situation(hole, [Answer(kind=AnswerKind.RESTRICT_DEVICE, ends_at=until)])
    assert (restricted.open_gaps, restricted.is_answered) == ((span(500, 720),), True)
    whole = situation(hole, [Answer(kind=AnswerKind.RESTRICT_DEVICE, ends_at=SHIFT.end)])
    assert (whole.needs_somebody, whole.is_answered) == (False, True)
    accepted = situation(hole, [Answer(kind=AnswerKind.ACCEPT)])
    assert (accepted.needs_somebody, accepted.is_answered) == (False, True)
    assert not situation(cover(SHIFT, [SHIFT]), [Answer(kind=AnswerKind.ACCEPT)]).is_answered


def test_only_a_loss_of_the_last_one_is_an_alert() -> None:
    states = list(CoverState)
    worse = [(a, b) for a in states for b in states if has_worsened(a, b)]
    assert worse == [(CoverState.COVERED, CoverState.NONE), (CoverState.THIN, CoverState.NONE)]
    assert {cause.words for cause in AlertCause} == {
        "a change of the crews", "a lapse or another change in what people hold",
    }  # fmt: skip
    assert [state.words for state in states] == ["covered", "thin: one current", "nobody current"]


def test_rest_between_shifts() -> None:
    assert rest_between(SHIFT, span(1380, 2100)) == timedelta(hours=11)
    assert rest_between(span(1380, 2100), SHIFT) == timedelta(hours=11)
    assert rest_between(SHIFT, span(719, 2100)) is None
    assert rest_between(SHIFT, span(720, 2100)) == timedelta()


def test_a_roster_grows_stale_after_four_weeks() -> None:
    now = datetime(2026, 3, 30, 9, 0, tzinfo=UTC)
    assert not is_stale(now - timedelta(days=28), now)
    assert is_stale(now - timedelta(days=28, seconds=1), now)


def test_the_night_of_the_change_has_an_hour_less_or_more() -> None:
    """Clocks go forward on 29 March and back on 25 October 2026 in the United Kingdom (IANA rules)."""
    for day, hours in ((date(2026, 3, 28), 11), (date(2026, 10, 24), 13)):
        start = datetime(day.year, day.month, day.day, 19, 0, tzinfo=ZONE).astimezone(UTC)
        end = datetime(day.year, day.month, day.day + 1, 7, 0, tzinfo=ZONE).astimezone(UTC)
        assert end - start == timedelta(hours=hours)
        assert cover(Span(start, end), [Span(start, end - timedelta(minutes=1))]).gaps == (
            Span(end - timedelta(minutes=1), end),
        )
