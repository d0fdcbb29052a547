"""Kappa and ICC(1,1) against published tables and against figures of three statistics libraries.

agreement_figures.json was computed by scikit-learn, statsmodels and pingouin in the versions it names; the libraries
themselves are not needed to run this.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from quizapp.psychometrics.agreement import Weighting, agreement, weighted_kappa
from quizapp.psychometrics.intraclass import one_way_intraclass

FIGURES: dict[str, Any] = json.loads(Path(__file__).with_name("agreement_figures.json").read_text(encoding="utf-8"))
# Shrout & Fleiss 1979, Psychol Bull 86:420-428, table 2: six targets, four judges.
SIX_TARGETS = [[9, 2, 5, 8], [6, 1, 3, 2], [8, 4, 6, 8], [7, 1, 2, 6], [10, 5, 6, 9], [6, 2, 4, 7]]


def test_the_figures_name_what_made_them() -> None:
    assert {"scikit-learn", "statsmodels", "pingouin"} <= set(FIGURES["made_with"])


@pytest.mark.parametrize("known", FIGURES["kappa"])
def test_kappa_against_scikit_learn_and_statsmodels(known: dict[str, Any]) -> None:
    found = agreement(known["table"])
    assert found.kappa == pytest.approx(known["kappa_sklearn"], abs=1e-12)
    assert found.kappa == pytest.approx(known["kappa_statsmodels"], abs=1e-12)
    assert found.kappa_standard_error == pytest.approx(known["standard_error_statsmodels"], abs=1e-12)
    for weighting in Weighting:
        ours = weighted_kappa(known["table"], weighting)
        assert ours == pytest.approx(known[f"{weighting.value}_sklearn"], abs=1e-12)
        assert ours == pytest.approx(known[f"{weighting.value}_statsmodels"], abs=1e-12)


@pytest.mark.parametrize(("table", "kappa"), [([[40, 9], [6, 45]], 0.70), ([[80, 10], [5, 5]], 0.32)])
def test_the_same_agreement_with_two_kappas(table: list[list[int]], kappa: float) -> None:
    """Feinstein & Cicchetti 1990, J Clin Epidemiol 43:543-549 (tables from memory): 85 % agreement both times."""
    found = agreement(table)
    assert found.observed_fraction == pytest.approx(0.85)
    assert found.prevalence_adjusted_kappa == pytest.approx(0.70)
    assert found.kappa == pytest.approx(kappa, abs=0.005)


def test_the_published_intraclass_correlation() -> None:
    """Table 4 of Shrout & Fleiss prints ICC(1,1) = .17 for their table 2."""
    found = one_way_intraclass(SIX_TARGETS)
    assert (found.performances, found.assessors_each) == (6, 4)
    assert found.single == pytest.approx(0.17, abs=0.005)


@pytest.mark.parametrize("known", FIGURES["icc"])
def test_intraclass_correlation_against_pingouin(known: dict[str, Any]) -> None:
    """Value and 95 % interval of case 1; pingouin rounds its interval to two places."""
    found = one_way_intraclass(known["totals"])
    assert known["type"] == "ICC(1,1)"
    assert found.single == pytest.approx(known["icc"], abs=1e-9)
    assert found.lower == pytest.approx(known["low"], abs=0.0051)
    assert found.upper == pytest.approx(known["high"], abs=0.0051)
