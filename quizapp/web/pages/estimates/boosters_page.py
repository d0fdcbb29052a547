"""What the page of boosters shows: one line a person, the chance with its band and what would help."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from quizapp.assessment.competence_advice import Advice
from quizapp.assessment.competence_scale import WORDS, expected_fraction
from quizapp.assessment.competence_settings import Track
from quizapp.services.competence_calibration import TrackCalibration
from quizapp.services.competence_concerns import BaseConcerns, FadedSkill, PersonConcern
from quizapp.web.components.competence_chart import about_in_hundred
from quizapp.web.filters import short_day
from quizapp.web.pages.estimates.calibration_page import NAMES


@dataclass(frozen=True, kw_only=True)
class PersonShown:
    """One person in words: the most pressing skill in full, and which others there are."""

    name: str
    skill: str
    is_critical: bool
    advice: str
    chance: str
    band: str
    when: str
    helps: str
    procedure: str
    more: str


@dataclass(frozen=True, kw_only=True)
class BoostersShown:
    """The whole page in words."""

    finding: str
    trust: str
    people: tuple[PersonShown, ...]


def shown_concerns(found: BaseConcerns, tracks: Sequence[TrackCalibration]) -> BoostersShown:
    """Return the page of one base."""
    is_checked = all(one.is_calibrated for one in tracks)
    return BoostersShown(
        finding=_finding(found),
        trust="checked against outcomes here" if is_checked else "uncalibrated",
        people=tuple(_person(one) for one in found.people),
    )


def _finding(found: BaseConcerns) -> str:
    concerns = sum(one.is_a_concern for one in found.people)
    if not found.people:
        return "The estimate proposes nothing to anybody here."
    whom = "1 person" if len(found.people) == 1 else f"{len(found.people)} people"
    sentence = f"For {whom} an earlier booster is worth a word"
    return f"{sentence}, a concern for {concerns} of them." if concerns else f"{sentence}."


def _person(person: PersonConcern) -> PersonShown:
    first, *others = person.skills
    estimate = first.estimate
    low, high = (round(100 * expected_fraction(estimate.track, skill)) for skill in estimate.band)
    return PersonShown(
        name=person.name,
        skill=_name(first),
        is_critical=first.is_critical,
        advice=first.advice.words,
        chance=about_in_hundred(estimate.chance_fraction),
        band=f"{low} to {high} {WORDS[estimate.track]}",
        when=_when(first),
        helps="5 minutes of practice" if estimate.track is Track.KNOWLEDGE else "watched again, 12 min",
        procedure=first.procedures[0] if first.procedures else "",
        more=_others(others),
    )


def _others(skills: Sequence[FadedSkill]) -> str:
    """Name the others by track, such as "Also hands at C4, C5; knowledge at C1."."""
    codes = {
        track: sorted({one.estimate.competency for one in skills if one.estimate.track is track}, key=_by_number)
        for track in (Track.PERFORMANCE, Track.KNOWLEDGE)
    }
    parts = [f"{NAMES[track].lower()} at {', '.join(found)}" for track, found in codes.items() if found]
    return f"Also {'; '.join(parts)}." if parts else ""


def _by_number(code: str) -> tuple[int, str]:
    return len(code), code


def _name(one: FadedSkill) -> str:
    return f"{one.estimate.competency} {NAMES[one.estimate.track].lower()}"


def _when(one: FadedSkill) -> str:
    until = f"; signed off until {short_day(one.signed_off_until)}" if one.signed_off_until else ""
    if one.advice is Advice.BOOSTER_SOON:
        return f"under the mark from {short_day(one.under_mark_on)}{until}"
    return f"under the mark today{until}"
