"""Published and independently computed values of agreement, intervals and forms; each row names its source."""

from __future__ import annotations

import csv
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from quizapp.psychometrics.agreement import agreement
from quizapp.psychometrics.binomial_form import form_chances, shortest_form
from quizapp.psychometrics.intervals import clopper_pearson, wilson
from quizapp.psychometrics.poisson_binomial import chance_of_at_least

ROWS = list(csv.DictReader((Path(__file__).parent / "published_assessment.csv").open(encoding="utf-8")))


def form_of(questions: int, cut: int, weak: float, strong: float) -> Any:
    return form_chances(questions, cut, weak_proportion=weak, strong_proportion=strong)


def shortest(weak: float, strong: float, weak_passes: float, strong_misses: float) -> str:
    form = shortest_form(
        weak_proportion=weak,
        strong_proportion=strong,
        most_weak_passes=weak_passes,
        most_strong_misses=strong_misses,
    )
    return f"{form.questions},{form.cut}"


ANSWERS: dict[str, Callable[[Any], Any]] = {
    "kappa": lambda table: agreement(table).kappa,
    "kappa standard error": lambda table: agreement(table).kappa_standard_error,
    "observed agreement": lambda table: agreement(table).observed_fraction,
    "2po-1": lambda table: agreement(table).prevalence_adjusted_kappa,
    "shortest form": lambda inputs: shortest(*inputs),
    "weak passes": lambda inputs: form_of(*inputs).weak_passes_fraction,
    "strong misses": lambda inputs: form_of(*inputs).strong_misses_fraction,
    "exact interval low": lambda inputs: clopper_pearson(*inputs).lower_fraction,
    "exact interval high": lambda inputs: clopper_pearson(*inputs).upper_fraction,
    "wilson low": lambda inputs: wilson(*inputs).lower_fraction,
    "wilson high": lambda inputs: wilson(*inputs).upper_fraction,
    "at least": lambda inputs: chance_of_at_least(*inputs),
}


@pytest.mark.parametrize("row", ROWS, ids=[f"{row['topic']} {row['inputs']}" for row in ROWS])
def test_published_value(row):
    answer = ANSWERS[row["topic"]](json.loads(row["inputs"]))
    if row["tolerance"] == "exact":
        assert answer == row["answer"]
    else:
        assert answer == pytest.approx(float(row["answer"]), abs=float(row["tolerance"]))


def test_every_row_names_basis_and_source():
    assert {row["topic"] for row in ROWS} == set(ANSWERS)
    assert all(row["source"] and row["basis"] in {"published", "computed", "from memory"} for row in ROWS)
