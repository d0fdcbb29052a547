"""The numbers behind the estimate of competence, each with its reason: assumptions until a service has outcomes.

A change of any of them needs a new MODEL_VERSION and `quizapp competence rebuild`.
"""

from __future__ import annotations

from collections.abc import Mapping
from enum import StrEnum
from functools import cache
from types import MappingProxyType

from quizapp.psychometrics.fade_model import FadeModel

MODEL_VERSION = 1


class Track(StrEnum):
    """What is estimated apart and never pooled: perfect answers say nothing about hands."""

    KNOWLEDGE = "knowledge"
    PERFORMANCE = "performance"


class SkillKind(StrEnum):
    """How a skill of the hands fades."""

    MIXED = "mixed"
    ACCURACY = "accuracy"
    SPEED = "speed"


# Half of a gain is lost after about 6.5 months where accuracy counts, 11 for mixed tasks, 13 where speed counts:
# Tatel & Ackerman, Psychological Bulletin, doi 10.1037/bul0000481. No curve for a transport ventilator was found.
PERFORMANCE_HALF_LIFE_DAYS: Mapping[SkillKind, int] = MappingProxyType(
    {SkillKind.MIXED: 335, SkillKind.ACCURACY: 198, SkillKind.SPEED: 396}
)
KNOWLEDGE_HALF_LIFE_DAYS = 365
"""Knowledge fades more slowly than skill; the figure is an assumption."""
SKILL_KINDS: Mapping[str, SkillKind] = MappingProxyType(
    {
        "C4": SkillKind.ACCURACY,
        "C5": SkillKind.ACCURACY,
        "C6": SkillKind.ACCURACY,
        "C8": SkillKind.ACCURACY,
        "C9": SkillKind.ACCURACY,
        "C10": SkillKind.SPEED,
    }
)
"""Ours, for the framework shipped; a competency that is not named fades like a mixed task."""

PRACTISE_BELOW_FRACTION = 0.80
CONCERN_BELOW_FRACTION = 0.60
"""Thresholds of the chance to meet the standard. Ours (policy)."""

STEP_SLOPE = 1.3
STEP_JUST_COMPETENT_FRACTION = 0.90
STEP_LIKENESS = 0.10
"""Steps of one checklist; twelve of them weigh .476 each. Assumptions."""
ANSWER_SLOPE = 0.8
ANSWER_JUST_COMPETENT_FRACTION = 0.75
ANSWER_LIKENESS = 0.05
NUMBER_GUESSED_FRACTION = 0.02
"""Answers of one sitting; the author's own share of just competent people goes first. Assumptions."""
LEAST_ABOVE_GUESSING_FRACTION = 0.05
"""A share that guessing alone nearly reaches would make a question say anything; it is raised to this much above."""

ASSESSED_TRUST = 1.0
SELF_TEST_TRUST = 0.5
PROMPTED_CREDIT = 0.5
"""Who assessed an episode, and what a step done on a prompt earned. Policy."""


@cache
def fade_model(competency: str, track: Track) -> FadeModel:
    """Return how a competency fades on a track."""
    if track is Track.KNOWLEDGE:
        return FadeModel(half_life_days=KNOWLEDGE_HALF_LIFE_DAYS)
    return FadeModel(half_life_days=PERFORMANCE_HALF_LIFE_DAYS[SKILL_KINDS.get(competency, SkillKind.MIXED)])
