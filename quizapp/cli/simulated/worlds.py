"""Two invented worlds: one that fades as the model says, one that forgets by a power law and relearns at each occasion.

Each clinician is taught once and then assessed on eight days, by a form or by a sheet; each day has its own luck.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum
from math import exp, sqrt

import numpy as np

from quizapp.assessment.competence_evidence import Episode
from quizapp.assessment.competence_fit import AssessedHistory
from quizapp.assessment.competence_settings import (
    ANSWER_LIKENESS,
    ANSWER_SLOPE,
    STEP_LIKENESS,
    STEP_SLOPE,
    Track,
    fade_model,
)
from quizapp.psychometrics.fade_model import TAUGHT
from quizapp.psychometrics.item_response import WeighedAnswer, chance_right, episode_weight

COMPETENCY = "C2"
"""A competency whose hands fade like a mixed task."""
OCCASIONS = 8
GAPS_DAYS = (14, 30, 45, 60, 90, 120, 180)
LUCK_OF_A_DAY_SD = 0.5
"""How far one day lies from the skill itself: it makes the answers of one day alike."""
FIRST_DAY = date(2024, 1, 1)
STEPS, HARDEST_STEP, EASIEST_STEP = 12, 1.0, -1.5
QUESTION_COUNTS, EASIEST_QUESTIONS, SPREAD_OF_A_FORM, GUESSES = (6, 10), (-2.0, -1.0, 0.0), 2.0, (0.02, 0.25)
"""Forms differ in length, in difficulty and in how far guessing helps; the estimate knows these, a count does not."""

TRAINED_MEAN, TRAINED_SD = 1.2, 0.8
FORGETTING_EXPONENT = 0.5
FIRST_STABILITY_DAYS, STABILITY_SD = 60.0, 0.5
STABILITY_GROWS = 1.35
"""The power law: a gain is divided by (1 + days / stability)^exponent; each occasion restores and steadies it."""


class World(StrEnum):
    """Which way skill fades."""

    MATCHING = "matching"
    POWER_LAW = "power_law"


@dataclass(frozen=True, kw_only=True)
class SimulatedClinician:
    """The evidence of each day, and the true skill on it (logits above the standard)."""

    episodes: tuple[Episode, ...]
    skills: tuple[float, ...]

    @property
    def truths(self) -> list[bool]:
        """Whether the standard was met on each day but the first."""
        return [skill > 0.0 for skill in self.skills[1:]]

    @property
    def history(self) -> AssessedHistory:
        """The evidence as the estimate takes it, with what each day truly was; nothing is foretold of the first."""
        later = zip(self.episodes[1:], self.truths, strict=True)
        return AssessedHistory(
            competency=COMPETENCY,
            track=Track.PERFORMANCE,
            episodes=self.episodes,
            shown={one.source_id: truth for one, truth in later},
        )


def clinicians(world: World, count: int, seed: int) -> list[SimulatedClinician]:
    """Return so many clinicians, the same for the same world, count and seed."""
    draw = np.random.default_rng([seed, list(World).index(world)])
    return [_clinician(world, draw) for _ in range(count)]


def _clinician(world: World, draw: np.random.Generator) -> SimulatedClinician:
    gaps = [0, *(int(draw.choice(GAPS_DAYS)) for _ in range(OCCASIONS - 1))]
    skills = _fading(gaps, draw) if world is World.MATCHING else _forgetting(gaps, draw)
    days = [FIRST_DAY + timedelta(days=sum(gaps[: place + 1])) for place in range(OCCASIONS)]
    episodes = tuple(
        Episode(
            track=Track.PERFORMANCE,
            day=day,
            source_id=str(number),
            is_assessed=True,
            answers=_answers(skill + LUCK_OF_A_DAY_SD * draw.standard_normal(), draw),
        )
        for number, (day, skill) in enumerate(zip(days, skills, strict=True))
    )
    return SimulatedClinician(episodes=episodes, skills=tuple(skills))


def _answers(skill: float, draw: np.random.Generator) -> tuple[WeighedAnswer, ...]:
    """A sheet of steps or a form of questions, each as likely."""
    if draw.random() < 0.5:
        return _given(
            skill, draw, np.linspace(EASIEST_STEP, HARDEST_STEP, STEPS).tolist(), STEP_SLOPE, 0.0, STEP_LIKENESS
        )
    easiest = float(draw.choice(EASIEST_QUESTIONS))
    places = np.linspace(easiest, easiest + SPREAD_OF_A_FORM, int(draw.choice(QUESTION_COUNTS))).tolist()
    return _given(skill, draw, places, ANSWER_SLOPE, float(draw.choice(GUESSES)), ANSWER_LIKENESS)


def _given(
    skill: float, draw: np.random.Generator, difficulties: Sequence[float], slope: float, guess: float, likeness: float
) -> tuple[WeighedAnswer, ...]:
    weight = episode_weight(1.0, len(difficulties), likeness)
    return tuple(
        WeighedAnswer(
            slope=slope,
            difficulty=difficulty,
            guess_fraction=guess,
            weight=weight,
            credit_fraction=float(
                draw.random() < chance_right(skill, slope=slope, difficulty=difficulty, guess_fraction=guess)
            ),
        )
        for difficulty in difficulties
    )


def _fading(gaps: Sequence[int], draw: np.random.Generator) -> list[float]:
    """The model's own world: an Ornstein-Uhlenbeck process after one course; being assessed teaches nothing."""
    fade = fade_model(COMPETENCY, Track.PERFORMANCE)
    before = fade.baseline + sqrt(fade.long_run_variance) * draw.standard_normal()
    scatter = sqrt(TAUGHT.scatter_variance) * draw.standard_normal()
    skill = before + TAUGHT.share_fraction * (TAUGHT.target - before) + scatter
    skills = []
    for gap in gaps:
        kept = fade.kept_fraction(gap)
        spread = sqrt(fade.long_run_variance * (1.0 - kept * kept))
        skill = fade.baseline + (skill - fade.baseline) * kept + spread * draw.standard_normal()
        skills.append(skill)
    return skills


def _forgetting(gaps: Sequence[int], draw: np.random.Generator) -> list[float]:
    """Another world: each person's own gain is forgotten with a long tail, more slowly after each occasion."""
    baseline = fade_model(COMPETENCY, Track.PERFORMANCE).baseline
    gain = TRAINED_MEAN + TRAINED_SD * draw.standard_normal() - baseline
    stability = FIRST_STABILITY_DAYS * exp(STABILITY_SD * draw.standard_normal())
    skills = []
    for gap in gaps:
        skills.append(baseline + gain * (1.0 + gap / stability) ** -FORGETTING_EXPONENT)
        stability *= STABILITY_GROWS
    return skills
