"""What a standing says: one row a competency, one plain sentence, and the next thing to do."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum
from zoneinfo import ZoneInfo

from quizapp.assessment.dates import day_in_words, local_day
from quizapp.assessment.leave import RETURN_CONDITIONS, awaits_return
from quizapp.assessment.standing_record import (
    CompetencyStanding,
    Measure,
    PersonStanding,
    ProfileRevision,
    StandingRecord,
)


@dataclass(frozen=True, kw_only=True)
class CompetencyRow:
    """One required competency on one revision in service: state, until when, and why.

    `days_left` is 0 on the last valid day and negative after it; `conditions` are those of a restricted decision.
    """

    competency: str
    title: str
    is_critical: bool
    profile: ProfileRevision
    standing: CompetencyStanding
    last_valid_day: date | None
    days_left: int | None
    conditions: str
    why: str
    decision_reference: str | None


class NextWhat(StrEnum):
    """The kind of the next thing to do."""

    NOTHING = "nothing"
    RENEW = "renew"
    SHOW = "show"
    MEET_CONDITIONS = "meet_conditions"
    COME_BACK = "come_back"
    SPEAK_TO_EDUCATOR = "speak_to_educator"

    @property
    def words(self) -> str:
        """The next thing as people say it."""
        return self.value.replace("_", " ")


@dataclass(frozen=True, kw_only=True)
class NextStep:
    """The next thing to do: what, for which competency on which revision, by when (None: no day presses)."""

    what: NextWhat
    competency: str | None = None
    profile: ProfileRevision | None = None
    by_day: date | None = None


def next_step(standing: PersonStanding, rows: tuple[CompetencyRow, ...]) -> NextStep:
    """Give the smallest next thing to do for a person who stands like this.

    Lapsed before not yet, critical before the rest, what ends first before what ends later.
    """
    if standing in {PersonStanding.WITHDRAWN, PersonStanding.SUSPENDED}:
        return NextStep(what=NextWhat.SPEAK_TO_EDUCATOR)
    if standing is PersonStanding.PAUSED:
        return NextStep(what=NextWhat.COME_BACK)
    open_rows = [row for row in rows if row.standing is not CompetencyStanding.CURRENT or row.conditions]
    if not open_rows:
        what = NextWhat.NOTHING if standing.is_in_date else NextWhat.SPEAK_TO_EDUCATOR
        return NextStep(what=what)
    row = min(open_rows, key=_urgency)
    return NextStep(what=_WHAT[row.standing], competency=row.competency, profile=row.profile, by_day=_by_day(row))


_WHAT = {
    CompetencyStanding.WITHDRAWN: NextWhat.SPEAK_TO_EDUCATOR,
    CompetencyStanding.SUSPENDED: NextWhat.SPEAK_TO_EDUCATOR,
    CompetencyStanding.NOT_YET_SIGNED_OFF: NextWhat.SHOW,
    CompetencyStanding.LAPSED: NextWhat.RENEW,
    CompetencyStanding.LAPSING: NextWhat.RENEW,
    CompetencyStanding.CURRENT: NextWhat.MEET_CONDITIONS,
}
_ORDER = (
    CompetencyStanding.LAPSED,
    CompetencyStanding.NOT_YET_SIGNED_OFF,
    CompetencyStanding.LAPSING,
    CompetencyStanding.CURRENT,
    CompetencyStanding.SUSPENDED,
    CompetencyStanding.WITHDRAWN,
)


def _urgency(row: CompetencyRow) -> tuple[int, date, bool, date, str]:
    """Lapsed first; among those that lapse the nearest day, elsewhere the critical ones."""
    day = row.last_valid_day or date.min
    nearest = day if row.standing is CompetencyStanding.LAPSING else date.min
    return _ORDER.index(row.standing), nearest, not row.is_critical, day, row.competency


def _by_day(row: CompetencyRow) -> date | None:
    return row.last_valid_day if row.standing.is_in_date else None


def standing_sentence(
    standing: PersonStanding,
    record: StandingRecord,
    rows: tuple[CompetencyRow, ...],
    minute_utc: datetime,
    zone: ZoneInfo,
) -> str:
    """Say in one plain sentence how the person stands, until or since when, and on which revision."""
    day = local_day(minute_utc, zone)
    match standing:
        case PersonStanding.WITHDRAWN | PersonStanding.SUSPENDED:
            return _measure_sentence(standing, record, rows, minute_utc, zone)
        case PersonStanding.PAUSED:
            return _pause_sentence(record, day)
        case PersonStanding.LAPSED:
            return _lapsed_sentence(rows)
        case PersonStanding.RESTRICTED:
            return _restricted_sentence(record, rows, day)
        case PersonStanding.NOT_YET_SIGNED_OFF:
            return _not_yet_sentence(record, rows, minute_utc, zone)
        case PersonStanding.LAPSING | PersonStanding.CURRENT:
            return _in_date_sentence(rows)


def _measure_sentence(
    standing: PersonStanding,
    record: StandingRecord,
    rows: tuple[CompetencyRow, ...],
    minute_utc: datetime,
    zone: ZoneInfo,
) -> str:
    measures: tuple[Measure, ...] = record.withdrawals if standing is PersonStanding.WITHDRAWN else record.suspensions
    concerned = {row.competency for row in rows if row.is_critical and row.standing.value == standing.value}
    holding = [one for one in measures if one.holds_at(minute_utc)]
    whole = [one for one in holding if one.competency is None]
    chosen = min(whole or [one for one in holding if one.competency in concerned], key=lambda one: one.from_at)
    about = "" if chosen.competency is None else f" in {chosen.competency}"
    since = day_in_words(local_day(chosen.from_at, zone))
    return f"{standing.words.capitalize()}{about} since {since} by an educator's decision."


def _pause_sentence(record: StandingRecord, day: date) -> str:
    ends = [one.until_day for one in record.pauses if one.holds_on(day)]
    known = [end for end in ends if end is not None]
    if len(known) < len(ends):
        return "Paused, with no day of return named yet."
    return f"Paused until {day_in_words(max(known))}."


def _lapsed_sentence(rows: tuple[CompetencyRow, ...]) -> str:
    lapsed = [row for row in rows if row.standing is CompetencyStanding.LAPSED and row.is_critical]
    first = min(lapsed, key=lambda row: row.last_valid_day or date.min)
    others = len({row.competency for row in lapsed} - {first.competency})
    more = f"; {others} more lapsed" if others else ""
    ended = "" if first.last_valid_day is None else f" ended on {day_in_words(first.last_valid_day)}"
    return f"Lapsed: {first.competency} on {first.profile}{ended}{more}."


def _restricted_sentence(record: StandingRecord, rows: tuple[CompetencyRow, ...], day: date) -> str:
    back_on = awaits_return(record.pauses, day)
    if back_on is not None:
        return f"Restricted since {day_in_words(back_on)}. {RETURN_CONDITIONS}."
    holding = [one for one in record.restrictions if one.holds_on(day)]
    if holding:
        first = min(holding, key=lambda one: one.until_day)
        return f"Restricted until {day_in_words(first.until_day)}: {first.conditions.rstrip('.')}."
    under_conditions = [row for row in rows if row.conditions and row.last_valid_day is not None]
    if under_conditions:
        row = min(under_conditions, key=lambda one: one.last_valid_day or date.min)
        until = "" if row.last_valid_day is None else f" until {day_in_words(row.last_valid_day)}"
        return f"Restricted{until} in {row.competency} on {row.profile}: {row.conditions.rstrip('.')}."
    stopped = (CompetencyStanding.LAPSED, CompetencyStanding.SUSPENDED, CompetencyStanding.WITHDRAWN)
    said = dict.fromkeys(f"{row.competency} is {row.standing.words}" for row in rows if row.standing in stopped)
    to_show = [row for row in rows if row.standing is CompetencyStanding.NOT_YET_SIGNED_OFF]
    if to_show:
        codes = ", ".join(dict.fromkeys(row.competency for row in to_show))
        return f"Restricted: {', '.join(said)}, and {codes} still open."
    return f"Restricted: {', '.join(said)}; every critical competency is in date."


def _not_yet_sentence(
    record: StandingRecord, rows: tuple[CompetencyRow, ...], minute_utc: datetime, zone: ZoneInfo
) -> str:
    ended = [at for at in record.endings if at <= minute_utc]
    if ended and not record.decisions:
        day = day_in_words(local_day(max(ended), zone))
        return f"Not yet signed off: the standing ended on {day} with the person's time here. The records are kept."
    if not record.required:
        return "Not yet signed off: the standard requires no competency for this role, so nobody can be current."
    if not rows:
        return "Not yet signed off: no device revision is in service at this base, so nobody can be current here."
    missing = [row for row in rows if row.standing is CompetencyStanding.NOT_YET_SIGNED_OFF]
    profiles = ", ".join(str(profile) for profile in sorted({row.profile for row in missing}))
    codes = ", ".join(dict.fromkeys(row.competency for row in missing))
    return f"Not yet signed off on {profiles}: {codes} still open."


def left_words(days: int) -> str:
    """Say how many days are left, 0 being the last valid day itself."""
    if days == 0:
        return "today is the last day"
    return "1 day left" if days == 1 else f"{days} days left"


def _in_date_sentence(rows: tuple[CompetencyRow, ...]) -> str:
    first = min(rows, key=lambda row: row.last_valid_day or date.max)
    profiles = " and ".join(str(profile) for profile in sorted({row.profile for row in rows}))
    until = "" if first.last_valid_day is None else f" until {day_in_words(first.last_valid_day)}"
    if first.standing is CompetencyStanding.LAPSING:
        return f"Current{until} on {profiles}: {left_words(first.days_left or 0)}{_what_ends_first(rows, first)}."
    return f"Current{until} on {profiles}."


def _what_ends_first(rows: tuple[CompetencyRow, ...], first: CompetencyRow) -> str:
    """Name what ends on the first last valid day, unless everything does."""
    ending = list(dict.fromkeys(row.competency for row in rows if row.last_valid_day == first.last_valid_day))
    if all(row.last_valid_day == first.last_valid_day for row in rows):
        return ""
    if len(ending) == 1:
        return f", {ending[0]} ends first"
    return f", {', '.join(ending[:-1])} and {ending[-1]} end first"
