"""Says a skill in a unit people know: of a hundred usual steps or questions, how many would be done alone or right."""

from __future__ import annotations

from math import log

from quizapp.assessment import competence_settings as settings
from quizapp.assessment.competence_settings import Track
from quizapp.psychometrics.item_response import chance_right, difficulty_of

SCALES = {
    Track.KNOWLEDGE: (
        settings.ANSWER_SLOPE, settings.NUMBER_GUESSED_FRACTION, settings.ANSWER_JUST_COMPETENT_FRACTION,
    ),
    Track.PERFORMANCE: (settings.STEP_SLOPE, 0.0, settings.STEP_JUST_COMPETENT_FRACTION),
}  # fmt: skip
WORDS = {Track.KNOWLEDGE: "questions right, of 100", Track.PERFORMANCE: "steps done alone, of 100"}


def standard_fraction(track: Track) -> float:
    """Give the share (0 to 1) of somebody exactly at the standard."""
    return SCALES[track][2]


def expected_fraction(track: Track, skill: float) -> float:
    """Give the share (0 to 1) of usual questions or steps that a skill (logits above the standard) gets right."""
    slope, guess, share = SCALES[track]
    difficulty = difficulty_of(share, slope=slope, guess_fraction=guess)
    return chance_right(skill, slope=slope, difficulty=difficulty, guess_fraction=guess)


def skill_of(track: Track, fraction: float) -> float:
    """Give the skill (logits above the standard) that gets a share right; the share lies above guessing and below 1."""
    slope, guess, share = SCALES[track]
    known = (fraction - guess) / (1.0 - guess)
    return difficulty_of(share, slope=slope, guess_fraction=guess) + log(known / (1.0 - known)) / slope
