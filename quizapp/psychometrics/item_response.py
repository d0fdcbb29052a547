"""What one answer or one step says about a skill: the three-parameter logistic curve, weights, difficulties."""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, log, log1p


@dataclass(frozen=True, kw_only=True)
class WeighedAnswer:
    """One answer or step as evidence.

    `slope` above 0; `difficulty` on the scale of the skill; `guess_fraction` from 0 to below 1: the chance to be right
    without any skill; `credit_fraction` 0 to 1: what the answer earned; `weight` from 0 up: how much it counts.
    """

    slope: float
    difficulty: float
    guess_fraction: float
    credit_fraction: float
    weight: float

    def __post_init__(self) -> None:
        if not (self.slope > 0 and 0 <= self.guess_fraction < 1 and 0 <= self.credit_fraction <= 1):
            raise ValueError(f"no evidence: {self}")
        if not self.weight >= 0:
            raise ValueError(f"a weight lies at or above 0, not at {self.weight}")


def log_logistic(logit: float) -> float:
    """Give log(1 / (1 + exp(-logit))) without overflow, for any finite logit."""
    return -log1p(exp(-logit)) if logit >= 0 else logit - log1p(exp(logit))


def chance_right(skill: float, *, slope: float, difficulty: float, guess_fraction: float = 0.0) -> float:
    """Give the chance (0 to 1) that a person of this skill is right.

    Source: Birnbaum's three-parameter model, in Lord & Novick 1968, chapter 17 (from memory).
    """
    return guess_fraction + (1.0 - guess_fraction) * exp(log_logistic(slope * (skill - difficulty)))


def difficulty_of(just_competent_fraction: float, *, slope: float, guess_fraction: float = 0.0) -> float:
    """Give the difficulty at which a person exactly at the standard (skill 0) is right with the chance given.

    `just_competent_fraction` lies above `guess_fraction` and below 1; raises ValueError outside.
    """
    if not guess_fraction < just_competent_fraction < 1:
        raise ValueError(
            f"a just competent person is right with a chance between {guess_fraction} and 1, "
            f"not {just_competent_fraction}"
        )
    known = (just_competent_fraction - guess_fraction) / (1.0 - guess_fraction)
    return -log(known / (1.0 - known)) / slope


def episode_weight(trust: float, count: int, likeness: float) -> float:
    """Give the weight of each of `count` answers (1 and up) of one episode, which are no independent witnesses.

    `trust`: weight of the source, 0 to 1. `likeness`: correlation within an episode, 0 to 1.
    Source: the design effect 1 + (n - 1) rho, Kish 1965, Survey Sampling.
    """
    if count < 1:
        raise ValueError(f"an episode has at least one answer, not {count}")
    return trust / (1.0 + (count - 1) * likeness)
