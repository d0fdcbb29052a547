"""Long leave stops the clock: the first day back counts as the first day away would have.

Leave is long when it is longer than three months (suggested; published: source S19 draws the line there). Shorter
leave moves no day. After long leave a person works with a current colleague until the return is complete.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import date, timedelta

from quizapp.assessment.standing_record import Decision, Outcome, Pause
from quizapp.assessment.validity import add_months

LONG_LEAVE_MONTHS = 3
RETURN_CONDITIONS = "Back from long leave: works with a current colleague until the return is complete"


def is_long(from_day: date, until_day: date | None) -> bool:
    """Whether leave from one day until another, both inclusive, is longer than three months; open leave is.

    From 1 January to 31 March is three months and not long; to 1 April it is.
    """
    return until_day is None or until_day >= add_months(from_day, LONG_LEAVE_MONTHS)


def on_the_clock(decision: Decision, pauses: Iterable[Pause], day: date) -> Decision:
    """Give the decision with its last valid day moved by the days of long leave up to and including `day`.

    Only days count on which the sign-off held; a restriction keeps its end. Days covered twice count once.
    """
    last_day = decision.last_valid_day
    if last_day is None or decision.outcome is not Outcome.COMPETENT:
        return decision
    counted_until = decision.valid_from - timedelta(days=1)
    for pause in sorted(pauses, key=lambda one: one.from_day):
        if not is_long(pause.from_day, pause.until_day):
            continue
        first = max(pause.from_day, counted_until + timedelta(days=1))
        through = min(pause.until_day or day, day)
        if first > last_day or first > through:
            continue
        last_day += through - first + timedelta(days=1)
        counted_until = through
    return decision if last_day == decision.last_valid_day else replace(decision, last_valid_day=last_day)


def last_day_at_last(decision: Decision, pauses: Iterable[Pause]) -> date | None:
    """Give the last valid day once all leave with a known end is over; open leave is left out."""
    known = [pause for pause in pauses if pause.until_day is not None]
    ends = [pause.until_day for pause in known if pause.until_day is not None]
    return on_the_clock(decision, known, max(ends, default=decision.valid_from)).last_valid_day


def awaits_return(pauses: Iterable[Pause], day: date) -> date | None:
    """Give the first day back of long leave whose return is not complete on `day`, None where there is none.

    Leaves that follow each other without a day between them are one leave. A return recorded as complete after it
    ends the waiting.
    """
    found = None
    for from_day, until_day, completed_on in _spans(pauses):
        if until_day is None or until_day >= day or not is_long(from_day, until_day):
            continue
        if completed_on is None or day < completed_on:
            found = until_day + timedelta(days=1)
    return found


def _spans(pauses: Iterable[Pause]) -> list[tuple[date, date | None, date | None]]:
    """Join leaves that touch or overlap; each span has the completion of its last leave."""
    spans: list[tuple[date, date | None, date | None]] = []
    for pause in sorted(pauses, key=lambda one: (one.from_day, one.until_day or date.max)):
        if spans and (spans[-1][1] is None or pause.from_day <= spans[-1][1] + timedelta(days=1)):
            first, last, completed = spans[-1]
            is_later = last is not None and (pause.until_day is None or pause.until_day > last)
            spans[-1] = (first, pause.until_day, pause.return_completed_on) if is_later else (first, last, completed)
        else:
            spans.append((pause.from_day, pause.until_day, pause.return_completed_on))
    return spans
