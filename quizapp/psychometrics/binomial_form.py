"""Exact chances of a knowledge form of fixed length: so many questions, pass at so many right.

Each question counts right with one and the same chance, independently: the binomial model. Families differ in
difficulty, so the chances describe the form, not a person.
"""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import dataclass
from math import comb, exp, fsum, log, log1p

WEAK_PROPORTION = 0.65
STRONG_PROPORTION = 0.90
LONGEST_FORM = 500


def binomial_term(right: int, questions: int, proportion: float) -> float:
    """Give the chance of exactly `right` of `questions` (right 0 to questions, proportion 0 to 1).

    Source: the binomial distribution; worked in logarithms so that no term over- or underflows on the way.
    """
    if proportion in {0.0, 1.0}:
        return 1.0 if right == round(questions * proportion) else 0.0
    ways = log(comb(questions, right))
    return exp(ways + right * log(proportion) + (questions - right) * log1p(-proportion))


def binomial_tail(at_least: int, questions: int, proportion: float) -> float:
    """Give the chance of `at_least` right or more of `questions`, each right with chance `proportion`."""
    if not 0.0 <= proportion <= 1.0:
        raise ValueError(f"a proportion lies between 0 and 1, not {proportion}")
    if at_least <= 0:
        return 1.0
    return min(1.0, fsum(binomial_term(right, questions, proportion) for right in range(at_least, questions + 1)))


@dataclass(frozen=True, kw_only=True)
class FormChances:
    """The two ways a form errs: a weak person passes, a strong person does not (fractions 0 to 1)."""

    questions: int
    cut: int
    weak_proportion: float
    strong_proportion: float
    weak_passes_fraction: float
    strong_misses_fraction: float

    @property
    def sentence(self) -> str:
        """The form and both errors in one sentence, in per cent."""
        return (
            f"{self.questions} questions, pass at {self.cut}: somebody right {100 * self.weak_proportion:.0f} % of the "
            f"time passes with a chance of {100 * self.weak_passes_fraction:.1f} %, somebody right "
            f"{100 * self.strong_proportion:.0f} % of the time does not with {100 * self.strong_misses_fraction:.1f} %."
        )


def form_chances(
    questions: int, cut: int, *, weak_proportion: float = WEAK_PROPORTION, strong_proportion: float = STRONG_PROPORTION
) -> FormChances:
    """Give the chance that a weak person passes and that a strong person does not.

    `questions` 1 to 500, `cut` (fewest right to pass) 1 to questions, proportions between 0 and 1, weak below strong.
    Raises ValueError outside these ranges. Source: binomial tail, exact.
    """
    if not 1 <= questions <= LONGEST_FORM:
        raise ValueError(f"a form has 1 to {LONGEST_FORM} questions, not {questions}")
    if not 1 <= cut <= questions:
        raise ValueError(f"the cut of a form of {questions} lies between 1 and {questions}, not at {cut}")
    if not 0.0 <= weak_proportion < strong_proportion <= 1.0:
        raise ValueError(f"the weak proportion {weak_proportion} must lie below the strong one {strong_proportion}")
    return FormChances(
        questions=questions,
        cut=cut,
        weak_proportion=weak_proportion,
        strong_proportion=strong_proportion,
        weak_passes_fraction=binomial_tail(cut, questions, weak_proportion),
        strong_misses_fraction=binomial_tail(questions - cut + 1, questions, 1.0 - strong_proportion),
    )


def suggested_cut(
    questions: int,
    *,
    weak_proportion: float = WEAK_PROPORTION,
    strong_proportion: float = STRONG_PROPORTION,
    most_weak_passes: float = 0.05,
    most_strong_misses: float = 0.05,
) -> FormChances | None:
    """Give the lowest cut that keeps both errors within their targets, or None when no cut of this form does.

    Targets are fractions between 0 and 1. The lowest fitting cut misses the fewest strong people.
    """
    cuts = range(1, questions + 1)
    # A higher cut lets fewer weak people pass, so the first one that fits is found by halving.
    place = bisect_left(cuts, True, key=lambda cut: binomial_tail(cut, questions, weak_proportion) <= most_weak_passes)
    if place == len(cuts):
        return None
    chances = form_chances(questions, cuts[place], weak_proportion=weak_proportion, strong_proportion=strong_proportion)
    return chances if chances.strong_misses_fraction <= most_strong_misses else None


def shortest_form(
    *,
    weak_proportion: float = WEAK_PROPORTION,
    strong_proportion: float = STRONG_PROPORTION,
    most_weak_passes: float = 0.05,
    most_strong_misses: float = 0.05,
) -> FormChances:
    """Give the shortest form, with its cut, that keeps both errors within their targets.

    Raises ValueError when even 500 questions do not. One question more never lowers the lowest cut that keeps weak
    people out, and raises it by one at most, so that each length takes a step or two. Source: fixed-length test
    between two simple hypotheses.
    """
    cut = 1
    for questions in range(1, LONGEST_FORM + 1):
        while cut <= questions and binomial_tail(cut, questions, weak_proportion) > most_weak_passes:
            cut += 1
        if cut <= questions and (
            binomial_tail(questions - cut + 1, questions, 1.0 - strong_proportion) <= most_strong_misses
        ):
            return form_chances(questions, cut, weak_proportion=weak_proportion, strong_proportion=strong_proportion)
    raise ValueError(f"no form of up to {LONGEST_FORM} questions keeps both errors within their targets")
