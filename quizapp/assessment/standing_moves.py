"""Which act moves a person from one standing to another, and who may cause it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from types import MappingProxyType

from quizapp.assessment.roles import Role
from quizapp.assessment.standing_record import PersonStanding

_ALL = frozenset(PersonStanding)
_BY_COMPETENCE = frozenset(
    {
        PersonStanding.CURRENT,
        PersonStanding.LAPSING,
        PersonStanding.LAPSED,
        PersonStanding.RESTRICTED,
        PersonStanding.NOT_YET_SIGNED_OFF,
    }
)


class StandingAct(StrEnum):
    """What can change a standing."""

    TIME_PASSES = "time_passes"
    DECIDE = "decide"
    VOID = "void"
    RESTRICT = "restrict"
    END_RESTRICTION = "end_restriction"
    SUSPEND = "suspend"
    LIFT_SUSPENSION = "lift_suspension"
    WITHDRAW = "withdraw"
    LIFT_WITHDRAWAL = "lift_withdrawal"
    PAUSE = "pause"
    END_PAUSE = "end_pause"
    COMPLETE_RETURN = "complete_return"
    LEAVE = "leave"
    CHANGE_DEVICE = "change_device"


@dataclass(frozen=True, kw_only=True)
class AllowedMoves:
    """The moves an act can make: every pair of `moves`; who may cause it, and whether two people must."""

    moves: frozenset[tuple[PersonStanding, PersonStanding]]
    roles: frozenset[Role] = frozenset()
    needs_two: bool = False


def _between(
    before: frozenset[PersonStanding], after: frozenset[PersonStanding]
) -> frozenset[tuple[PersonStanding, PersonStanding]]:
    return frozenset((one, other) for one in before for other in after if one is not other)


_TIME = frozenset(
    {
        (PersonStanding.CURRENT, PersonStanding.LAPSING),
        (PersonStanding.LAPSING, PersonStanding.LAPSED),
        (PersonStanding.LAPSING, PersonStanding.RESTRICTED),
        (PersonStanding.RESTRICTED, PersonStanding.LAPSED),
        (PersonStanding.RESTRICTED, PersonStanding.CURRENT),
        (PersonStanding.RESTRICTED, PersonStanding.LAPSING),
        (PersonStanding.RESTRICTED, PersonStanding.NOT_YET_SIGNED_OFF),
        (PersonStanding.NOT_YET_SIGNED_OFF, PersonStanding.LAPSED),
        (PersonStanding.NOT_YET_SIGNED_OFF, PersonStanding.RESTRICTED),
    }
)
_PAUSED = frozenset({PersonStanding.PAUSED})
_SUSPENDED = frozenset({PersonStanding.SUSPENDED})
_WITHDRAWN = frozenset({PersonStanding.WITHDRAWN})
_BEHIND = _SUSPENDED | _PAUSED
"""What may have held all the while behind a withdrawal of one competency, and shows once that is over."""
_RESTRICTED = frozenset({PersonStanding.RESTRICTED})
_UNRESTRICTED = frozenset({PersonStanding.CURRENT, PersonStanding.LAPSING, PersonStanding.NOT_YET_SIGNED_OFF})
"""Suspending or withdrawing one competency that is not critical restricts the person, as a restriction does."""
_NOTHING = frozenset({PersonStanding.NOT_YET_SIGNED_OFF})
_EDUCATOR = frozenset({Role.EDUCATOR})
_WHO_PLANS = frozenset({Role.EDUCATOR, Role.TEAM_LEAD})

MOVES_BY: Mapping[StandingAct, AllowedMoves] = MappingProxyType(
    {
        StandingAct.TIME_PASSES: AllowedMoves(moves=_TIME | _between(_PAUSED, _BY_COMPETENCE)),
        StandingAct.DECIDE: AllowedMoves(
            moves=_between(_BY_COMPETENCE | _WITHDRAWN, _BY_COMPETENCE) | _between(_WITHDRAWN, _BEHIND),
            roles=_EDUCATOR,
        ),
        StandingAct.VOID: AllowedMoves(
            moves=_between(_BY_COMPETENCE, _BY_COMPETENCE | _WITHDRAWN) | _between(_BEHIND, _WITHDRAWN),
            roles=_EDUCATOR,
            needs_two=True,
        ),
        StandingAct.RESTRICT: AllowedMoves(moves=_between(_UNRESTRICTED, _RESTRICTED), roles=_EDUCATOR),
        StandingAct.END_RESTRICTION: AllowedMoves(moves=_between(_RESTRICTED, _BY_COMPETENCE), roles=_EDUCATOR),
        StandingAct.SUSPEND: AllowedMoves(
            moves=_between(_ALL - _WITHDRAWN, _SUSPENDED) | _between(_UNRESTRICTED, _RESTRICTED), roles=_EDUCATOR
        ),
        StandingAct.LIFT_SUSPENSION: AllowedMoves(
            moves=_between(_SUSPENDED, _ALL - _WITHDRAWN) | _between(_RESTRICTED, _BY_COMPETENCE), roles=_EDUCATOR
        ),
        StandingAct.WITHDRAW: AllowedMoves(
            moves=_between(_ALL, _WITHDRAWN) | _between(_UNRESTRICTED, _RESTRICTED), roles=_EDUCATOR
        ),
        StandingAct.LIFT_WITHDRAWAL: AllowedMoves(
            moves=_between(_WITHDRAWN, _ALL) | _between(_RESTRICTED, _BY_COMPETENCE), roles=_EDUCATOR, needs_two=True
        ),
        StandingAct.PAUSE: AllowedMoves(moves=_between(_BY_COMPETENCE, _PAUSED), roles=_WHO_PLANS),
        StandingAct.END_PAUSE: AllowedMoves(moves=_between(_PAUSED, _BY_COMPETENCE), roles=_WHO_PLANS),
        StandingAct.COMPLETE_RETURN: AllowedMoves(moves=_between(_RESTRICTED, _BY_COMPETENCE), roles=_EDUCATOR),
        StandingAct.LEAVE: AllowedMoves(
            moves=_between(_BY_COMPETENCE, _NOTHING | _WITHDRAWN | _RESTRICTED) | _between(_BEHIND, _WITHDRAWN),
            roles=frozenset({Role.ADMINISTRATOR}),
        ),
        StandingAct.CHANGE_DEVICE: AllowedMoves(moves=_between(_BY_COMPETENCE, _BY_COMPETENCE), roles=_WHO_PLANS),
    }
)


def acts_that_move(before: PersonStanding, after: PersonStanding) -> tuple[StandingAct, ...]:
    """Give the acts that can move a person from one standing to the other, in the order of `StandingAct`."""
    return tuple(act for act in StandingAct if (before, after) in MOVES_BY[act].moves)
