"""How fast questions are drawn, graded and diagnosed, against a bare loop that does the arithmetic and nothing else.

`python3 dev.py bench items` prints both in one run, as a ratio, so that the machine matters little.
"""

from __future__ import annotations

import statistics
import sys
import time
from collections.abc import Callable
from decimal import Decimal

from quizapp.assessment import frozen_json
from quizapp.assessment.formula_arithmetic import CONTEXT, round_half_up
from quizapp.assessment.grading import NumericAnswer, grade_numbers
from quizapp.assessment.number_stream import NumberStream
from quizapp.config import CHECKOUT
from quizapp.content.library import Library, read_library
from quizapp.web.instruments.render import render_figure

ROUNDS = 7
BARE_LOOPS = 4000
SEEDS = 12
LEAST_RATIO = 0.25
LONGEST_FIGURE_S = 0.001
STEM = "A cylinder of {0} L reads {1} bar; {2} bar stay in it. The device draws {3} L/min. How long does it last?"
WORKED = "{0} L times ({1} - {2}) bar, over {3} L/min, is {4} min"


def items(library: Library) -> int:
    """Draw questions of every family that asks for numbers, answer each with a wrong idea, grade and diagnose it."""
    profile = library.profile("TV-A", 1)
    codes = [family.code for family in library.families_for(profile) if family.blanks]
    for code in codes:
        for seed in range(SEEDS):
            question = library.draw(code, profile, seed)
            answers = [
                NumericAnswer(value=blank.ideas[0].value if blank.ideas else blank.key, unit=blank.units[0])
                for blank in question.blanks
            ]
            grade_numbers(question, answers)
    return len(codes) * SEEDS


def bare_loops(_library: Library) -> int:
    """Write one question by hand, without a family: draw four numbers, work out the key, print all into two texts."""
    for seed in range(BARE_LOOPS):
        stream = NumberStream("bare", seed)
        water, pressure, reserve, flow = (CONTEXT.add(Decimal(5), Decimal(stream.below(40))) for _ in range(4))
        key = CONTEXT.divide(CONTEXT.multiply(CONTEXT.subtract(pressure, reserve), water), flow)
        printed = [f"{round_half_up(value, 1):f}" for value in (water, pressure, reserve, flow, key)]
        STEM.format(*printed)
        WORKED.format(*printed)
    return BARE_LOOPS


def per_second(do: Callable[[Library], int], library: Library) -> float:
    """The rate of one run."""
    before = time.perf_counter()
    done = do(library)
    return done / (time.perf_counter() - before)


def figure_times_s(library: Library) -> list[float]:
    """How long each figure of every family takes to be drawn."""
    times = []
    for family in library.families.values():
        profile = next(one for one in library.profiles if family in library.families_for(one))
        for seed in range(SEEDS if family.figures else 0):
            for figure in library.draw(family.code, profile, seed).figures:
                plain = frozen_json.to_plain(figure)
                before = time.perf_counter()
                render_figure(plain)
                times.append(time.perf_counter() - before)
    return times


def main() -> int:
    """Print the figures; 1 where one misses its target."""
    library = read_library(CHECKOUT)
    items(library)
    # Turn by turn, so that a busy moment of the machine hits both.
    pairs = [(per_second(items, library), per_second(bare_loops, library)) for _ in range(ROUNDS)]
    ratio = statistics.median(made / bare for made, bare in pairs)
    figure_s = statistics.median(figure_times_s(library))
    sys.stdout.write(
        f"items drawn, graded and diagnosed: {statistics.median(made for made, _ in pairs):,.0f} a second\n"
        f"bare loops: {statistics.median(bare for _, bare in pairs):,.0f} a second\n"
        f"ratio: {ratio:.2f} (at least {LEAST_RATIO})\n"
        f"a figure: {1000 * figure_s:.2f} ms, median (under {1000 * LONGEST_FIGURE_S:.0f} ms)\n"
    )
    return 0 if ratio >= LEAST_RATIO and figure_s < LONGEST_FIGURE_S else 1


if __name__ == "__main__":
    raise SystemExit(main())
