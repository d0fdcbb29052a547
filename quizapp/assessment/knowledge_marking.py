"""Marks a knowledge form: as a whole against its cut, then competency by competency.

A competency has its own minimum only from five questions on. An answer that errs in the dangerous direction makes
the competency not shown, whatever the score, until that family is answered right in a new draw.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from enum import StrEnum

FEWEST_FOR_A_MINIMUM = 5
FULL_CREDIT = Decimal(1)


class AnswerState(StrEnum):
    """What became of a question of the form; one left out (withdrawn meanwhile) is no part of the form any more."""

    ANSWERED = "answered"
    UNANSWERED = "unanswered"
    LEFT_OUT = "left_out"


class KnowledgeOutcome(StrEnum):
    """What a form shows about one competency."""

    SHOWN = "shown"
    NOT_SHOWN = "not_shown"
    NOT_ASKED = "not_asked"


@dataclass(frozen=True, kw_only=True)
class MarkedAnswer:
    """One question of a form with its credit (0 to 1) and whether it errs in the direction that can hurt."""

    competencies: tuple[str, ...]
    family: str
    credit: Decimal
    is_dangerous: bool = False
    state: AnswerState = AnswerState.ANSWERED

    @property
    def is_right(self) -> bool:
        """Whether the question counts as right: only full credit does."""
        return self.state is AnswerState.ANSWERED and self.credit >= FULL_CREDIT

    @property
    def errs_dangerously(self) -> bool:
        """Whether a given answer errs in the dangerous direction."""
        return self.state is AnswerState.ANSWERED and self.is_dangerous and not self.is_right


@dataclass(frozen=True, kw_only=True)
class FormRules:
    """The cut (fewest right, 1 to the length of the form) and the minima of competencies.

    `competencies` are those the result has to speak of even when the form did not ask them.
    """

    cut: int
    minimum_right: Mapping[str, int] = field(default_factory=dict)
    competencies: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True)
class CompetencyResult:
    """What the form shows about one competency.

    `minimum_right` None: the competency had no minimum of its own. `is_held_by_danger`: it would be shown but for
    `dangerous_families`. `families_right` are answered right every time they were asked.
    """

    competency: str
    outcome: KnowledgeOutcome
    asked: int
    right: int
    minimum_right: int | None
    is_held_by_danger: bool
    dangerous_families: tuple[str, ...]
    families_right: tuple[str, ...]
    sentence: str


@dataclass(frozen=True, kw_only=True)
class KnowledgeResult:
    """The form as a whole and each competency. `cut` is the one that applied to the questions that remained."""

    questions: int
    left_out: int
    right: int
    cut: int
    is_shown: bool
    competencies: tuple[CompetencyResult, ...]
    sentence: str

    def of(self, competency: str) -> CompetencyResult | None:
        """Give the result of one competency, None when the form has nothing to do with it."""
        return next((one for one in self.competencies if one.competency == competency), None)


def mark_form(answers: Sequence[MarkedAnswer], rules: FormRules) -> KnowledgeResult:
    """Mark a form; every question asked is in `answers`, unanswered ones too.

    A question left out shortens the form, and the cut falls in proportion, rounded up. Raises ValueError for a cut
    outside 1 to the length of the form.
    """
    if not 1 <= rules.cut <= max(len(answers), 1):
        raise ValueError(f"the cut of a form of {len(answers)} lies between 1 and {len(answers)}, not at {rules.cut}")
    kept = [answer for answer in answers if answer.state is not AnswerState.LEFT_OUT]
    cut = scaled_cut(rules.cut, len(answers), len(kept))
    right = sum(answer.is_right for answer in kept)
    is_shown = bool(kept) and right >= cut
    return KnowledgeResult(
        questions=len(kept),
        left_out=len(answers) - len(kept),
        right=right,
        cut=cut,
        is_shown=is_shown,
        competencies=tuple(
            _competency_result(competency, kept, rules, is_shown) for competency in _competencies(answers, rules)
        ),
        sentence=_form_sentence(right, len(kept), cut, is_shown),
    )


def scaled_cut(cut: int, asked: int, kept: int) -> int:
    """Give the fewest right of the questions kept that is no smaller a share than the cut was of those asked."""
    return -(-cut * kept // asked) if asked else 0


def _competencies(answers: Iterable[MarkedAnswer], rules: FormRules) -> list[str]:
    asked = {competency for answer in answers for competency in answer.competencies}
    return sorted(asked | set(rules.competencies), key=lambda code: (len(code), code))


def _competency_result(
    competency: str, kept: Sequence[MarkedAnswer], rules: FormRules, form_is_shown: bool
) -> CompetencyResult:
    on_it = [answer for answer in kept if competency in answer.competencies]
    right = sum(answer.is_right for answer in on_it)
    minimum = rules.minimum_right.get(competency) if len(on_it) >= FEWEST_FOR_A_MINIMUM else None
    wrong_families = {answer.family for answer in on_it if not answer.is_right}
    dangerous = tuple(sorted({answer.family for answer in on_it if answer.errs_dangerously}))
    would_be_shown = bool(on_it) and form_is_shown and (minimum is None or right >= minimum)
    outcome = KnowledgeOutcome.SHOWN if would_be_shown and not dangerous else KnowledgeOutcome.NOT_SHOWN
    return CompetencyResult(
        competency=competency,
        outcome=outcome if on_it else KnowledgeOutcome.NOT_ASKED,
        asked=len(on_it),
        right=right,
        minimum_right=minimum,
        is_held_by_danger=would_be_shown and bool(dangerous),
        dangerous_families=dangerous,
        families_right=tuple(sorted({answer.family for answer in on_it} - wrong_families)),
        sentence=f"{competency} {_reason(len(on_it), right, minimum, dangerous, form_is_shown)}",
    )


def _reason(asked: int, right: int, minimum: int | None, dangerous: tuple[str, ...], form_is_shown: bool) -> str:
    if not asked:
        return "not asked."
    score = f"{right} of {asked} right"
    if dangerous:
        families = ", ".join(dangerous)
        return f"not shown: {families} was answered in the dangerous direction. Answer it right in a new draw."
    if minimum is not None and right < minimum:
        return f"not shown: {score}, and at least {minimum} are needed."
    if not form_is_shown:
        return f"not shown: {score}, but the form as a whole is below its cut."
    return f"shown by the form as a whole: {score}." if minimum is None else f"shown: {score}."


def _form_sentence(right: int, questions: int, cut: int, is_shown: bool) -> str:
    if not questions:
        return "Every question of this form was withdrawn, so nothing was marked. A new form is needed."
    return f"{right} of {questions} right, the cut is {cut}: {'shown' if is_shown else 'not shown'}."
