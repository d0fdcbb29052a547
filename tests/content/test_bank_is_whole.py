"""The bank as a whole: every design is there, every competency can be asked about, and what can hurt is marked."""

from __future__ import annotations

import re
from functools import cache

import pytest

from quizapp.assessment.families import Danger, Family, FamilyKind, Use
from quizapp.content.library import Library, read_library
from quizapp.ventilation.device_profile import DeviceProfile
from tests.sample_families import CHECKOUT

NUMERIC = [f"N{number:02d}" for number in range(1, 53)]
CHOICE = [f"K{number:02d}" for number in range(1, 17)]
HARD_TO_FILL = ("C1", "C2", "C4", "C8", "C10")
FEWEST = 5
#: Which way an error about oxygen time or amount, volume or relief could hurt: common practice, no source.
DANGEROUS = {
    Danger.TOO_HIGH: {
        *("N02", "N12", "N13", "N18", "N25", "N26", "N27", "N28", "N33", "N37", "N43", "N49", "N52", "N55"),
    },
    Danger.TOO_LOW: {"N19", "N29", "N30", "N31", "N36", "N40", "N50", "N56", "N59"},
}
#: Where a simple rule is not what the device does: what the stem says is assumed, or whose sum it is.
ASSUMED = {
    "N11": "one simple compartment",
    "N19": "ideal device",
    "N20": "hospital ventilator",
    "N23": "one simple compartment",
    "N32": "gas as ideal",
    "N42": "Assume that the patient makes carbon dioxide steadily",
    "N43": "Assume that the patient makes carbon dioxide steadily",
    "N44": "steadily",
}


@cache
def library() -> Library:
    return read_library(CHECKOUT)


def askable(profile: DeviceProfile, competency: str) -> list[str]:
    """The families an assessment may draw on a competency for a device."""
    families = library().families_for(profile, competency)
    return [one.code for one in families if one.use is not Use.PRACTICE and one.counts_for_sign_off]


def test_all_designs_are_there() -> None:
    assert set(library().families) >= {*NUMERIC, *CHOICE}


@pytest.mark.parametrize("profile", library().profiles, ids=lambda profile: profile.slug)
@pytest.mark.parametrize("competency", HARD_TO_FILL)
def test_a_form_can_mark_every_competency_by_itself(competency: str, profile: DeviceProfile) -> None:
    assert len(set(askable(profile, competency))) >= FEWEST


@pytest.mark.parametrize("competency", library().competencies)
def test_every_competency_can_be_asked_and_practised(competency: str) -> None:
    for profile in library().profiles:
        families = library().families_for(profile, competency)
        assert len(askable(profile, competency)) >= 3
        assert sum(one.use is not Use.ASSESSMENT for one in families) >= 2


@pytest.mark.parametrize("family", library().families.values(), ids=lambda family: family.code)
def test_a_family_reads_as_a_situation(family: Family) -> None:
    """Several settings, or cases that each bring their own place; a question that ends as one, and sentences."""
    assert len({text.template for text in family.settings}) >= 3 or len(family.cases) >= 3
    asked = family.stem.template.rstrip()
    assert asked.endswith("?") or family.kind is FamilyKind.ORDER or "Write a minus sign" in asked
    sentences = [idea.says.template for idea in family.wrong_ideas] + [family.keep.template]
    assert all(re.fullmatch(r"[A-Z{].*[.!?]", sentence, re.DOTALL) for sentence in sentences), sentences
    assert all(len(sentence) <= 240 for sentence in sentences)


def test_the_dangerous_direction_is_marked_where_there_is_one() -> None:
    marked: dict[Danger, set[str]] = {danger: set() for danger in Danger}
    for family in library().families.values():
        for blank in family.blanks:
            if blank.danger:
                marked[blank.danger].add(family.code)
    # N59 asks for both ends of the range: too low for the smallest breath, too high for the largest.
    assert marked == {**DANGEROUS, Danger.TOO_HIGH: DANGEROUS[Danger.TOO_HIGH] | {"N59"}}


@pytest.mark.parametrize(("code", "words"), ASSUMED.items())
def test_what_a_simple_rule_assumes_is_said(code: str, words: str) -> None:
    assert words in " ".join(library().families[code].stem.template.split())


def test_ideas_bear_the_same_name_in_several_families() -> None:
    """Only then can two families agree on one."""
    named: dict[str, set[str]] = {}
    for family in library().families.values():
        options = [*family.options, *(option for case in family.cases for option in case.options)]
        for name in {idea.name for idea in family.wrong_ideas} | {one.wrong_idea for one in options if one.wrong_idea}:
            named.setdefault(name, set()).add(family.code)
    shared = {name for name, families in named.items() if len(families) >= 2}
    assert shared >= {"no-baseline", "no-reserve", "no-doubling", "no-dead-space", "device-keeps-the-volume",
                      "needle-proves-ventilation", "baseline-is-fixed", "actual-weight", "dials-first"}  # fmt: skip
