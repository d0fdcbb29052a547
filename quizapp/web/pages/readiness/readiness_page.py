"""What the readiness page shows, laid out for its template."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from quizapp.assessment.readiness import WINDOWS_DAYS, LapseAhead, NotInDate
from quizapp.assessment.standing import NextStep, NextWhat, PersonStanding
from quizapp.content.library import Library
from quizapp.services.base_readiness import BaseReadiness
from quizapp.web.components import Axis, countdown_axis


@dataclass(frozen=True, kw_only=True)
class ShownReadiness:
    """The finding, then lists and counts in the order in which they are shown."""

    finding: str
    lede: str
    groups: list[tuple[str, list[dict[str, Any]]]]
    axis: Axis
    not_in_date: list[dict[str, Any]]
    heads: list[tuple[str, int]]
    competencies: list[dict[str, Any]]


def shown_readiness(page: BaseReadiness, library: Library) -> ShownReadiness:
    """Lay out a base: who lapses within 30, 60, 90 days, who is not current, the head count, the competencies."""
    found = page.readiness
    finding, _, rest = found.headline.partition(". ")
    return ShownReadiness(
        finding=f"{finding.rstrip('.')}.",
        lede=rest,
        groups=_groups(found.ahead),
        axis=countdown_axis(),
        not_in_date=[_not_in_date(one) for one in found.not_in_date],
        heads=[(standing.value, found.counts[standing]) for standing in _ORDER if found.counts[standing]],
        competencies=[
            {
                "code": one.competency,
                "title": library.competencies[one.competency].title if one.competency in library.competencies else "",
                "device": str(one.profile),
                "words": one.words,
                "in_date": one.in_date,
                "people": one.people,
                "ending": one.ending_in_90_days,
            }
            for one in found.competencies
        ],
    )


_ORDER = (
    PersonStanding.CURRENT,
    PersonStanding.LAPSING,
    PersonStanding.RESTRICTED,
    PersonStanding.PAUSED,
    PersonStanding.LAPSED,
    PersonStanding.SUSPENDED,
    PersonStanding.WITHDRAWN,
    PersonStanding.NOT_YET_SIGNED_OFF,
)


def _groups(ahead: tuple[LapseAhead, ...]) -> list[tuple[str, list[dict[str, Any]]]]:
    groups, start = [], -1
    for days in WINDOWS_DAYS:
        rows = [_ahead(one) for one in ahead if start < one.days_left <= days]
        if rows:
            groups.append((f"Within {days} days", rows))
        start = days
    return groups


def _ahead(one: LapseAhead) -> dict[str, Any]:
    many = one.ending > 1
    note = f"{one.ending} competencies end" if many else "1 competency ends"
    fix = f"Renew {one.ending} competencies in one round." if many else step_words(one.next_step)
    return {"name": one.name, "note": note, "days": one.days_left, "fix": fix}


def _not_in_date(one: NotInDate) -> dict[str, Any]:
    return {
        "name": one.name,
        "standing": one.standing.value,
        "sentence": one.sentence,
        "fix": step_words(one.next_step),
    }


def step_words(step: NextStep) -> str:
    """Say the smallest next act in a few words."""
    about = f" {step.competency}" if step.competency else ""
    return {
        NextWhat.NOTHING: "Nothing to do.",
        NextWhat.RENEW: f"Renew{about}.",
        NextWhat.SHOW: f"Show{about}.",
        NextWhat.MEET_CONDITIONS: f"Meet the conditions in{about}.",
        NextWhat.COME_BACK: "Comes back from leave.",
        NextWhat.SPEAK_TO_EDUCATOR: "Educator to speak with them.",
    }[step.what]
