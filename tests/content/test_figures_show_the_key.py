"""Every figure that is read for its number is read back from its drawing, and leads to the key it belongs to.

Needles by their angle, the ball by its height, curves by their points through the labels of their own axes.
"""

from __future__ import annotations

import itertools
import math
import re
from collections.abc import Callable
from functools import cache

import pytest

from quizapp.assessment import frozen_json
from quizapp.assessment.families import FamilyKind
from quizapp.assessment.profile_values import suits
from quizapp.assessment.questions import FigureSpec, Question
from quizapp.content.library import Library, read_library
from quizapp.web.instruments.render import render_figure
from tests.reading_drawings import drawn_curves, needle_angles, reading_at
from tests.sample_families import CHECKOUT

SEEDS = 40


@cache
def library() -> Library:
    return read_library(CHECKOUT)


def markup(figure: FigureSpec) -> str:
    return str(render_figure(frozen_json.to_plain(figure)))


def needles(figure: FigureSpec) -> list[float]:
    """What the needles of a gauge point at, ghosts first."""
    ends = [float(figure.number(next(name for name in figure.numbers if name.startswith(end))))
            for end in ("low_", "high_")]  # fmt: skip
    return [reading_at(angle, *ends) for angle in needle_angles(markup(figure))]


def relief(figure: FigureSpec) -> float:
    tip = re.search(r'class="dial-relief" d="M([\d.]+) ([\d.]+)', markup(figure))
    assert tip is not None
    angle = math.degrees(math.atan2(float(tip[1]) - 160, 160 - float(tip[2])))
    return reading_at(angle, float(figure.number("low_cmh2o")), float(figure.number("high_cmh2o")))


def ball(figure: FigureSpec) -> float:
    """The height of the ball between the lowest and the highest numeral of the tube."""
    drawn = markup(figure)
    numerals = re.findall(r'class="tube-num" x="62" y="([\d.]+)">(\d+)<', drawn)
    (foot, low), (top, high) = numerals[0], numerals[-1]
    found = re.search(r'class="tube-ball" cx="134" cy="([\d.]+)"', drawn)
    assert found is not None
    # The foot of a numeral stands 8 below the mark it belongs to.
    share = (float(foot) - 8 - float(found[1])) / (float(foot) - float(top))
    return float(low) + share * (float(high) - float(low))


def ends_of_trace(figure: FigureSpec) -> tuple[float, float]:
    (points,) = drawn_curves(frozen_json.to_plain(figure))
    values = [value for _, value in points]
    return max(values), min(values)


def tops(figure: FigureSpec) -> int:
    """How often the curve reaches its highest value and falls from it."""
    (points,) = drawn_curves(frozen_json.to_plain(figure))
    highest = max(value for _, value in points)
    return sum(
        value > highest - 0.05 and after < highest - 0.05 for (_, value), (_, after) in itertools.pairwise(points)
    )


def capnogram(figure: FigureSpec) -> tuple[float, float]:
    """The end-tidal value, and the rate from one steep fall to the next."""
    (points,) = drawn_curves(frozen_json.to_plain(figure))
    highest = max(value for _, value in points)
    falls = [at for (at, value), (_, after) in itertools.pairwise(points) if value > highest - 0.05 and after < value]
    return highest, 60 / (falls[1] - falls[0])


def trend_ahead(question: Question) -> float:
    """The rate of the last minute, carried on as it climbed."""
    figure = question.figures[0]
    points = drawn_curves(frozen_json.to_plain(figure))[0]
    (first_at, first), (last_at, last) = points[0], points[-1]
    return last + (last - first) / (last_at - first_at) * number(question, "ahead")


def left_in_the_lung(figure: FigureSpec) -> float:
    """The share still there where the line of the next breath stands, in percent of where the curve begins."""
    (points,) = drawn_curves(frozen_json.to_plain(figure))
    next_breath = float(figure.number("expiration_s"))
    (before, low), (after, high) = next(
        pair for pair in itertools.pairwise(points) if pair[0][0] <= next_breath <= pair[1][0] + 1e-9
    )
    share = (next_breath - before) / (after - before)
    return 100 * (low + share * (high - low)) / points[0][1]


def number(question: Question, name: str) -> float:
    return next(float(one.value) for one in question.drawn if one.name == name)


READ: dict[str, Callable[[Question], tuple[float, ...]]] = {
    "N10": lambda q: (tops(q.figures[0]) * 60 / float(q.figures[0].number("strip_s")),),
    "N16": lambda q: (needles(q.figures[0])[1] - needles(q.figures[0])[0],),
    "N23": lambda q: (left_in_the_lung(q.figures[0]),),
    "N25": lambda q: (needles(q.figures[0])[0] * number(q, "water"),),
    "N31": lambda q: (
        (needles(q.figures[0])[0] - needles(q.figures[1])[0]) * number(q, "water") / number(q, "minutes"),
    ),
    "N46": lambda q: (needles(q.figures[0])[0],),
    "N47": lambda q: ends_of_trace(q.figures[0]),
    "N48": lambda q: capnogram(q.figures[0]),
    "N49": lambda q: (needles(q.figures[0])[0], needles(q.figures[0])[0] * number(q, "water")),
    "N50": lambda q: (ball(q.figures[0]),),
    "N51": lambda q: (trend_ahead(q),),
    "N52": lambda q: (relief(q.figures[0]) - needles(q.figures[0])[0],),
}
PAIRS = [
    pytest.param(code, slug, id=f"{code}-{slug}")
    for code in READ
    for slug, read in library().profile_files.items()
    if suits(library().families[code], read.profile)
]


def test_every_family_that_asks_for_a_number_from_a_figure_is_read() -> None:
    figured = {code for code, family in library().families.items() if family.blanks and family.figures}
    assert set(READ) == figured
    assert figured >= {code for code, family in library().families.items() if family.kind is FamilyKind.READING}


@pytest.mark.parametrize(("code", "slug"), PAIRS)
def test_what_is_read_from_the_drawing_is_the_key(code: str, slug: str) -> None:
    profile = library().profile_files[slug].profile
    for seed in range(SEEDS):
        question = library().draw(code, profile, seed)
        found = READ[code](question)
        assert len(found) == len(question.blanks)
        for reading, blank in zip(found, question.blanks, strict=True):
            # Much closer than the tolerance: what is left is the rounding of coordinates, of a reading multiplied.
            assert reading == pytest.approx(float(blank.key), abs=float(blank.tolerance) / 20, rel=0), (seed, blank)
