"""What the standings ahead of some people at some bases are worked out from, with a constant number of statements.

Known is what is recorded now; somebody who left, or whose engagement is over, is current nowhere from the next day on.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from sqlalchemy import select

from quizapp.assessment.shift_cover import Span
from quizapp.assessment.standing import StandingReport
from quizapp.assessment.standing_ahead import Requirements, begin_of, current_spells, standing_at
from quizapp.assessment.standing_record import InService, ProfileRevision, RequiredCompetency, StandingRecord
from quizapp.content.library import Library
from quizapp.services.act import Act
from quizapp.services.person_standing import standing_records
from quizapp.services.standards import standards_recorded
from quizapp.store.devices import DeviceInService
from quizapp.store.people import Person


@dataclass
class StandingsAhead:
    """Records of some people, what is required from when, and the devices of some bases."""

    records: dict[str, StandingRecord]
    last_days: dict[str, date | None]
    required: Requirements
    in_service: dict[str, tuple[InService, ...]]
    zone: ZoneInfo
    _spells: dict[tuple[str, str, Span], tuple[Span, ...]] = field(default_factory=dict)

    def record_at(self, person_id: str, base_id: str) -> StandingRecord:
        """Return what the standing of a person at a base rests on."""
        return replace(self.records[person_id], in_service=self.in_service.get(base_id, ()))

    def report(self, person_id: str, base_id: str, act: Act, on: date | None = None) -> StandingReport:
        """Return how a person stands at a base now, or at the end of a later day."""
        at = act.now if on is None or on <= act.today else begin_of(on, self.zone)
        return standing_at(self.record_at(person_id, base_id), self.required, at, self.zone)

    def spells(self, person_id: str, base_id: str, within: Span) -> tuple[Span, ...]:
        """Return when inside a span a person is current at a base."""
        key = (person_id, base_id, within)
        if key not in self._spells:
            self._spells[key] = self._work_out(person_id, base_id, within)
        return self._spells[key]

    def _work_out(self, person_id: str, base_id: str, within: Span) -> tuple[Span, ...]:
        last = self.last_days[person_id]
        if last is not None:
            end = min(within.end, begin_of(last + timedelta(days=1), self.zone))
            if end <= within.start:
                return ()
            within = Span(within.start, end)
        return current_spells(self.record_at(person_id, base_id), self.required, within, self.zone)


def standings_ahead(
    act: Act, library: Library, people: Sequence[Person], base_ids: Collection[str], *, since: datetime | None = None
) -> StandingsAhead:
    """Gather the records of people for the bases named, good for moments from `since` (now) on."""
    return StandingsAhead(
        records=standing_records(act, library, people, at=act.now, since=since or act.now, without_terms=True),
        last_days={one.id: _first(one.left_on, one.engaged_until) for one in people},
        required=requirements(act, library),
        in_service=devices_of(act, base_ids),
        zone=act.zone,
    )


def _first(left_on: date | None, engaged_until: date | None) -> date | None:
    return min((day for day in (left_on, engaged_until) if day is not None), default=None)


def requirements(act: Act, library: Library) -> list[tuple[date, tuple[RequiredCompetency, ...]]]:
    """Return what every recorded standard requires, by its first day; of two of one day the later version holds."""
    by_day = {}
    for standard in sorted(standards_recorded(act.session), key=lambda one: one.version):
        by_day[standard.starts_on] = tuple(
            RequiredCompetency(
                code=one.competency,
                title=library.competencies[one.competency].title if one.competency in library.competencies else "",
                is_critical=one.is_critical,
            )
            for one in standard.requirements
        )
    return sorted(by_day.items())


def devices_of(act: Act, base_ids: Collection[str]) -> dict[str, tuple[InService, ...]]:
    """Return the revisions in service at each base, from when to when."""
    found: dict[str, list[InService]] = defaultdict(list)
    rows = act.session.execute(
        select(
            DeviceInService.base_id, DeviceInService.profile_code, DeviceInService.profile_revision,
            DeviceInService.from_day, DeviceInService.until_day,
        ).where(DeviceInService.base_id.in_(base_ids))
    )  # fmt: skip
    for base_id, code, revision, from_day, until_day in rows:
        profile = ProfileRevision(code=code, revision=revision)
        found[base_id].append(InService(profile=profile, from_day=from_day, until_day=until_day))
    return {base_id: tuple(devices) for base_id, devices in found.items()}
