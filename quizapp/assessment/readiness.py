"""How ready a base is: who is current, who lapses next, and the smallest thing that keeps it from happening.

Counts are said as k of n, never as a share: at a base of sixteen a percentage hides more than it tells.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from math import sqrt

from quizapp.assessment.dates import day_in_words
from quizapp.assessment.standing import StandingReport
from quizapp.assessment.standing_record import PRECEDENCE, PersonStanding, ProfileRevision
from quizapp.assessment.standing_words import CompetencyRow, NextStep, NextWhat
from quizapp.assessment.validity import days_left
from quizapp.psychometrics.poisson_binomial import chance_of_at_least, count_variance, expected_count

WINDOWS_DAYS = (30, 60, 90)


@dataclass(frozen=True, kw_only=True)
class PersonHere:
    """One person of the base with the report of their standing."""

    person_id: str
    name: str
    report: StandingReport


@dataclass(frozen=True, kw_only=True)
class CompetencyCount:
    """How many of the people are in date in one competency on one revision, and how many of those end soon."""

    competency: str
    profile: ProfileRevision
    in_date: int
    people: int
    ending_in_90_days: int

    @property
    def words(self) -> str:
        """The count as people say it."""
        return f"{self.in_date} of {self.people}"


@dataclass(frozen=True, kw_only=True)
class LapseAhead:
    """Somebody who is current and whose first last valid day comes within 90 days.

    `next_step` is the smallest act that keeps the person current past that day; `ending` counts the competencies
    that end within the 90 days.
    """

    person_id: str
    name: str
    last_valid_day: date
    days_left: int
    ending: int
    next_step: NextStep


@dataclass(frozen=True, kw_only=True)
class NotInDate:
    """Somebody who is not current now, how they stand, and the next thing to do."""

    person_id: str
    name: str
    standing: PersonStanding
    sentence: str
    next_step: NextStep


@dataclass(frozen=True, kw_only=True)
class Readiness:
    """A base on one day. `ending_within` holds for 30, 60 and 90 days how many now current people end by then."""

    day: date
    people: int
    in_date: int
    counts: Mapping[PersonStanding, int]
    ending_within: Mapping[int, int]
    competencies: tuple[CompetencyCount, ...]
    ahead: tuple[LapseAhead, ...]
    not_in_date: tuple[NotInDate, ...]
    headline: str


def readiness(people: Sequence[PersonHere], day: date) -> Readiness:
    """Count a base on a civil day of the service's zone, the soonest lapse first.

    Every report in `people` is of that day; raises ValueError otherwise, since counts of two days say nothing.
    """
    if any(person.report.day != day for person in people):
        raise ValueError(f"a report of another day than {day} cannot be counted")
    ahead = sorted(
        (one for person in people if (one := _lapse_ahead(person, day)) is not None),
        key=lambda one: (one.last_valid_day, one.ending, one.name, one.person_id),
    )
    counts = {standing: sum(person.report.standing is standing for person in people) for standing in PersonStanding}
    ending = {days: sum(one.days_left <= days for one in ahead) for days in WINDOWS_DAYS}
    in_date = sum(person.report.standing.is_in_date for person in people)
    return Readiness(
        day=day,
        people=len(people),
        in_date=in_date,
        counts=counts,
        ending_within=ending,
        competencies=_competency_counts(people),
        ahead=tuple(ahead),
        not_in_date=_not_in_date(people),
        headline=_headline(len(people), in_date, counts, ahead),
    )


def _lapse_ahead(person: PersonHere, day: date) -> LapseAhead | None:
    """Give the lapse that is ahead of a current person within 90 days, or None."""
    ends = [
        (row.last_valid_day, not row.is_critical, row.competency, row.profile)
        for row in person.report.rows
        if row.last_valid_day is not None and days_left(row.last_valid_day, day) <= max(WINDOWS_DAYS)
    ]
    if not person.report.standing.is_in_date or not ends:
        return None
    last_day, _, competency, profile = min(ends)
    return LapseAhead(
        person_id=person.person_id,
        name=person.name,
        last_valid_day=last_day,
        days_left=days_left(last_day, day),
        ending=len(ends),
        next_step=NextStep(what=NextWhat.RENEW, competency=competency, profile=profile, by_day=last_day),
    )


def _competency_counts(people: Sequence[PersonHere]) -> tuple[CompetencyCount, ...]:
    """Count each competency and revision over those of whom it is required, in the order first met."""
    grouped: dict[tuple[str, ProfileRevision], list[CompetencyRow]] = {}
    for person in people:
        for row in person.report.rows:
            grouped.setdefault((row.competency, row.profile), []).append(row)
    counted = []
    for (competency, profile), rows in grouped.items():
        in_date = [row for row in rows if row.standing.is_in_date]
        soon = [row for row in in_date if row.days_left is not None and row.days_left <= max(WINDOWS_DAYS)]
        counted.append(
            CompetencyCount(
                competency=competency,
                profile=profile,
                in_date=len(in_date),
                people=len(rows),
                ending_in_90_days=len(soon),
            )
        )
    return tuple(counted)


def _not_in_date(people: Sequence[PersonHere]) -> tuple[NotInDate, ...]:
    """List who is not current: what an act here can mend first, then who is away, suspended or withdrawn."""
    mendable = (PersonStanding.LAPSED, PersonStanding.RESTRICTED, PersonStanding.NOT_YET_SIGNED_OFF)
    found = [person for person in people if not person.report.standing.is_in_date]
    found.sort(
        key=lambda person: (
            person.report.standing not in mendable,
            PRECEDENCE.index(person.report.standing),
            person.name,
            person.person_id,
        )
    )
    return tuple(
        NotInDate(
            person_id=person.person_id,
            name=person.name,
            standing=person.report.standing,
            sentence=person.report.sentence,
            next_step=person.report.next_step,
        )
        for person in found
    )


def _headline(people: int, in_date: int, counts: Mapping[PersonStanding, int], ahead: Sequence[LapseAhead]) -> str:
    """Say in one or two plain sentences how the base stands."""
    if not people:
        return "Nobody belongs to this base yet."
    rest = [f"{counts[standing]} {standing.words}" for standing in PRECEDENCE if not standing.is_in_date]
    others = ", ".join(one for one in rest if not one.startswith("0 "))
    said = f"{in_date} of {people} {'is' if in_date == 1 else 'are'} current{f'; {others}' if others else ''}."
    if not ahead:
        return f"{said} Nobody's last valid day comes within {max(WINDOWS_DAYS)} days."
    window = next(days for days in WINDOWS_DAYS if ahead[0].days_left <= days)
    number = sum(one.days_left <= window for one in ahead)
    verb = "stops" if number == 1 else "stop"
    first = day_in_words(ahead[0].last_valid_day)
    return f"{said} {number} {verb} being current within {window} days unless renewed, the first after {first}."


@dataclass(frozen=True, kw_only=True)
class Outlook:
    """What is known of one person's future: the first last valid day, and a booked renewal with its chance.

    `last_valid_day` None: not current now. `booked_on` None: nothing booked. `pass_fraction` 0 to 1.
    """

    last_valid_day: date | None
    booked_on: date | None = None
    pass_fraction: float = 0.0

    def current_on(self, day: date) -> float:
        """Give the chance, 0 to 1, that the person is current on a day."""
        if self.last_valid_day is not None and day <= self.last_valid_day:
            return 1.0
        return self.pass_fraction if self.booked_on is not None and self.booked_on <= day else 0.0


@dataclass(frozen=True, kw_only=True)
class Forecast:
    """How many will be current on a day: sure ones, the mean with its spread, and the chance of enough.

    `rests_on_guesses`: a chance of passing was used, which nothing here has calibrated; say so beside the number.
    """

    day: date
    people: int
    sure: int
    expected: float
    standard_deviation: float
    needed: int
    enough_fraction: float
    rests_on_guesses: bool


def forecast(outlooks: Sequence[Outlook], day: date, needed: int) -> Forecast:
    """Forecast the number of people current on a day and the chance that at least `needed` are.

    People are taken as independent, which is optimistic when all were trained on one day. A renewed sign-off is
    taken to last past `day`. Source: Poisson-binomial distribution.
    """
    chances = [one.current_on(day) for one in outlooks]
    return Forecast(
        day=day,
        people=len(chances),
        sure=sum(chance == 1.0 for chance in chances),
        expected=expected_count(chances),
        standard_deviation=sqrt(count_variance(chances)),
        needed=needed,
        enough_fraction=chance_of_at_least(needed, chances),
        rests_on_guesses=any(0.0 < chance < 1.0 for chance in chances),
    )
