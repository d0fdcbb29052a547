"""Nobody solves a question with a figure from the words of its text alternative alone: tried for every such family.

Its numbers are tried as the answer, alone and two at a time; for choices, the option that shares most words with it.
"""

from __future__ import annotations

import re
from dataclasses import replace
from decimal import Decimal
from functools import cache
from itertools import permutations

import pytest

from quizapp.assessment.grading import is_within
from quizapp.assessment.profile_values import suits
from quizapp.assessment.questions import Option, Question
from quizapp.content.library import Library, read_library
from tests.sample_families import CHECKOUT

SEEDS = 200
LUCK_OF_PAIRS = 0.10
"""Two numbers put together hit a tolerance by chance now and then; a reader must not gain by trying it."""

LUCK = 0.40
"""Four options give one in four by luck; a solver that reads must do clearly worse than every second one."""
COMMON_WORDS = frozenset(
    re.findall(
        "[a-z]+",
        "a an and are as at between by for from has have in is it its no not of on or stands that the this to with",
    )
)
DIGITS = re.compile(r"[0-9]+(?:\.[0-9]+)?")


@cache
def library() -> Library:
    return read_library(CHECKOUT)


PAIRS = [
    pytest.param(code, profile.slug, id=f"{code}-{profile.slug}")
    for code, family in library().families.items()
    for profile in library().profiles
    if family.figures and suits(family, profile)
]


def drawn(code: str, slug: str) -> list[Question]:
    profile = library().profile_files[slug].profile
    return [library().draw(code, profile, seed) for seed in range(SEEDS)]


def alternative(question: Question) -> str:
    return " ".join(figure.alt for figure in question.figures)


def by_digits(question: Question) -> list[str]:
    """The digits of the alternative that would be marked right in some blank."""
    return [
        digits
        for digits in DIGITS.findall(alternative(question))
        for blank in question.blanks
        if is_within(Decimal(digits), blank.key, blank.tolerance)
    ]


def by_two(question: Question) -> bool:
    """Whether two numbers of the alternative make an answer: added, taken away, multiplied, divided."""
    numbers = [Decimal(digits) for digits in DIGITS.findall(alternative(question))]
    made = [
        value
        for one, two in permutations(numbers, 2)
        for value in (one + two, one - two, one * two, *((one / two,) if two else ()))
    ]
    return any(is_within(value, blank.key, blank.tolerance) for value in made for blank in question.blanks)


def by_words(question: Question) -> list[Option]:
    """The options that share the most words with the alternative."""
    seen = words(alternative(question))
    shared = [len(words(option.text) & seen) for option in question.options]
    return [option for option, count in zip(question.options, shared, strict=True) if count == max(shared)]


def words(text: str) -> set[str]:
    return set(re.findall(r"[a-z]+|[0-9]+", text.lower())) - COMMON_WORDS


@pytest.mark.parametrize(("code", "slug"), PAIRS)
def test_the_alternative_does_not_solve_the_question(code: str, slug: str) -> None:
    questions = drawn(code, slug)
    assert all(figure.alt for question in questions for figure in question.figures)
    assert [(question.seed, by_digits(question)) for question in questions if by_digits(question)] == []
    assert sum(by_two(question) for question in questions) <= LUCK_OF_PAIRS * len(questions)
    found = [by_words(question) for question in questions if question.options]
    hits = sum(sum(option.is_key for option in options) / len(options) for options in found)
    assert hits <= LUCK * len(found)


def test_the_solver_finds_a_key_that_is_there() -> None:
    """An alternative that names the number, and one that says the option in its own words, are both found out."""
    gauge = drawn("N46", "tv-a-1")[0]
    telling = replace(gauge.figures[0], alt=f"The needle shows {gauge.blanks[0].key}.")
    assert by_digits(replace(gauge, figures=(telling,)))
    swing = replace(gauge.figures[0], alt=f"The needle stands {gauge.blanks[0].key - 20} above 20.")
    assert by_two(replace(gauge, figures=(swing,)))
    choice = drawn("K09", "tv-a-1")[0]
    said = replace(choice.figures[0], alt=choice.key_option.text)
    assert by_words(replace(choice, figures=(said,))) == [choice.key_option]
