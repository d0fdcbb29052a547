"""A drawing's words say where a needle stands by marks and numerals, and do not give the reading away."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quizapp.web.instruments.render import render_figure
from quizapp.web.instruments.scale import Scale, needle_words

TV_A = Scale(low=-10, high=60, minor=2, major=10)
ORDINALS = {"first": 1, "second": 2, "third": 3, "fourth": 4}


@pytest.mark.parametrize(
    ("value", "words"),
    [
        (16, "the third small mark above the numeral 10"),
        (-4, "the third small mark above the numeral minus 10"),
        (20, "the numeral 20"),
        (15, "halfway between the second and third small marks above the numeral 10"),
        (11, "halfway between the numeral 10 and the first small mark above it"),
        (19.4, "between the fourth small mark above the numeral 10 and the numeral 20, nearer the upper"),
        (12.6, "between the first and second small marks above the numeral 10, nearer the lower"),
    ],
)
def test_words_for_a_needle(value: float, words: str) -> None:
    assert needle_words(value, TV_A) == words


@given(st.integers(min_value=-10, max_value=60).filter(lambda value: value % 10 != 0))
def test_the_value_is_never_said_unless_it_is_printed(value: int) -> None:
    numbers = [int(found) for found in re.findall(r"\d+", needle_words(value, TV_A))]
    assert abs(value) not in numbers or abs(value) % 10 == 0


@given(st.integers(min_value=-5, max_value=29).map(lambda half: half * 2).filter(lambda value: value % 10 != 0))
def test_the_words_lead_a_listener_to_the_value(value: int) -> None:
    words = needle_words(value, TV_A)
    numeral = int(words.rsplit("numeral ", 1)[1].replace("minus ", "-"))
    assert numeral + 2 * ORDINALS[words.split()[1]] == value


def test_a_scale_below_its_first_numeral_says_so() -> None:
    assert needle_words(1, Scale(low=1, high=25, minor=1, major=5)) == "below the lowest numeral, 5"


@pytest.mark.parametrize("ends", [(10, 0, 1, 5), (0, 10, 0, 5), (0, 10, 5, 2), (0, 1e6, 1, 10)])
def test_a_scale_that_cannot_be_read_is_refused(ends: tuple[float, float, float, float]) -> None:
    low, high, minor, major = ends
    with pytest.raises(ValueError, match="scale"):
        Scale(low=low, high=high, minor=minor, major=major)


def test_a_figure_without_words_describes_itself_by_its_marks() -> None:
    drawn = str(render_figure({"instrument": "airway-pressure-gauge", "needle": 16, "alt": ""}))
    said = re.search(r"<desc[^>]*>([^<]+)<", drawn)
    assert said is not None
    assert said[1].endswith("The needle points to the third small mark above the numeral 10.")
    assert "16" not in said[1]


def test_a_figure_with_words_says_those_and_escapes_them() -> None:
    drawn = str(render_figure({"instrument": "flowmeter", "float": 12, "alt": 'Tube <b>"A"</b>', "caption": "a < b"}))
    assert "Tube &lt;b&gt;&#34;A&#34;&lt;/b&gt;" in drawn
    assert "<figcaption>a &lt; b</figcaption>" in drawn
    assert "<b>" not in drawn


@pytest.mark.parametrize(
    ("fraction", "words"), [(0.0, "open"), (1.0, "shut"), (0.5, "1/2 shut"), (0.125, "1/8 shut"), (0.9, "7/8 shut")]
)
def test_the_rate_control_is_said_in_eighths(fraction: float, words: str) -> None:
    figure = {"flow_l_min": 12, "peak_cmh2o": 20, "rate_control_fraction": fraction, "oxygen_fraction": 0.5}
    assert f"<span>{words}</span>" in str(render_figure({"instrument": "controls", **figure, "alt": "Knobs."}))


def test_what_a_monitor_does_not_show_is_said_to_be_missing() -> None:
    drawn = str(render_figure({"instrument": "monitor", "saturation_percent": 93, "alt": "A monitor."}))
    assert drawn.count("no reading") == 4
    assert "<b>93</b>" in drawn
