"""Practice for today: five minutes, at most three things, and why these; nothing where nothing is due."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from math import ceil

from quizapp.assessment.competence_models import CompetenceModels
from quizapp.assessment.competence_settings import PRACTISE_BELOW_FRACTION, Track
from quizapp.assessment.form_selection import FormPart
from quizapp.assessment.practice_ranking import (
    CRITICAL_WEIGHT,
    OTHER_WEIGHT,
    PracticeCandidate,
    RankedPractice,
    ranked,
)
from quizapp.assessment.roles import Role
from quizapp.content.library import Library
from quizapp.psychometrics.competence_gaussian import untrained_moments
from quizapp.services.act import Act
from quizapp.services.competence_models_in_force import models_in_force
from quizapp.services.competence_of import Estimate, competence_of
from quizapp.services.practice_choices import PracticeChoice, practice_choices
from quizapp.services.standards import StandardInForce, standard_on

MINUTES_A_QUESTION = 1.5
QUESTIONS = 3
MOST_HANDS = 2
DAYS_A_MONTH = 30.44


@dataclass(frozen=True, kw_only=True)
class PracticeItem:
    """One competency to practise today: how many questions, why it is among these, and what is believed of it.

    `estimate`: none where others never assessed it, since practice alone says little.
    """

    competency: str
    title: str
    question_count: int
    is_critical: bool
    why: str
    estimate: Estimate | None


@dataclass(frozen=True, kw_only=True)
class HandsItem:
    """A procedure worth rehearsing, and being watched at, before anybody asks for it."""

    competency: str
    title: str
    procedure: str
    is_critical: bool
    estimate: Estimate


@dataclass(frozen=True, kw_only=True)
class PracticeToday:
    """What is worth five minutes today. `is_for_clinician`: nobody else is told what to practise."""

    items: tuple[PracticeItem, ...]
    hands: tuple[HandsItem, ...]
    is_for_clinician: bool

    @property
    def minutes(self) -> int:
        """About how long the questions take."""
        return max(1, ceil(sum(one.question_count for one in self.items) * MINUTES_A_QUESTION))

    @property
    def parts(self) -> list[FormPart]:
        """The questions as a practice takes them."""
        return [FormPart(competency=one.competency, question_count=one.question_count) for one in self.items]


def practice_today(act: Act, library: Library) -> PracticeToday:
    """Return what the actor might practise today, what gains most a minute first, critical ones before all."""
    if not act.actor.holds(Role.CLINICIAN, act.today):
        return PracticeToday(items=(), hands=(), is_for_clinician=False)
    estimates = {
        (one.competency, one.track): one
        for one in competence_of(act, [act.actor.person_id]).get(act.actor.person_id, [])
    }
    standard = standard_on(act.session, act.today)
    knowledge = {code: one for (code, track), one in estimates.items() if track is Track.KNOWLEDGE}
    choices = {one.code: one for one in practice_choices(act, library)}
    models = models_in_force(act.session)
    due = [
        one
        for one in ranked(_candidate(code, knowledge.get(code), models, library, standard) for code in choices)
        if _is_due(one, knowledge.get(one.candidate.code), standard, act.today)
    ][:QUESTIONS]
    return PracticeToday(
        items=tuple(
            _item(one, choices[one.candidate.code], knowledge.get(one.candidate.code), act.today, share)
            for one, share in zip(due, _shares(len(due)), strict=True)
        ),
        hands=_hands(estimates, library, standard),
        is_for_clinician=True,
    )


def _shares(count: int) -> list[int]:
    """Spread the questions over so many things, the first ones first."""
    return [QUESTIONS // count + (place < QUESTIONS % count) for place in range(count)] if count else []


def _is_critical(code: str, library: Library, standard: StandardInForce | None) -> bool:
    requirement = standard.requirement(code) if standard else None
    if requirement is not None:
        return requirement.is_critical
    return code in library.competencies and library.competencies[code].is_critical


def _is_asked(code: str, standard: StandardInForce | None) -> bool:
    """Whether the standard asks for this knowledge; what it does not ask for never goes ahead of what it does."""
    requirement = standard.requirement(code) if standard else None
    return standard is None or (requirement is not None and requirement.needs_knowledge)


def _candidate(
    code: str,
    estimate: Estimate | None,
    models: CompetenceModels,
    library: Library,
    standard: StandardInForce | None,
) -> PracticeCandidate:
    model = models.of(code, Track.KNOWLEDGE)
    is_critical = _is_critical(code, library, standard) and _is_asked(code, standard)
    return PracticeCandidate(
        code=code,
        moments=estimate.moments if estimate else untrained_moments(model.fade),
        model=model.fade,
        recalibration=model.recalibration,
        weight=CRITICAL_WEIGHT if is_critical else OTHER_WEIGHT,
        minutes=MINUTES_A_QUESTION,
        is_critical=is_critical,
    )


def _is_due(one: RankedPractice, estimate: Estimate | None, standard: StandardInForce | None, today: date) -> bool:
    if estimate is None or one.is_below:
        return True
    requirement = standard.requirement(one.candidate.code) if standard else None
    return requirement is not None and _months(estimate, today) >= requirement.practice_months


def _months(estimate: Estimate, today: date) -> int:
    return int((today - estimate.state.last_day).days / DAYS_A_MONTH)


def _item(
    one: RankedPractice, choice: PracticeChoice, estimate: Estimate | None, today: date, question_count: int
) -> PracticeItem:
    return PracticeItem(
        competency=choice.code,
        title=choice.title,
        question_count=question_count,
        is_critical=one.candidate.is_critical,
        why=_why(one, estimate, today),
        estimate=estimate if estimate and estimate.is_assessed else None,
    )


def _why(one: RankedPractice, estimate: Estimate | None, today: date) -> str:
    if estimate is None:
        return "No answer of yours on it yet, so nothing is known."
    if not estimate.is_assessed and one.is_below:
        return "Only practised so far, and nobody has assessed it, so little is known."
    months = _months(estimate, today)
    met = "this month" if months < 1 else "a month ago" if months == 1 else f"{months} months ago"
    if one.is_below:
        return f"Last met {met}; a few minutes gain most here."
    return f"Last met {met}; the standard suggests meeting it again."


def _hands(
    estimates: Mapping[tuple[str, Track], Estimate], library: Library, standard: StandardInForce | None
) -> tuple[HandsItem, ...]:
    """Return procedures whose hands have faded most, critical ones first; one procedure stands once."""
    low = sorted(
        (one for (_, track), one in estimates.items() if track is Track.PERFORMANCE and _is_low(one)),
        key=lambda one: (not _is_critical(one.competency, library, standard), one.chance_fraction),
    )
    found: dict[str, HandsItem] = {}
    for one in low:
        for procedure in _procedures(one.competency, library, standard)[:1]:
            item = HandsItem(
                competency=one.competency,
                title=library.procedures[procedure].title,
                procedure=procedure,
                is_critical=_is_critical(one.competency, library, standard),
                estimate=one,
            )
            found.setdefault(procedure, item)
    return tuple(found.values())[:MOST_HANDS]


def _is_low(one: Estimate) -> bool:
    return one.chance_fraction < PRACTISE_BELOW_FRACTION


def _procedures(code: str, library: Library, standard: StandardInForce | None) -> Sequence[str]:
    requirement = standard.requirement(code) if standard else None
    return [one for one in (requirement.procedures if requirement else ()) if one in library.procedures]
