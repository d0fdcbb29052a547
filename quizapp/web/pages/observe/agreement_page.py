"""Figures of agreement in words: each with its number of performances, kappa never without prevalence beside it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from quizapp.assessment.assessor_agreement import AgreementReport, AssessorAgreement
from quizapp.assessment.procedures import Procedure
from quizapp.psychometrics.agreement import DOUBLE_OBSERVATIONS_NEEDED, Agreement
from quizapp.psychometrics.intraclass import IntraclassCorrelation


@dataclass(frozen=True, kw_only=True)
class StepRow:
    """One step over performances; every figure is "" where nothing could be compared."""

    key: str
    text: str
    count: str
    alike: str
    prevalence: str
    kappa: str
    adjusted: str


@dataclass(frozen=True, kw_only=True)
class AssessorRow:
    """One assessor against the others: the count, and a sentence where there are too few."""

    name: str
    count: int
    words: str


def figures(report: AgreementReport) -> tuple[tuple[str, str], ...]:
    """Return the figures over all double observations as pairs of name and value."""
    rows = [("Double observations (performances)", str(report.performances))]
    if report.decisions is not None:
        alike = report.decisions
        rows += [
            ("Decisions compared (performances)", str(alike.performances)),
            ("Same decision", _percent(alike.observed_fraction)),
            ("Prevalence of “shown”", _percent(alike.prevalence_fractions[0])),
            ("Kappa", _kappa(alike)),
            ("Twice the agreement less one", f"{alike.prevalence_adjusted_kappa:.2f}"),
        ]
    if report.totals is not None:
        rows.append(("ICC(1,1) of the totals", _icc(report.totals)))
    return tuple(rows)


def step_rows(procedure: Procedure, found: Mapping[str, Agreement | None]) -> tuple[StepRow, ...]:
    """Return each step with its own number of performances."""
    return tuple(_step(letter, procedure.step(letter).text, alike) for letter, alike in found.items())


def assessor_rows(found: Sequence[AssessorAgreement], names: Mapping[str, str]) -> tuple[AssessorRow, ...]:
    """Return the assessors by name; under the number needed there is no figure and no verdict."""
    rows = [
        AssessorRow(name=names[one.assessor_id], count=one.performances, words=_assessor_words(one)) for one in found
    ]
    return tuple(sorted(rows, key=lambda row: row.name))


def _assessor_words(one: AssessorAgreement) -> str:
    if one.report is None:
        return f"Too few to say anything: {one.missing} of {DOUBLE_OBSERVATIONS_NEEDED} are missing."
    return "; ".join(f"{name}: {value}" for name, value in figures(one.report)[1:])


def _step(letter: str, text: str, alike: Agreement | None) -> StepRow:
    if alike is None:
        return StepRow(key=letter, text=text, count="0", alike="", prevalence="", kappa="", adjusted="")
    return StepRow(
        key=letter,
        text=text,
        count=str(alike.performances),
        alike=_percent(alike.observed_fraction),
        prevalence=_percent(alike.prevalence_fractions[0]),
        kappa=_kappa(alike),
        adjusted=f"{alike.prevalence_adjusted_kappa:.2f}",
    )


def _percent(share: float) -> str:
    return f"{100 * share:.0f}\N{NO-BREAK SPACE}%"


def _kappa(alike: Agreement) -> str:
    if alike.kappa is None:
        return "none: one and the same answer every time"
    if alike.kappa_standard_error is None or alike.performances < DOUBLE_OBSERVATIONS_NEEDED:
        return f"{alike.kappa:.2f}"
    return f"{alike.kappa:.2f} (standard error {alike.kappa_standard_error:.2f})"


def _icc(found: IntraclassCorrelation) -> str:
    if found.single is None or found.lower is None or found.upper is None:
        return f"none: the totals never differ (n {found.performances})"
    return f"{found.single:.2f} (95 % from {found.lower:.2f} to {found.upper:.2f}), n {found.performances}"
