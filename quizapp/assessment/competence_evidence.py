"""Turns answers and watched steps into evidence about one competency: difficulty, guessing, credit and weight."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from quizapp.assessment import competence_settings as settings
from quizapp.assessment.competence_settings import Track
from quizapp.assessment.observation_state import StepMark
from quizapp.psychometrics.item_response import WeighedAnswer, difficulty_of, episode_weight


@dataclass(frozen=True, kw_only=True)
class Given:
    """One answer given in a sitting and its question. Fractions run from 0 to 1.

    `just_competent_fraction`: the share of just competent people that the author expects to be right, if any was said.
    `freshness_fraction`: less than 1 when the family was met a short time before.
    """

    credit_fraction: float
    just_competent_fraction: float | None
    option_count: int
    freshness_fraction: float


@dataclass(frozen=True, kw_only=True)
class Episode:
    """What one sitting or one observation showed of one competency, on one civil day, on one track.

    `is_assessed`: others assessed it; a self-test is not.
    """

    track: Track
    day: date
    source_id: str
    is_assessed: bool
    answers: tuple[WeighedAnswer, ...]


def knowledge_episode(*, day: date, source_id: str, is_assessed: bool, given: Sequence[Given]) -> Episode:
    """Return the evidence of the answers given (at least one) to the questions on one competency in one sitting."""
    trust = settings.ASSESSED_TRUST if is_assessed else settings.SELF_TEST_TRUST
    weight = episode_weight(trust, len(given), settings.ANSWER_LIKENESS)
    return Episode(
        track=Track.KNOWLEDGE,
        day=day,
        source_id=source_id,
        is_assessed=is_assessed,
        answers=tuple(_answer(one, weight) for one in given),
    )


def performance_episode(
    *, day: date, source_id: str, marks: Mapping[str, StepMark], prompted: Collection[str], sheet_count: int = 1
) -> Episode | None:
    """Return the evidence of one signed observation; a step not seen or not called for says nothing.

    `sheet_count`: how many signed sheets (1 and up) there are of the same performance, which counts once for all of
    them together. None where no step was judged.
    """
    judged = [(step, mark) for step, mark in marks.items() if mark in {StepMark.DONE, StepMark.NOT_DONE}]
    if not judged:
        return None
    weight = episode_weight(settings.ASSESSED_TRUST / sheet_count, len(judged), settings.STEP_LIKENESS)
    return Episode(
        track=Track.PERFORMANCE,
        day=day,
        source_id=source_id,
        is_assessed=True,
        answers=tuple(_step(_step_credit(mark, is_prompted=step in prompted), weight) for step, mark in judged),
    )


def _step(credit_fraction: float, weight: float) -> WeighedAnswer:
    return WeighedAnswer(
        slope=settings.STEP_SLOPE,
        difficulty=difficulty_of(settings.STEP_JUST_COMPETENT_FRACTION, slope=settings.STEP_SLOPE),
        guess_fraction=0.0,
        credit_fraction=credit_fraction,
        weight=weight,
    )


def _step_credit(mark: StepMark, *, is_prompted: bool) -> float:
    if mark is StepMark.NOT_DONE:
        return 0.0
    return settings.PROMPTED_CREDIT if is_prompted else 1.0


def _answer(one: Given, weight: float) -> WeighedAnswer:
    guess = 1.0 / one.option_count if one.option_count > 1 else settings.NUMBER_GUESSED_FRACTION
    expected = one.just_competent_fraction
    share = settings.ANSWER_JUST_COMPETENT_FRACTION if expected is None else expected
    share = max(share, guess + settings.LEAST_ABOVE_GUESSING_FRACTION)
    return WeighedAnswer(
        slope=settings.ANSWER_SLOPE,
        difficulty=difficulty_of(share, slope=settings.ANSWER_SLOPE, guess_fraction=guess),
        guess_fraction=guess,
        credit_fraction=one.credit_fraction,
        weight=weight * one.freshness_fraction,
    )
