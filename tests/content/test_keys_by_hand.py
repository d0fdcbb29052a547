"""The key of one draw of every numeric family, worked out again from the printed numbers by an expression of its own.

The expressions are common arithmetic and physiology, written from the equations and not from the content files.
"""

import math
from collections.abc import Callable
from functools import cache
from types import SimpleNamespace

import pytest

from quizapp.assessment.families import FamilyKind
from quizapp.assessment.profile_values import suits
from quizapp.assessment.questions import Question
from quizapp.content.library import Library, read_library
from quizapp.ventilation.device_profile import BaselineLaw, DeviceProfile
from tests.sample_families import CHECKOUT

SEED = 20
#: Drawn but not printed as such: another number made of it is.
NOT_PRINTED = {("N19", "more"), ("N45", "share"), ("N58", "fall")}
#: A reading is stored in half small marks so that the needle stands on or between marks.
HALF_MARK = 0.5


@cache
def library() -> Library:
    return read_library(CHECKOUT)


def baseline(peak: float, p: DeviceProfile) -> float:
    if p.baseline_law is BaselineLaw.RATIO:
        return float(p.baseline_ratio or 0) * peak
    return float(p.baseline_fixed_cmh2o or 0)


def weight(n: SimpleNamespace) -> float:
    return {"man": 50.0, "woman": 45.5}[n.words["sex"]] + 0.91 * (n.height - 152.4)


def contents(half_marks: float, p: DeviceProfile) -> float:
    return half_marks * HALF_MARK * p.contents_minor_bar


def needed_peak(n: SimpleNamespace, p: DeviceProfile) -> float:
    """Look for the peak at which what is above the baseline drives the volume into the lung, by halving."""
    low, high = 0.0, 100.0
    for _ in range(60):
        middle = (low + high) / 2
        if (middle - baseline(middle, p)) * n.compliance < n.volume:
            low = middle
        else:
            high = middle
    return low


