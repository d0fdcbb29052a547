"""Which device profile revisions are in the packs of which bases on the day of the act, or come into them later."""

from __future__ import annotations

from collections.abc import Collection

from sqlalchemy import or_, select

from quizapp.services.act import Act
from quizapp.store.devices import DeviceInService

ProfileRevision = tuple[str, int]


def revisions_in_service(act: Act, base_ids: Collection[str]) -> dict[str, tuple[ProfileRevision, ...]]:
    """Return for each base its (profile code, revision) pairs in service today, sorted, with one statement."""
    rows = act.session.execute(
        select(DeviceInService.base_id, DeviceInService.profile_code, DeviceInService.profile_revision)
        .where(
            DeviceInService.base_id.in_(base_ids),
            DeviceInService.from_day <= act.today,
            or_(DeviceInService.until_day.is_(None), DeviceInService.until_day >= act.today),
        )
        .distinct()
    )
    found: dict[str, set[ProfileRevision]] = {base_id: set() for base_id in base_ids}
    for base_id, code, revision in rows:
        found[base_id].add((code, revision))
    return {base_id: tuple(sorted(pairs)) for base_id, pairs in found.items()}


def revisions_coming(act: Act, base_ids: Collection[str]) -> dict[str, tuple[ProfileRevision, ...]]:
    """Return for each base the pairs that come into its packs on a later day only, with one statement."""
    rows = act.session.execute(
        select(
            DeviceInService.base_id,
            DeviceInService.profile_code,
            DeviceInService.profile_revision,
            DeviceInService.from_day,
        ).where(
            DeviceInService.base_id.in_(base_ids),
            or_(DeviceInService.until_day.is_(None), DeviceInService.until_day >= act.today),
        )
    )
    here: dict[str, set[ProfileRevision]] = {base_id: set() for base_id in base_ids}
    later: dict[str, set[ProfileRevision]] = {base_id: set() for base_id in base_ids}
    for base_id, code, revision, from_day in rows:
        (here if from_day <= act.today else later)[base_id].add((code, revision))
    return {base_id: tuple(sorted(pairs - here[base_id])) for base_id, pairs in later.items()}
