"""What the page of all bases shows: counts of people, by name of the base, never a ranking."""

from __future__ import annotations

from typing import Any

from quizapp.assessment.standing_record import PersonStanding
from quizapp.services.whole_readiness import WholeReadiness

OTHERS = (
    PersonStanding.RESTRICTED,
    PersonStanding.PAUSED,
    PersonStanding.LAPSED,
    PersonStanding.SUSPENDED,
    PersonStanding.WITHDRAWN,
    PersonStanding.NOT_YET_SIGNED_OFF,
)


def whole_finding(page: WholeReadiness) -> str:
    """Say in one sentence how many of all are current."""
    people = sum(count.people for _, count in page.bases)
    in_date = sum(count.in_date for _, count in page.bases)
    where = f"{len(page.bases)} base{'s' if len(page.bases) != 1 else ''}"
    return f"{in_date} of {people} at {where} {'is' if in_date == 1 else 'are'} current."


def whole_rows(page: WholeReadiness) -> list[dict[str, Any]]:
    """Return a row for each base; how others stand is said in words."""
    return [
        {
            "id": base.id,
            "name": base.name,
            "words": f"{count.in_date} of {count.people}",
            "ending": [count.ending_within[days] for days in sorted(count.ending_within)],
            "others": ", ".join(f"{count.standings[one]} {one.words}" for one in OTHERS if count.standings[one]),
        }
        for base, count in page.bases
    ]
