"""The key of choice families: by case as the trade has it, and worked out again where numbers decide."""

import re
from functools import cache

import pytest

from quizapp.content.library import Library, read_library
from quizapp.ventilation.device_profile import DeviceProfile
from tests.sample_families import CHECKOUT

SEEDS = 60
#: Common practice, no source: what each situation means. Option names are those of the files.
BY_CASE = {
    "K01": {
        "normal": "even-key",
        "rising": "hindered-key",
        "notch": "moved-key",
        "raised": "rebreathing-key",
        "lost": "lost-key",
        "fading": "circulation-key",
        "climbing": "too-little-key",
        "sinking": "too-much-key",
    },
    "K02": {
        "swinging": "cycles-key",
        "parked_low": "expiration-key",
        "parked_high": "inflation-key",
        "flutter": "limit-key",
        "slow_climb": "leak-key",
        "short_fast": "small-key",
    },
    "K05": {
        "stiffening": "stiffening-key",
        "tension": "tension-key",
        "secretions": "secretions-key",
        "effort": "effort-key",
    },
    "K06": {"hoist": "bag-first", "cabin": "bag-first", "roadside": "bag-first", "island": "probe-key"},
    "K07": {"tension": "act-key", "deep": "depth-key", "blocked": "clear-key"},
    "K09": {
        "good": "nothing-key",
        "open": "joint-key",
        "side": "filter-key",
        "port": "port-key",
        "tied": "restraint-key",
        "strap": "strap-key",
    },
    "K11": {"no_carbon": "no-carbon-key", "no_saturation": "no-saturation-key", "complete": "complete-key"},
    "K12": {"steady": "steady-key", "shock": "shock-key", "chest": "chest-key"},
    "K13": {"": "whole"},
    "K17": {
        "stiff": "small-key",
        "narrow": "trapped-key",
        "leak": "stall-key",
        "head": "drift-key",
        "closed": "grows-key",
    },
    "K18": {
        "no_bag": "bag-key",
        "no_capnograph": "capnograph-key",
        "no_suction": "suction-key",
        "short_gas": "gas-key",
        "no_test": "test-key",
        "complete": "nothing-key",
    },
    "K20": {"good": "passed", "parks": "search", "zero": "aside", "relief": "aside", "revision": "aside"},
    "K21": {
        "even": "stay-key",
        "one_side": "depth-key",
        "flat": "airway-key",
        "small": "small-key",
        "parked": "leak-key",
    },
    "K14": {"assessor": "assessor-key", "revision": "revision-key", "unseen": "unseen-key", "own": "own-key"},
}
#: The model's own table for TV-A revision 1: volume, rate, inflation time, minute volume, alveolar ventilation.
UP, SAME, DOWN, TOO_CLOSE = "up", "same", "down", ""
DIRECTIONS = {
    "stiffer": (DOWN, UP, DOWN, SAME, DOWN, DOWN),
    "narrower": (DOWN, UP, DOWN, DOWN, DOWN, DOWN),
    "less_flow": (UP, DOWN, UP, DOWN, DOWN, TOO_CLOSE),
    "higher_peak": (UP, DOWN, UP, UP, UP, TOO_CLOSE),
    "tighter": (TOO_CLOSE, DOWN, TOO_CLOSE, DOWN, DOWN, UP),
    "mix": (DOWN, UP, DOWN, UP, TOO_CLOSE, DOWN),
}
QUANTITIES = (
    "volume of a breath",
    "rate",
    "inflation time",
    "minute volume",
    "alveolar ventilation",
    "expiration time",
)


@cache
def library() -> Library:
    return read_library(CHECKOUT)


def profile(slug: str = "tv-a-1") -> DeviceProfile:
    return library().profile_files[slug].profile


@pytest.mark.parametrize("code", sorted(BY_CASE))
def test_each_case_has_the_key_the_trade_gives_it(code: str) -> None:
    met = set()
    for seed in range(SEEDS):
        question = library().draw(code, profile(), seed)
        met.add(question.case)
        assert question.key_option.name == BY_CASE[code][question.case], question.case
    assert met == set(BY_CASE[code])


def test_the_card_decides_whether_the_device_fits() -> None:
    for seed in range(SEEDS):
        question = library().draw("K10", profile("tv-b-1"), seed)
        weight, peak, bag = (float(drawn.value) for drawn in question.drawn)
        if weight < 35 or peak > 30:
            expected = "do-not-use"
        elif not bag:
            expected = "fetch-the-bag"
        else:
            expected = "use-with-bag-in-hand" if peak > 24 else "use"
        assert question.key_option.name == expected


