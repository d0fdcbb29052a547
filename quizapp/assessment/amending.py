"""What an amended version of a decision may say: it corrects, it never adds time and never lifts anybody."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from quizapp.assessment.dates import day_in_words
from quizapp.assessment.standing_record import Outcome

SHORTEST_CONDITIONS = 10


@dataclass(frozen=True, kw_only=True)
class Decided:
    """What one version of a decision says; "not yet" has no last valid day."""

    outcome: Outcome
    valid_from: date
    last_valid_day: date | None
    conditions: str
    reason: str


@dataclass(frozen=True, kw_only=True)
class AmendmentFault:
    """Why an amendment cannot be: the field and a sentence."""

    field: str
    message: str


_MAY_BECOME = {
    Outcome.COMPETENT: (Outcome.COMPETENT, Outcome.RESTRICTED, Outcome.NOT_YET),
    Outcome.RESTRICTED: (Outcome.RESTRICTED, Outcome.NOT_YET),
    Outcome.NOT_YET: (Outcome.NOT_YET,),
}


def amended_outcomes(before: Outcome) -> tuple[Outcome, ...]:
    """Give what a decision may become by amending it: the same, or less."""
    return _MAY_BECOME[before]


def amendment_fault(before: Decided, after: Decided) -> AmendmentFault | None:
    """Give the reason why one version may not follow the other, None where it may.

    More than was decided is a new decision on new evidence; a "not yet" turned round needs two people there.
    """
    if after.outcome not in amended_outcomes(before.outcome):
        message = "An amendment never says more than the decision did. Decide anew on the evidence instead."
        return AmendmentFault(field="outcome", message=message)
    if after.outcome is Outcome.RESTRICTED and len(after.conditions.strip()) < SHORTEST_CONDITIONS:
        message = "Say under which conditions, for example: works with a current colleague."
        return AmendmentFault(field="conditions", message=message)
    if after.outcome is not Outcome.NOT_YET:
        return _day_fault(before, after)
    return _sameness(before, after)


def _day_fault(before: Decided, after: Decided) -> AmendmentFault | None:
    latest = before.last_valid_day
    if latest is None or after.last_valid_day is None or not before.valid_from <= after.last_valid_day <= latest:
        until = day_in_words(latest) if latest else "never"
        message = f"The last valid day lies between {day_in_words(before.valid_from)} and {until}; time is never added."
        return AmendmentFault(field="last_valid_day", message=message)
    return _sameness(before, after)


def _sameness(before: Decided, after: Decided) -> AmendmentFault | None:
    said = (after.outcome, after.last_valid_day, after.conditions.strip(), after.reason.strip())
    if said == (before.outcome, before.last_valid_day, before.conditions.strip(), before.reason.strip()):
        return AmendmentFault(field="reason", message="This says what the decision says already. Change what is wrong.")
    return None
