"""Every version of the standard with what it changed, for the pages on which everybody reads it."""

from __future__ import annotations

from dataclasses import dataclass

from sqlalchemy import select

from quizapp.assessment.standard_change import differences
from quizapp.errors import NotFound
from quizapp.services.act import Act
from quizapp.services.standards import StandardInForce, standards_recorded
from quizapp.store.audit import Signature
from quizapp.store.people import Person


@dataclass(frozen=True, kw_only=True)
class VersionListed:
    """One version, what it changed against the one before, who recorded it, the receipt ("" where it bears none)."""

    standard: StandardInForce
    changes: tuple[str, ...]
    recorded_by: str
    receipt: str
    is_in_force: bool
    is_coming: bool


@dataclass(frozen=True, kw_only=True)
class Listed:
    """All versions, the newest first, the one in force today and the next one already put in force for later."""

    versions: tuple[VersionListed, ...]

    @property
    def in_force(self) -> VersionListed | None:
        """The version in force today."""
        return next((one for one in self.versions if one.is_in_force), None)

    @property
    def coming(self) -> VersionListed | None:
        """The next version, which begins on a later day."""
        return next((one for one in reversed(self.versions) if one.is_coming), None)


def standards_listed(act: Act) -> Listed:
    """Return every version, with a constant number of statements."""
    found = standards_recorded(act.session)
    started = [one for one in found if one.starts_on <= act.today]
    in_force = max(started, key=lambda one: (one.starts_on, one.version), default=None)
    people = {one.recorded_by for one in found}
    names = {person.id: person.name for person in act.session.scalars(select(Person).where(Person.id.in_(people)))}
    signed = [one.signature_id for one in found if one.signature_id]
    receipts = {row.id: row.signature_hash[:16]
                for row in act.session.scalars(select(Signature).where(Signature.id.in_(signed)))}  # fmt: skip
    return Listed(
        versions=tuple(
            VersionListed(
                standard=one,
                changes=differences(before, one),
                recorded_by=names[one.recorded_by],
                receipt=receipts.get(one.signature_id or "", ""),
                is_in_force=one is in_force,
                is_coming=one.starts_on > act.today,
            )
            for one, before in zip(found, [*found[1:], None], strict=False)
        )
    )


def standard_version(act: Act, standard_id: str) -> VersionListed:
    """Return one version; raises NotFound."""
    found = next((one for one in standards_listed(act).versions if one.standard.id == standard_id), None)
    if found is None:
        raise NotFound("There is no such version of the standard.")
    return found
