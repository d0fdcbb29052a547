"""What lies behind an answer opens at the right moment and no earlier."""

import pytest

from quizapp.assessment.families import Use
from quizapp.assessment.released import SittingState, is_released


@pytest.mark.parametrize("use", Use)
def test_practice_opens_with_the_answer(use: Use) -> None:
    state = SittingState(is_practice=True, is_handed_in=False, window_is_closed=False)
    assert is_released(state, use, is_answered=True)
    assert not is_released(state, use, is_answered=False)


@pytest.mark.parametrize(
    ("use", "is_handed_in", "window_is_closed", "expected"),
    [
        (Use.OPEN, False, False, False),
        (Use.OPEN, False, True, False),
        (Use.OPEN, True, False, True),
        (Use.ASSESSMENT, False, True, False),
        (Use.ASSESSMENT, True, False, False),
        (Use.ASSESSMENT, True, True, True),
    ],
)
def test_an_assessment(use: Use, is_handed_in: bool, window_is_closed: bool, expected: bool) -> None:
    state = SittingState(is_practice=False, is_handed_in=is_handed_in, window_is_closed=window_is_closed)
    assert is_released(state, use, is_answered=True) is expected