HAND: dict[str, Callable[[SimpleNamespace, DeviceProfile], float]] = {
    "N01": lambda n, p: weight(n),
    "N02": lambda n, p: n.per_kg * weight(n),
    "N03": lambda n, p: n.volume / 1000 * n.rate,
    "N04": lambda n, p: n.rate * n.volume / 1000 - n.rate * n.dead / 1000,
    "N05": lambda n, p: (n.minute - n.faster * n.dead / 1000) - (n.minute - n.slower * n.dead / 1000),
    "N06": lambda n, p: n.dead / n.volume * 100,
    "N07": lambda n, p: 60 / (n.inflation + n.expiration),
    "N08": lambda n, p: n.expiration / n.inflation,
    "N09": lambda n, p: 60 / n.rate - 60 / n.rate / (n.parts + 1),
    "N10": lambda n, p: n.count / (n.window / 60),
    "N11": lambda n, p: 60 / (n.inflation + 3 * n.resistance * n.compliance / 1000),
    "N12": lambda n, p: n.flow / 60 * n.inflation * 1000,
    "N13": lambda n, p: n.flow * (1 / (1 + n.parts)),
    "N14": lambda n, p: baseline(n.peak, p),
    "N15": lambda n, p: baseline(n.peak + n.more, p),
    "N16": lambda n, p: n.peak - n.low,
    "N17": lambda n, p: n.volume / (n.peak - n.baseline),
    "N18": lambda n, p: n.volume / n.compliance * n.later,
    "N19": lambda n, p: n.volume / (n.peak - baseline(n.peak, p)) * (n.peak + n.more - baseline(n.peak + n.more, p)),
    "N20": lambda n, p: (n.parts * n.baseline + (n.baseline + n.peak) / 2) / (1 + n.parts),
    "N21": lambda n, p: n.resistance * (n.flow / 60),
    "N22": lambda n, p: n.resistance * n.compliance / 1000,
    "N23": lambda n, p: 100 * math.exp(-n.expiration / n.tau),
    "N24": lambda n, p: n.trapped / n.compliance,
    "N25": lambda n, p: contents(n.half_marks, p) * n.water,
    "N26": lambda n, p: n.pressure * n.water - n.reserve * n.water,
    "N27": lambda n, p: (n.pressure * n.water - n.reserve * n.water) / n.flow,
    "N28": lambda n, p: (n.pressure * n.water - n.flow * n.leg) / n.water,
    "N29": lambda n, p: (n.reserve * n.water + 2 * n.leg * n.flow) / n.water,
    "N30": lambda n, p: -(-(2 * n.leg * n.flow) // ((n.full - n.reserve) * n.water)),
    "N31": lambda n, p: (contents(n.earlier, p) - contents(n.earlier - n.down, p)) * n.water / n.minutes,
    "N32": lambda n, p: n.pressure / (n.warm + 273.15) * (n.cold + 273.15),
    "N33": lambda n, p: (n.pressure - n.reserve) * n.water / n.leg / 2,
    "N34": lambda n, p: (100 - 100 * n.fraction) / (100 * n.fraction - 21),
    "N35": lambda n, p: (n.oxygen * 1 + n.air * 0.21) / (n.oxygen + n.air),
    "N36": lambda n, p: n.total - n.total * (1 - n.fraction) / 0.79,
    "N37": lambda n, p: n.leg * n.total * (1 - n.fraction) / 0.79,
    "N38": lambda n, p: (n.barometric - 47) * n.fraction - n.carbon * 1.25,
    "N39": lambda n, p: n.fraction * (760 - 47) / (n.barometric - 47),
    "N40": lambda n, p: n.below * n.volume / n.above,
    "N41": lambda n, p: n.kilopascal * 7.50062,
    "N42": lambda n, p: n.rate * n.now / n.target,
    "N43": lambda n, p: n.dead + (n.volume - n.dead) * n.now / n.target,
    "N44": lambda n, p: 760 * (310.15 / 273.15) / 1000 * n.output / n.target,
    "N45": lambda n, p: n.rate * (n.volume - n.dead) / (n.volume * n.share / 100 - n.dead),
    "N46": lambda n, p: n.needle,
    "N47": lambda n, p: n.peak,
    "N48": lambda n, p: n.end_tidal,
    "N49": lambda n, p: contents(n.half_marks, p),
    "N50": lambda n, p: n.flow,
    "N51": lambda n, p: n.start + n.slope * (4 + n.ahead),
    "N52": lambda n, p: p.relief_cmh2o - n.peak,
    "N53": lambda n, p: n.compliance * (n.peak - baseline(n.peak, p)) / (n.flow * 1000 / 60),
    "N54": needed_peak,
    "N55": lambda n, p: (n.pressure - n.reserve) * n.water * (1 + n.parts) / n.flow,
    "N56": lambda n, p: n.reserve + 2 * n.leg * n.flow / n.water / (1 + n.parts),
    "N57": lambda n, p: 1 / ((n.peak - baseline(n.peak, p)) / n.volume),
    "N58": lambda n, p: (n.start * n.compliance - (n.start - n.fall) * n.compliance) / (n.time / 60),
    "N59": lambda n, p: n.low * weight(n),
    "N60": lambda n, p: n.millimetres / 7.50062,
}
SECOND: dict[str, Callable[[SimpleNamespace, DeviceProfile], float]] = {
    "N47": lambda n, p: n.baseline,
    "N48": lambda n, p: 60 / n.cycle,
    "N49": lambda n, p: contents(n.half_marks, p) * n.water,
    "N59": lambda n, p: 8 * weight(n),
}
NUMERIC = sorted(code for code, family in library().families.items() if family.blanks)
PAIRS = [
    (code, slug)
    for code in NUMERIC
    for slug, read in library().profile_files.items()
    if suits(library().families[code], read.profile)
]


def printed_numbers(question: Question) -> SimpleNamespace:
    """Give the numbers as they were printed; a printed word stands under `words`, its number under its name."""
    numbers: dict[str, object] = {}
    words: dict[str, str] = {}
    for drawn in question.drawn:
        try:
            numbers[drawn.name] = float(drawn.printed.replace("\u2212", "-"))
        except ValueError:
            words[drawn.name] = drawn.printed
    return SimpleNamespace(**numbers, words=words)


def test_every_numeric_family_is_worked_out_by_hand() -> None:
    assert set(HAND) == set(NUMERIC)
    assert set(SECOND) == {code for code in NUMERIC if len(library().families[code].blanks) == 2}


@pytest.mark.parametrize(("code", "slug"), PAIRS)
def test_the_key_is_the_one_worked_out_by_hand(code: str, slug: str) -> None:
    """A quarter of the tolerance is left for steps that are printed rounded."""
    profile = library().profile_files[slug].profile
    question = library().draw(code, profile, SEED)
    numbers = printed_numbers(question)
    by_hand = [HAND[code](numbers, profile)] + ([SECOND[code](numbers, profile)] if code in SECOND else [])
    for blank, expected in zip(question.blanks, by_hand, strict=True):
        assert float(blank.key) == pytest.approx(expected, abs=float(blank.tolerance) / 4 + 1e-9, rel=0), blank.label


@pytest.mark.parametrize(("code", "slug"), PAIRS)
def test_numbers_the_key_needs_are_printed(code: str, slug: str) -> None:
    question = library().draw(code, library().profile_files[slug].profile, SEED)
    if question.kind is FamilyKind.READING:
        assert question.figures
        return
    for drawn in question.drawn:
        assert drawn.printed in question.stem or (code, drawn.name) in NOT_PRINTED, drawn.name
