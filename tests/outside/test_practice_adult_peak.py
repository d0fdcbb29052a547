"""Common practice, no source: the peak of an adult usually lies between 20 and 30 cmH2O."""

import dataclasses
from functools import cache

import pytest

from quizapp.assessment.families import RangeDraw
from quizapp.assessment.formula import parse_formula
from quizapp.content.family_draws import draw_faults, usual_faults
from quizapp.content.library import Library, read_library
from quizapp.ventilation.constants import USUAL_ADULT_PEAK_CMH2O
from tests.sample_families import CHECKOUT


@cache
def library() -> Library:
    return read_library(CHECKOUT)


def test_every_family_lies_inside_or_says_why_not() -> None:
    assert USUAL_ADULT_PEAK_CMH2O == (20, 30)
    faults = [
        fault
        for profile in library().profiles
        for family in library().families_for(profile)
        for fault in usual_faults(family, profile)
    ]
    assert faults == []


@pytest.mark.parametrize(("low", "high", "warned"), [("20", "30", False), ("19", "30", True), ("20", "31", True)])
def test_a_peak_outside_is_warned_about(low: str, high: str, warned: bool) -> None:
    family = library().family("N14")
    peak = next(design for design in family.draws if design.name == "peak")
    assert isinstance(peak, RangeDraw)
    wider = dataclasses.replace(peak, low=parse_formula(low), high=parse_formula(high))
    changed = dataclasses.replace(family, draws=(wider,))
    found = [fault for fault in draw_faults(changed, library().profiles, 50) if "is usual" in fault.message]
    assert bool(found) is warned
    assert all(fault.level == "warning" for fault in found)
    said = dataclasses.replace(changed, draws=(dataclasses.replace(wider, unusual="a reason"),))
    assert not usual_faults(said, library().profiles[0])
