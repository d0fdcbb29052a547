"""How far assessors agree over many double observations; n counts performances, never the steps inside one.

Steps of one performance hang together, so each step is judged by itself over performances.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from quizapp.assessment.observation_rules import Decision
from quizapp.assessment.observation_state import StepMark
from quizapp.psychometrics.agreement import DOUBLE_OBSERVATIONS_NEEDED, Agreement, agreement
from quizapp.psychometrics.intraclass import IntraclassCorrelation, one_way_intraclass

POSSIBLE_ANSWERS = 2


@dataclass(frozen=True, kw_only=True)
class DoubleObservation:
    """One performance that two assessors marked independently; the sheet opened first comes first."""

    procedure: str
    assessor_ids: tuple[str, str]
    decisions: tuple[Decision, Decision]
    marks: tuple[Mapping[str, StepMark], Mapping[str, StepMark]]
    totals: tuple[float | None, float | None]

    def seen_by(self, assessor_id: str) -> DoubleObservation:
        """The same with that assessor first."""
        if self.assessor_ids[0] == assessor_id:
            return self
        return DoubleObservation(
            procedure=self.procedure,
            assessor_ids=self.assessor_ids[::-1],
            decisions=self.decisions[::-1],
            marks=self.marks[::-1],
            totals=self.totals[::-1],
        )


@dataclass(frozen=True, kw_only=True)
class AgreementReport:
    """What many double observations say.

    `decisions` compares shown with not yet (an incomplete one is left out); `totals` compares the weighted share of
    the steps. Each carries its own number of performances; None where there is nothing to compare.
    """

    performances: int
    decisions: Agreement | None
    totals: IntraclassCorrelation | None


@dataclass(frozen=True, kw_only=True)
class AssessorAgreement:
    """One assessor against all others: the number of double observations, and no figure before there are enough."""

    assessor_id: str
    performances: int
    report: AgreementReport | None

    @property
    def missing(self) -> int:
        """How many double observations are missing before anything is said."""
        return max(0, DOUBLE_OBSERVATIONS_NEEDED - self.performances)


def agreement_over(doubles: Sequence[DoubleObservation]) -> AgreementReport:
    """Compare decisions and totals over double observations."""
    rule = [one.decisions for one in doubles if Decision.INCOMPLETE not in one.decisions]
    totals = [[a, b] for a, b in (one.totals for one in doubles) if a is not None and b is not None]
    return AgreementReport(
        performances=len(doubles),
        decisions=_two_by_two([(a is Decision.SHOWN, b is Decision.SHOWN) for a, b in rule]),
        totals=one_way_intraclass(totals) if len(totals) >= POSSIBLE_ANSWERS else None,
    )


def step_agreement(doubles: Iterable[DoubleObservation], letters: Sequence[str]) -> dict[str, Agreement | None]:
    """Compare each step over the performances in which both assessors say done or not done of it.

    `doubles` are of one procedure; `letters` its steps.
    """
    known = list(doubles)
    judged = (StepMark.DONE, StepMark.NOT_DONE)
    found: dict[str, Agreement | None] = {}
    for letter in letters:
        pairs = [(one.marks[0].get(letter), one.marks[1].get(letter)) for one in known]
        found[letter] = _two_by_two(
            [(a is StepMark.DONE, b is StepMark.DONE) for a, b in pairs if a in judged and b in judged]
        )
    return found


def agreement_of_assessor(doubles: Iterable[DoubleObservation], assessor_id: str) -> AssessorAgreement:
    """Compare one assessor with the others; under DOUBLE_OBSERVATIONS_NEEDED nothing is said (policy)."""
    own = [one.seen_by(assessor_id) for one in doubles if assessor_id in one.assessor_ids]
    enough = len(own) >= DOUBLE_OBSERVATIONS_NEEDED
    return AssessorAgreement(
        assessor_id=assessor_id, performances=len(own), report=agreement_over(own) if enough else None
    )


def _two_by_two(pairs: Sequence[tuple[bool, bool]]) -> Agreement | None:
    """Rows: the first assessor says yes, says no; columns: the second."""
    if not pairs:
        return None
    return agreement([[pairs.count((row, column)) for column in (True, False)] for row in (True, False)])
