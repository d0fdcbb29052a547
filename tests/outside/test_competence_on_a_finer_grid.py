"""The estimator beside an independent filter on 1301 nodes with the reference library's normal distribution.

Stated bounds: 241 nodes within .001 of 1301 nodes; moment matching within .052, its error where belief is lopsided.
"""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np
import pytest
from scipy.special import expit, ndtr

from quizapp.psychometrics.competence import chance_competent, faded, learned, trained, untrained
from quizapp.psychometrics.competence_gaussian import (
    chance_of_moments,
    faded_moments,
    learned_moments,
    trained_moments,
    untrained_moments,
)
from quizapp.psychometrics.fade_model import TAUGHT, FadeModel
from quizapp.psychometrics.item_response import WeighedAnswer, chance_right, difficulty_of, episode_weight

GRID = np.linspace(-6.5, 6.5, 1301)
EDGES = (GRID[1:] + GRID[:-1]) / 2
HALF_LIFE = 335.0
MODEL = FadeModel(half_life_days=HALF_LIFE)
GAPS = (1, 3, 9, 20, 33, 61, 90, 120, 185, 270, 365, 540)


@lru_cache
def spread(share: float, base: float, variance: float) -> Any:
    below = ndtr((EDGES[None, :] - (base + GRID * share)[:, None]) / np.sqrt(variance))
    return np.diff(below, axis=1, prepend=0.0, append=1.0)


def fade(mass: Any, days: int) -> Any:
    kept = 2 ** (-days / HALF_LIFE)
    return mass @ spread(kept, -1.5 * (1 - kept), 1 - kept * kept)


def learn(mass: Any, answers: Sequence[WeighedAnswer]) -> Any:
    for one in answers:
        right = one.guess_fraction + (1 - one.guess_fraction) * expit(one.slope * (GRID - one.difficulty))
        mass = (
            mass * right ** (one.weight * one.credit_fraction) * (1 - right) ** (one.weight * (1 - one.credit_fraction))
        )
    return mass / mass.sum()


def chance(mass: Any) -> float:
    return float(mass[651:].sum() + mass[650] / 2)


@dataclass(frozen=True)
class History:
    is_taught: bool
    events: tuple[tuple[int, tuple[WeighedAnswer, ...]], ...]


def history(draw: random.Random, *, is_taught: bool) -> History:
    """Two to six days of answers of all kinds by somebody with a skill of their own."""
    skill = draw.gauss(0.3, 1.0)
    events = []
    for _ in range(draw.randint(2, 6)):
        count = draw.randint(1, 12)
        slope, guess, share = draw.choice(((1.3, 0.0, 0.9), (0.8, 0.25, 0.75), (0.8, 0.02, 0.75), (0.8, 0.02, 0.6)))
        difficulty = difficulty_of(share, slope=slope, guess_fraction=guess)
        chance_of_right = chance_right(skill, slope=slope, difficulty=difficulty, guess_fraction=guess)
        weight = episode_weight(draw.choice((0.5, 1.0)), count, 0.1 if slope > 1 else 0.05)
        answers = tuple(
            WeighedAnswer(slope=slope, difficulty=difficulty, guess_fraction=guess, weight=weight,
                          credit_fraction=0.5 if draw.random() < 0.1 else float(draw.random() < chance_of_right))
            for _ in range(count)
        )  # fmt: skip
        events.append((draw.choice(GAPS), answers))
    return History(is_taught, tuple(events))


def errors(one: History) -> tuple[list[float], list[float]]:
    """How far grid and moments lie from the fine grid after each day of a history."""
    fine = np.diff(ndtr(EDGES + 1.5), prepend=0.0, append=1.0)
    belief, moments = untrained(MODEL), untrained_moments(MODEL)
    if one.is_taught:
        fine, belief, moments = fine @ spread(0.4, 1.2, 0.64), trained(belief, TAUGHT), trained_moments(moments, TAUGHT)
    on_grid, by_moments = [], []
    for days, answers in one.events:
        fine = learn(fade(fine, days), answers)
        belief = learned(faded(belief, MODEL, days), answers)
        moments = learned_moments(faded_moments(moments, MODEL, days), answers)
        on_grid.append(abs(chance_competent(belief, MODEL) - chance(fine)))
        by_moments.append(abs(chance_of_moments(moments) - chance(fine)))
    return on_grid, by_moments


def worst(seed: int, count: int, *, taught_share: float) -> tuple[float, float]:
    draw = random.Random(seed)
    found = [errors(history(draw, is_taught=draw.random() < taught_share)) for _ in range(count)]
    return max(max(grid) for grid, _ in found), max(max(moments) for _, moments in found)


def test_eighty_random_histories_of_people_who_were_taught() -> None:
    on_grid, by_moments = worst(11, 80, taught_share=1.0)
    assert on_grid < 0.001
    assert by_moments < 0.03


def test_twenty_random_histories_of_untrained_people() -> None:
    on_grid, by_moments = worst(12, 20, taught_share=0.0)
    assert on_grid < 0.001
    assert by_moments < 0.06


@pytest.mark.soak
def test_two_hundred_random_histories() -> None:
    on_grid, by_moments = worst(13, 200, taught_share=0.75)
    assert on_grid < 0.001
    assert by_moments < 0.06
