"""The number of people, out of a few, for whom something holds, when each has a chance of their own.

Exact by convolution; people are taken as independent, which is optimistic when all were trained on one day.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import fsum


def count_chances(probabilities: Sequence[float]) -> tuple[float, ...]:
    """Give the chance of each count 0 to n (n + 1 fractions, summing to 1).

    `probabilities` are fractions 0 to 1, one a person. Raises ValueError outside.
    Source: Poisson-binomial distribution, by adding one person at a time.
    """
    chances, sure, never = [1.0], 0, 0
    for probability in probabilities:
        if not 0.0 <= probability <= 1.0:
            raise ValueError(f"a chance lies between 0 and 1, not {probability}")
        if probability in {0.0, 1.0}:
            sure, never = sure + int(probability == 1.0), never + int(probability == 0.0)
            continue
        stays = [*(chance * (1.0 - probability) for chance in chances), 0.0]
        rises = [0.0, *(chance * probability for chance in chances)]
        chances = [one + other for one, other in zip(stays, rises, strict=True)]
    return (*[0.0] * sure, *chances, *[0.0] * never)


def chance_of_at_least(count: int, probabilities: Sequence[float]) -> float:
    """Give the chance that at least `count` people are among those for whom it holds (1 for a count of 0 or less)."""
    if count <= 0:
        return 1.0
    return min(1.0, fsum(count_chances(probabilities)[count:]))


def expected_count(probabilities: Sequence[float]) -> float:
    """Give the mean of the count."""
    return fsum(probabilities)


def count_variance(probabilities: Sequence[float]) -> float:
    """Give the variance of the count."""
    return fsum(probability * (1.0 - probability) for probability in probabilities)
