"""The worked history of the estimator: one course, two quizzes, two watched checklists."""

from __future__ import annotations

from quizapp.psychometrics.fade_model import FadeModel
from quizapp.psychometrics.item_response import WeighedAnswer, episode_weight

MIXED = FadeModel(half_life_days=335)


def evenly(low: float, high: float, count: int) -> list[float]:
    return [low + (high - low) * number / (count - 1) for number in range(count)]


def quiz(right: int) -> list[WeighedAnswer]:
    """Ten choice questions of which the first `right` were answered right."""
    weight = episode_weight(1.0, 10, 0.05)
    return [
        WeighedAnswer(
            slope=0.8, difficulty=difficulty, guess_fraction=0.2, credit_fraction=float(place < right), weight=weight
        )
        for place, difficulty in enumerate(evenly(-1, 1, 10))
    ]


def checklist(right: int) -> list[WeighedAnswer]:
    """Twelve steps of which the first `right` were done alone."""
    weight = episode_weight(1.0, 12, 0.1)
    return [
        WeighedAnswer(
            slope=1.3, difficulty=difficulty, guess_fraction=0.0, credit_fraction=float(place < right), weight=weight
        )
        for place, difficulty in enumerate(evenly(-1.5, 1, 12))
    ]


def one_answer(credit: float, *, guess: float = 0.0, weight: float = 1.0, slope: float = 1.0) -> WeighedAnswer:
    return WeighedAnswer(slope=slope, difficulty=0.0, guess_fraction=guess, credit_fraction=credit, weight=weight)
