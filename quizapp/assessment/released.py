"""When a person may see what lies behind an answer: open families at once, closed ones after the window has closed."""

from __future__ import annotations

from dataclasses import dataclass

from quizapp.assessment.families import Use


@dataclass(frozen=True, kw_only=True)
class SittingState:
    """Where a sitting stands. `window_is_closed`: an educator has closed the assessment for everybody."""

    is_practice: bool
    is_handed_in: bool
    window_is_closed: bool


def is_released(state: SittingState, use: Use, *, is_answered: bool) -> bool:
    """Whether key, rationale and whether the answer was right may be shown to the person.

    In practice an answer opens its question. In an assessment everything waits for handing in, and a question whose
    design is asked again (`use` closed) waits until nobody can answer it any more.
    """
    if state.is_practice:
        return state.is_handed_in or is_answered
    return state.is_handed_in and (use is Use.OPEN or state.window_is_closed)
