"""Two sheets of one performance, step by step: where the assessors agree, and where a person has to look."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from quizapp.assessment.observation_rules import Decision, ObservationResult
from quizapp.assessment.observation_state import StepMark
from quizapp.assessment.procedures import Procedure


@dataclass(frozen=True, kw_only=True)
class StepPair:
    """One step as each of the two marked it; None where one of them left it unmarked."""

    letter: str
    text: str
    is_critical: bool
    first: StepMark | None
    second: StepMark | None
    first_prompted: bool
    second_prompted: bool

    @property
    def agrees(self) -> bool:
        """Whether both say the same of this step, the prompt included."""
        return (self.first, self.first_prompted) == (self.second, self.second_prompted)


@dataclass(frozen=True, kw_only=True)
class DoubleComparison:
    """Both sheets of one performance side by side; totals run from 0 to 1, None where no step was judged."""

    steps: tuple[StepPair, ...]
    decisions: tuple[Decision, Decision]
    totals: tuple[Fraction | None, Fraction | None]
    broken_only_first: tuple[tuple[str, str], ...]
    broken_only_second: tuple[tuple[str, str], ...]

    @property
    def same_decision(self) -> bool:
        """Whether the written rule says the same of both sheets."""
        return self.decisions[0] is self.decisions[1]

    @property
    def agreeing(self) -> int:
        """Number of steps on which both say the same."""
        return sum(step.agrees for step in self.steps)

    @property
    def differing(self) -> tuple[StepPair, ...]:
        """The steps on which they differ, as listed."""
        return tuple(step for step in self.steps if not step.agrees)


def compare_sheets(procedure: Procedure, first: ObservationResult, second: ObservationResult) -> DoubleComparison:
    """Lay two results of the same performance side by side; `procedure` is the list both were marked on."""
    one, two = dict(first.marks), dict(second.marks)
    broken_one = {(pair.first, pair.then) for pair in first.broken}
    broken_two = {(pair.first, pair.then) for pair in second.broken}
    return DoubleComparison(
        steps=tuple(
            StepPair(
                letter=step.letter,
                text=step.text,
                is_critical=step.critical,
                first=one.get(step.letter),
                second=two.get(step.letter),
                first_prompted=step.letter in first.prompted,
                second_prompted=step.letter in second.prompted,
            )
            for step in procedure.steps
        ),
        decisions=(first.decision, second.decision),
        totals=(first.steps_fraction, second.steps_fraction),
        broken_only_first=tuple(sorted(broken_one - broken_two)),
        broken_only_second=tuple(sorted(broken_two - broken_one)),
    )
