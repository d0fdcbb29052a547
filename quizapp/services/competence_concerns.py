"""For whom at a base an earlier booster is worth a word, by the estimate: it proposes and decides nothing."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from sqlalchemy import select

from quizapp.assessment.competence_advice import SOON_DAYS, Advice, advice, may_need_advice
from quizapp.assessment.competence_settings import PRACTISE_BELOW_FRACTION, Track
from quizapp.assessment.permissions import Right, has_right
from quizapp.assessment.standing import PersonStanding
from quizapp.content.library import Library
from quizapp.errors import NotFound
from quizapp.services.act import Act
from quizapp.services.base_readiness import clinicians_of
from quizapp.services.competence_of import Estimate, competence_of
from quizapp.services.person_standing import PersonStands, standings
from quizapp.services.require_right import require_right
from quizapp.services.standards import Requirement, standard_on
from quizapp.store.people import RescueBase

NOT_ASKED = {PersonStanding.PAUSED, PersonStanding.SUSPENDED, PersonStanding.WITHDRAWN}
"""Nobody is asked to practise who is on leave, or about whom a person has decided otherwise."""
PRESSING = list(Advice)


@dataclass(frozen=True, kw_only=True)
class FadedSkill:
    """One skill worth a word: as believed today, from when under the mark, until when signed off, what would help.

    `procedures`: what an assessor would watch; empty for knowledge, which five minutes of practice help.
    """

    title: str
    is_critical: bool
    estimate: Estimate
    advice: Advice
    under_mark_on: date | None
    signed_off_until: date | None
    procedures: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class PersonConcern:
    """One person with the skills worth a word, the most pressing first."""

    name: str
    skills: tuple[FadedSkill, ...]

    @property
    def is_a_concern(self) -> bool:
        """Whether any of them lies well under the mark."""
        return any(one.advice is Advice.CONCERN for one in self.skills)


@dataclass(frozen=True, kw_only=True)
class BaseConcerns:
    """One base: who is worth a word, out of how many of whom anything is known; and the bases to choose from."""

    base: RescueBase
    bases: tuple[tuple[str, str], ...]
    people: tuple[PersonConcern, ...]
    known_count: int


def concerns_at(act: Act, library: Library, base_id: str = "") -> BaseConcerns:
    """Return the people of a base ("" for the first one of the actor's), the most pressing first.

    A constant number of statements. Raises NotAllowed without the right, NotFound for any other base.
    """
    require_right(act, Right.SEE_STATISTICS)
    rows = act.session.scalars(select(RescueBase).order_by(RescueBase.name, RescueBase.id))
    bases = [base for base in rows if has_right(act.actor, Right.SEE_STATISTICS, act.today, base.id)]
    base = next((one for one in bases if not base_id or one.id == base_id), None)
    if base is None:
        raise NotFound("There is no such base of yours.")
    people = [one for one in clinicians_of(act, base.id) if one.id != act.actor.person_id]
    stands, known = standings(act, library, people), competence_of(act, [one.id for one in people])
    standard = standard_on(act.session, act.today)
    required = {one.competency: one for one in standard.requirements} if standard else {}
    found = [
        PersonConcern(name=person.name, skills=skills)
        for person in people
        if (skills := _skills(act.today, known.get(person.id, []), required, stands[person.id], library))
    ]
    return BaseConcerns(
        base=base,
        bases=tuple((one.id, one.name) for one in bases),
        people=tuple(sorted(found, key=_pressing)),
        known_count=len(known),
    )


def _pressing(one: PersonConcern) -> tuple[int, bool, float, str]:
    first = one.skills[0]
    return PRESSING.index(first.advice), not first.is_critical, first.estimate.chance_fraction, one.name


def _skills(
    today: date,
    estimates: Sequence[Estimate],
    required: Mapping[str, Requirement],
    stands: PersonStands,
    library: Library,
) -> tuple[FadedSkill, ...]:
    if stands.report.standing in NOT_ASKED:
        return ()
    until = {row.competency: row.last_valid_day for row in stands.report.rows}
    found = [
        _skill(today, one, required[one.competency], until.get(one.competency), library)
        for one in estimates
        if _is_asked(one, required) and may_need_advice(
            chance_now_fraction=one.chance_fraction, chance_soon_fraction=one.chance_after(SOON_DAYS)
        )
    ]  # fmt: skip
    worth = [one for one in found if one.advice is not Advice.NOTHING]
    return tuple(
        sorted(worth, key=lambda one: (PRESSING.index(one.advice), not one.is_critical, one.estimate.chance_fraction))
    )


def _is_asked(one: Estimate, required: Mapping[str, Requirement]) -> bool:
    """Whether the standard asks for evidence of this kind, and others ever assessed it."""
    requirement = required.get(one.competency)
    if requirement is None or not one.is_assessed:
        return False
    return requirement.needs_knowledge if one.track is Track.KNOWLEDGE else bool(requirement.procedures)


def _skill(today: date, one: Estimate, requirement: Requirement, until: date | None, library: Library) -> FadedSkill:
    falls = one.falls_under(PRACTISE_BELOW_FRACTION)
    signed_off_until = until if until is not None and until >= today else None
    competency = library.competencies.get(one.competency)
    return FadedSkill(
        title=competency.title if competency else "",
        is_critical=requirement.is_critical,
        estimate=one,
        advice=advice(
            chance_fraction=one.chance_fraction, under_mark_on=falls, today=today, signed_off_until=signed_off_until
        ),
        under_mark_on=falls,
        signed_off_until=signed_off_until,
        procedures=tuple(requirement.procedures) if one.track is Track.PERFORMANCE else (),
    )
