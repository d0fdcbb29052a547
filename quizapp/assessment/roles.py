"""Roles people hold: where, from which day until which day. Rules on persons stand over roles (see permissions)."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from enum import StrEnum


class Role(StrEnum):
    """What a person is for the service; one person may hold several.

    `CLINICAL_LEAD` is no post of its own: it is the right of an educator to accept content and limits.
    """

    CLINICIAN = "clinician"
    ASSESSOR = "assessor"
    EDUCATOR = "educator"
    CLINICAL_LEAD = "clinical_lead"
    TEAM_LEAD = "team_lead"
    ADMINISTRATOR = "administrator"

    @property
    def words(self) -> str:
        """The role as people say it."""
        return self.value.replace("_", " ")


TWO_FACTORS = frozenset({Role.ASSESSOR, Role.EDUCATOR, Role.CLINICAL_LEAD, Role.TEAM_LEAD, Role.ADMINISTRATOR})
"""Who says something about others, or sees it, shows a code beside the password."""


@dataclass(frozen=True, kw_only=True)
class RoleHeld:
    """One role of one person.

    `base_id` None means the whole service. `until_day` is the last day, inclusive; None means open.
    `ended_on` is the day the role was taken away: from that day on it is not held, whatever `until_day` says.
    """

    role: Role
    base_id: str | None
    from_day: date
    until_day: date | None = None
    ended_on: date | None = None

    def is_held_on(self, day: date) -> bool:
        """Whether the role is held on a civil day of the service's zone."""
        if day < self.from_day:
            return False
        if self.until_day is not None and day > self.until_day:
            return False
        return self.ended_on is None or day < self.ended_on

    def reaches(self, base_id: str | None) -> bool:
        """Whether the role reaches a base (None asks for the whole service)."""
        return self.base_id is None or self.base_id == base_id


@dataclass(frozen=True, kw_only=True)
class Bases:
    """The bases a role reaches: the whole service, or the named ones."""

    whole_service: bool
    base_ids: frozenset[str]

    def __contains__(self, base_id: object) -> bool:
        return self.whole_service or base_id in self.base_ids

    def __bool__(self) -> bool:
        return self.whole_service or bool(self.base_ids)


def held_on(roles_held: Iterable[RoleHeld], day: date) -> tuple[RoleHeld, ...]:
    """Give the roles held on a civil day; a clinical lead counts only where the person is an educator that day."""
    held = tuple(one for one in roles_held if one.is_held_on(day))
    educator = [one for one in held if one.role is Role.EDUCATOR]
    return tuple(
        one for one in held if one.role is not Role.CLINICAL_LEAD or any(post.reaches(one.base_id) for post in educator)
    )


def roles_on(roles_held: Iterable[RoleHeld], day: date) -> frozenset[Role]:
    """Give the roles held anywhere on a civil day of the service's zone."""
    return frozenset(one.role for one in held_on(roles_held, day))


def bases_for(roles_held: Iterable[RoleHeld], role: Role, day: date) -> Bases:
    """Give the bases for which a role is held on a civil day of the service's zone."""
    posts = [one for one in held_on(roles_held, day) if one.role is role]
    return Bases(
        whole_service=any(one.base_id is None for one in posts),
        base_ids=frozenset(one.base_id for one in posts if one.base_id is not None),
    )


def needs_two_factors(roles_held: Iterable[RoleHeld], day: date) -> bool:
    """Whether one of the roles held that day asks for a second factor at sign-in."""
    return bool(roles_on(roles_held, day) & TWO_FACTORS)