def test_the_lightest_plan_that_is_enough() -> None:
    for seed in range(SEEDS):
        question = library().draw("K16", profile(), seed)
        n = {drawn.name: float(drawn.value) for drawn in question.drawn}
        plans = (("one-small", 3, 200), ("one-middle", 5, 200), ("part-filled", 10, n["part"]), ("full-large", 10, 200))
        enough = [name for name, water, bar in plans if water * (bar - n["reserve"]) / n["flow"] >= 2 * n["leg"]]
        assert question.key_option.name == (enough[0] if enough else "more-than-one")


def test_a_plan_too_small_is_traced_to_how_it_was_reckoned() -> None:
    """For the time once, down to the last bar, or with the part-filled cylinder taken for full: where only one fits."""
    met = set()
    for seed in range(4 * SEEDS):
        question = library().draw("K16", profile(), seed)
        n = {drawn.name: float(drawn.value) for drawn in question.drawn}
        whole = {"one-small": 3, "one-middle": 5, "part-filled": 10, "full-large": 10}
        reads = {name: n["part"] if name == "part-filled" else 200.0 for name in whole}

        def reckoned(times: float, reserve: float, part: float, n=n, whole=whole, reads=reads) -> str:
            bars = {**reads, "part-filled": part}
            need = times * n["leg"] * n["flow"]
            return next((name for name in whole if whole[name] * (bars[name] - reserve) >= need), "more-than-one")

        right = reckoned(2, n["reserve"], n["part"])
        slips = {
            "no-doubling": reckoned(1, n["reserve"], n["part"]),
            "no-reserve": reckoned(2, 0, n["part"]),
            "full-cylinder": "part-filled" if right == "full-large" else right,
        }
        for option in question.options:
            base = next(name for name in (*whole, "more-than-one") if option.name.startswith(name))
            fits = [idea for idea, plan in slips.items() if plan == base != right]
            assert option.wrong_idea == (fits[0] if len(fits) == 1 else ""), (seed, option.name)
            met.add(option.wrong_idea)
    assert met == {"", "no-doubling", "no-reserve", "full-cylinder"}


def test_directions_are_those_of_the_models_table() -> None:
    met = set()
    for seed in range(SEEDS * 3):
        question = library().draw("K03", profile(), seed)
        at = next(at for at, name in enumerate(QUANTITIES) if name in question.drawn[0].printed)
        assert question.key_option.name == DIRECTIONS[question.case][at] != TOO_CLOSE
        met.add((question.case, at))
    assert met == {(case, at) for case, ways in DIRECTIONS.items() for at, way in enumerate(ways) if way != TOO_CLOSE}


def test_opening_the_mix_changes_no_timing_where_the_total_is_held() -> None:
    keys = {
        question.key_option.name
        for seed in range(SEEDS)
        if (question := library().draw("K03", profile("tv-b-1"), seed)).case == "mix"
    }
    assert keys == {SAME}


def test_no_control_takes_the_peak_over_the_local_ceiling() -> None:
    keys = set()
    for seed in range(2 * SEEDS):
        question = library().draw("K04", profile(), seed)
        keys.add((question.case, question.key_option.name))
        if question.case == "high" and {drawn.name: drawn.value for drawn in question.drawn}["room"] == 0:
            peak = next(option for option in question.options if option.name == "more-peak")
            assert not peak.is_key
            assert peak.credit == 0
            assert "above the local ceiling" in peak.says
    assert keys == {(case, name) for case in ("high", "low") for name in ("more-flow", "more-peak", "open-the-rate")}


def test_the_step_named_goes_the_way_the_target_lies_and_furthest() -> None:
    """The modelled ventilation is read back from what each step says of itself."""
    for seed in range(SEEDS):
        question = library().draw("K04", profile(), seed)
        way = 1 if question.case == "high" else -1
        gains = {}
        for option in question.options:
            moved = re.search(r"from ([\d.]+) to ([\d.]+) L/min", option.says)
            if moved and "above the local ceiling" not in option.says:
                gains[option.name] = way * (float(moved[2]) - float(moved[1]))
            assert ("down" in option.text or "shut" in option.text) is (way < 0) or not moved
        assert question.key_option.name == max(gains, key=lambda name: gains[name])
        assert gains[question.key_option.name] > 0
        second = [option.name for option in question.options if 0 < option.credit < 1]
        assert second == [] or gains[second[0]] == sorted(gains.values())[-2] > 0
