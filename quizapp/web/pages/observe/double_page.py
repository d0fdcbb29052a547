"""What the page of two sheets says: the finding, each step as both marked it, and the numbers beside each other."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from quizapp.assessment.double_observation import DoubleComparison
from quizapp.assessment.observation_rules import Decision
from quizapp.assessment.observation_state import GlobalRating, StepMark
from quizapp.services.double_observations import DoubleView
from quizapp.services.observation_sheet import Sheet
from quizapp.web.pages.observe.sheet_page import MARK_WORDS

DECISION_WORDS = {Decision.SHOWN: "shown", Decision.NOT_YET: "not yet shown", Decision.INCOMPLETE: "incomplete"}


@dataclass(frozen=True, kw_only=True)
class PairRow:
    """One step as both marked it."""

    key: str
    text: str
    is_critical: bool
    first: str
    second: str
    agrees: bool


def double_finding(view: DoubleView) -> str:
    """Say in one sentence how far the two sheets agree."""
    comparison = view.comparison
    about = f"{comparison.agreeing} of {len(comparison.steps)} steps are marked alike"
    if comparison.same_decision:
        return f"Both sheets say {DECISION_WORDS[comparison.decisions[0]]}; {about}."
    first, second = (DECISION_WORDS[one] for one in comparison.decisions)
    return f"The sheets differ: {first} and {second}; {about}."


def step_pairs(comparison: DoubleComparison) -> tuple[PairRow, ...]:
    """Return every step as both marked it, as listed."""
    return tuple(
        PairRow(
            key=step.letter,
            text=step.text,
            is_critical=step.is_critical,
            first=_words(step.first, prompted=step.first_prompted),
            second=_words(step.second, prompted=step.second_prompted),
            agrees=step.agrees,
        )
        for step in comparison.steps
    )


def side_by_side(view: DoubleView) -> tuple[tuple[str, str, str], ...]:
    """Return (name, first, second) of what else the sheets say."""
    one, two, comparison = view.first, view.second, view.comparison
    decisions, totals = comparison.decisions, comparison.totals
    return (
        ("Result by the written rule", DECISION_WORDS[decisions[0]], DECISION_WORDS[decisions[1]]),
        ("Weighted share of the steps", _percent(totals[0]), _percent(totals[1])),
        (
            "Dependencies broken on this sheet alone",
            _pairs(comparison.broken_only_first),
            _pairs(comparison.broken_only_second),
        ),
        ("Overall judgement", _rating(one), _rating(two)),
        ("Connection declared", one.connection or "none", two.connection or "none"),
    )


def _pairs(pairs: tuple[tuple[str, str], ...]) -> str:
    return ", ".join(f"{first} before {then}" for first, then in pairs) or "none"


def _percent(share: Fraction | None) -> str:
    return "nothing judged" if share is None else f"{float(100 * share):.0f} %"


def _rating(sheet: Sheet) -> str:
    return f"{sheet.global_rating}, {GlobalRating(sheet.global_rating).anchor}" if sheet.global_rating else "none"


def _words(mark: StepMark | None, *, prompted: bool) -> str:
    said = MARK_WORDS[mark] if mark else "not marked"
    return f"{said}, prompted" if prompted else said
