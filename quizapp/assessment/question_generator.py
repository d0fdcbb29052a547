"""Draws questions from a family: the same family, profile and seed give the same question on every machine.

Numbers are redrawn while they break the family's condition, leave the stated range or let a wrong idea be marked right.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from quizapp.assessment import freezing
from quizapp.assessment.drawing import (
    BlankValue,
    DrawFault,
    Numbers,
    Refusal,
    condition_holds,
    draw_numbers,
    refusal,
    work_out,
)
from quizapp.assessment.families import Family
from quizapp.assessment.formula import Held
from quizapp.assessment.number_stream import ALGORITHM, NumberStream
from quizapp.assessment.profile_values import known_values, profile_words, suits
from quizapp.assessment.questions import FORMAT, Question
from quizapp.ventilation.device_profile import DeviceProfile

MOST_ATTEMPTS = 2000
MOST_REPEATS = 50


@dataclass(frozen=True)
class DrawReport:
    """What happened to the numbers drawn for a number of seeds.

    `kept_share`: of the draws that met the condition, how many may be asked. `unnamed_share`: of those kept, how
    many hold two wrong ideas that cannot be told apart. `out_of_range` counts keys outside the stated range.
    """

    drawn: int
    met_condition: int
    kept: int
    unnamed: int
    out_of_range: int

    @property
    def kept_share(self) -> float:
        """The share (0 to 1) of draws that may be asked."""
        return self.kept / self.met_condition if self.met_condition else 0.0

    @property
    def unnamed_share(self) -> float:
        """The share (0 to 1) of kept draws with an unnamed pair."""
        return self.unnamed / self.kept if self.kept else 0.0


def draw_question(
    family: Family,
    profile: DeviceProfile,
    seed: int,
    *,
    other_profile: DeviceProfile | None = None,
    unlike: Sequence[Question] = (),
) -> Question:
    """Draw one question.

    seed: any whole number from 0. other_profile: see `other_profile_for`. unlike: questions this person met
    already; other numbers are drawn wherever the family has others. Raises DrawFault if the family does not suit
    the profile, or nothing can be asked within the attempts allowed.
    """
    known = _known(family, profile, other_profile)
    stream = NumberStream(family.code, seed)
    for _ in range(MOST_REPEATS):
        numbers, blanks = _accepted(family, stream, known)
        question = _freeze(family, profile, seed, stream, numbers, blanks)
        if not any(question.asks_the_same_as(earlier) for earlier in unlike):
            break
    return question


def draw_report(
    family: Family, profile: DeviceProfile, draws: int, *, other_profile: DeviceProfile | None = None
) -> DrawReport:
    """Draw numbers only, so often, and count what would be asked. Raises DrawFault."""
    known = _known(family, profile, other_profile)
    met = kept = unnamed = out_of_range = 0
    for seed in range(draws):
        numbers = draw_numbers(family, NumberStream(family.code, seed), known)
        if not condition_holds(family, numbers):
            continue
        blanks = work_out(family, numbers)
        reason = refusal(blanks)
        met += 1
        kept += reason is None
        unnamed += reason is None and any(blank.has_unnamed_pair for blank in blanks)
        out_of_range += reason is Refusal.OUT_OF_RANGE
    return DrawReport(draws, met, kept, unnamed, out_of_range)


def _known(family: Family, profile: DeviceProfile, other: DeviceProfile | None) -> Mapping[str, Held]:
    if not suits(family, profile):
        condition = family.requires.text if family.requires else ""
        raise DrawFault(f"{family.code} cannot be asked about {profile.label}: it requires {condition}")
    return known_values(profile, other)


def _accepted(
    family: Family, stream: NumberStream, known: Mapping[str, Held]
) -> tuple[Numbers, tuple[BlankValue, ...]]:
    reason: Refusal | None = None
    for _ in range(MOST_ATTEMPTS):
        numbers = draw_numbers(family, stream, known)
        if not condition_holds(family, numbers):
            reason = Refusal.CONDITION
            continue
        blanks = work_out(family, numbers)
        reason = refusal(blanks)
        if reason is None:
            return numbers, blanks
    raise DrawFault(f"{family.code}: none of {MOST_ATTEMPTS} draws could be asked; at the last one {reason}")


def _freeze(
    family: Family,
    profile: DeviceProfile,
    seed: int,
    stream: NumberStream,
    numbers: Numbers,
    blanks: tuple[BlankValue, ...],
) -> Question:
    drawn = freezing.drawn_numbers(family, numbers)
    printed = freezing.printed_names(family, numbers, profile_words(profile), drawn)
    keys = freezing.printed_keys(blanks)
    return Question(
        format=FORMAT,
        algorithm=ALGORITHM,
        seed=seed,
        family=family.code,
        title=family.title,
        kind=family.kind,
        purpose=family.purpose,
        use=family.use,
        competencies=family.competencies,
        group=family.group,
        content_hash=family.content_hash,
        profile_code=profile.code,
        profile_revision=profile.revision,
        case=numbers.case.name if numbers.case else "",
        stem=freezing.stem(family, stream, printed),
        drawn=drawn,
        figures=freezing.figures(family, numbers, printed),
        blanks=tuple(freezing.blank(blank, printed, keys) for blank in blanks),
        options=freezing.options(family, numbers, stream, printed),
        steps=freezing.steps(family, stream, printed),
        worked=freezing.fill("feedback worked", family.worked, printed, keys),
        keep=freezing.fill("feedback keep", family.keep, printed, keys),
    )
