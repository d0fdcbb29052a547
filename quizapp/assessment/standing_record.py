"""What standing is worked out from: decisions, suspensions, withdrawals, pauses, restrictions, devices in service."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum


class CompetencyStanding(StrEnum):
    """How a person stands in one competency on one device revision."""

    NOT_YET_SIGNED_OFF = "not_yet_signed_off"
    CURRENT = "current"
    LAPSING = "lapsing"
    LAPSED = "lapsed"
    SUSPENDED = "suspended"
    WITHDRAWN = "withdrawn"

    @property
    def words(self) -> str:
        """The standing as people say it."""
        return self.value.replace("_", " ")

    @property
    def is_in_date(self) -> bool:
        """Whether the person may be counted on for this competency now."""
        return self in {CompetencyStanding.CURRENT, CompetencyStanding.LAPSING}


class PersonStanding(StrEnum):
    """The one word that says how a person stands now."""

    CURRENT = "current"
    LAPSING = "lapsing"
    RESTRICTED = "restricted"
    PAUSED = "paused"
    LAPSED = "lapsed"
    SUSPENDED = "suspended"
    WITHDRAWN = "withdrawn"
    NOT_YET_SIGNED_OFF = "not_yet_signed_off"

    @property
    def words(self) -> str:
        """The standing as people say it."""
        return self.value.replace("_", " ")

    @property
    def is_in_date(self) -> bool:
        """Whether the person counts as current; a lapsing person does until the last valid day is over."""
        return self in {PersonStanding.CURRENT, PersonStanding.LAPSING}


PRECEDENCE: tuple[PersonStanding, ...] = (
    PersonStanding.WITHDRAWN,
    PersonStanding.SUSPENDED,
    PersonStanding.PAUSED,
    PersonStanding.LAPSED,
    PersonStanding.RESTRICTED,
    PersonStanding.NOT_YET_SIGNED_OFF,
    PersonStanding.LAPSING,
    PersonStanding.CURRENT,
)
"""Of several standings that hold at once, the first of these is the one that is said."""


def first_by_precedence(standings: Iterable[PersonStanding]) -> PersonStanding:
    """Give the standing that stands before all others; raises ValueError when there is none."""
    return min(standings, key=PRECEDENCE.index)


class Outcome(StrEnum):
    """What an educator decides about one competency."""

    COMPETENT = "competent"
    NOT_YET = "not_yet"
    RESTRICTED = "restricted"


@dataclass(frozen=True, kw_only=True, order=True)
class ProfileRevision:
    """One revision of a device profile, as in "TV-A revision 2"."""

    code: str
    revision: int

    def __str__(self) -> str:
        return f"{self.code} revision {self.revision}"


@dataclass(frozen=True, kw_only=True)
class InService:
    """A profile revision in service at the base, from one day until another, both inclusive (None: still)."""

    profile: ProfileRevision
    from_day: date
    until_day: date | None = None

    def is_on(self, day: date) -> bool:
        """Whether the revision is in service on a civil day of the service's zone."""
        return self.from_day <= day and (self.until_day is None or day <= self.until_day)


@dataclass(frozen=True, kw_only=True)
class RequiredCompetency:
    """A competency the standard requires for the person's role."""

    code: str
    title: str = ""
    is_critical: bool


@dataclass(frozen=True, kw_only=True)
class Decision:
    """One signed decision on one competency and one profile revision.

    `last_valid_day` is inclusive; "not yet" has none. A restricted decision carries its conditions, and its last
    valid day is the end of the restriction. `decided_at` and `voided_at` are aware UTC times.
    """

    reference: str
    competency: str
    profile: ProfileRevision
    outcome: Outcome
    decided_at: datetime
    valid_from: date
    last_valid_day: date | None = None
    conditions: str = ""
    voided_at: datetime | None = None

    def __post_init__(self) -> None:
        if self.outcome is Outcome.NOT_YET:
            return
        if self.last_valid_day is None or self.last_valid_day < self.valid_from:
            raise ValueError(f"decision {self.reference} needs a last valid day on or after {self.valid_from}")
        if self.outcome is Outcome.RESTRICTED and not self.conditions:
            raise ValueError(f"decision {self.reference} restricts but names no conditions")

    def stands_at(self, minute_utc: datetime, day: date) -> bool:
        """Whether the decision had been made, had begun and was not void at that minute."""
        is_void = self.voided_at is not None and self.voided_at <= minute_utc
        return self.decided_at <= minute_utc and self.valid_from <= day and not is_void


@dataclass(frozen=True, kw_only=True)
class Measure:
    """A suspension or withdrawal from one minute until another (None: until an educator ends it).

    `competency` None concerns the whole person. Times are aware UTC; the end itself is no longer inside.
    """

    from_at: datetime
    until_at: datetime | None = None
    competency: str | None = None
    reason: str = ""

    def holds_at(self, minute_utc: datetime) -> bool:
        """Whether the measure holds at that minute."""
        return self.from_at <= minute_utc and (self.until_at is None or minute_utc < self.until_at)


@dataclass(frozen=True, kw_only=True)
class Pause:
    """Leave, from one day until another, both inclusive (None: open). Long leave stops the clock (see `leave`).

    `return_completed_on`: the day from which somebody recorded the return from it as complete.
    """

    from_day: date
    until_day: date | None = None
    return_completed_on: date | None = None

    def holds_on(self, day: date) -> bool:
        """Whether the person is on leave on a civil day of the service's zone."""
        return self.from_day <= day and (self.until_day is None or day <= self.until_day)


@dataclass(frozen=True, kw_only=True)
class Restriction:
    """An educator's decision about the whole person, with conditions and an end day, inclusive.

    Also the provisional standing of a newcomer or locum: works with a current colleague.
    """

    conditions: str
    from_day: date
    until_day: date

    def holds_on(self, day: date) -> bool:
        """Whether the restriction holds on a civil day of the service's zone."""
        return self.from_day <= day <= self.until_day


@dataclass(frozen=True, kw_only=True)
class StandingRecord:
    """Everything the standing of one person at one base is worked out from.

    `endings` are moments (aware UTC) at which the person left or an engagement ended: no decision from before holds.
    `in_service` names the profile revisions of that base; `required` what the standard requires for the role.
    """

    required: tuple[RequiredCompetency, ...]
    in_service: tuple[InService, ...]
    decisions: tuple[Decision, ...] = ()
    suspensions: tuple[Measure, ...] = ()
    withdrawals: tuple[Measure, ...] = ()
    pauses: tuple[Pause, ...] = ()
    restrictions: tuple[Restriction, ...] = ()
    endings: tuple[datetime, ...] = ()
