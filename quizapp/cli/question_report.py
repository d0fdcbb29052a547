"""One question as plain text for its author: numbers drawn, stem, key, tolerance and what each wrong idea gives."""

from __future__ import annotations

from collections.abc import Iterator

from quizapp.assessment.placeholders import print_exact
from quizapp.assessment.questions import Blank, Question


def as_text(question: Question) -> str:
    """Return the question with its key; for authors only."""
    return "\n".join([*_head(question), "", question.stem, "", *_answer(question), *_feedback(question), ""])


def _head(question: Question) -> Iterator[str]:
    yield f"{question.family}  {question.title}"
    case = f", case {question.case}" if question.case else ""
    yield f"seed {question.seed}, {question.profile_code} revision {question.profile_revision}{case}"
    for drawn in question.drawn:
        shown = "" if drawn.printed == print_exact(drawn.value) else f" (value {print_exact(drawn.value)})"
        yield f"  {drawn.name} = {drawn.printed} {drawn.unit}".rstrip() + shown


def _answer(question: Question) -> Iterator[str]:
    for figure in question.figures:
        yield f"figure {figure.instrument}: {figure.alt}"
    for blank in question.blanks:
        yield from _blank(blank)
    for option in question.options:
        mark = "key" if option.is_key else (option.wrong_idea or "wrong")
        part = f", credit {print_exact(option.credit)}" if option.credit and not option.is_key else ""
        yield f"  [{mark}{part}] {option.text}"
    for step in question.steps:
        after = f" (after {', '.join(step.after)})" if step.after else ""
        yield f"  {step.name}: {step.text}{after}"


def _blank(blank: Blank) -> Iterator[str]:
    unit = " or ".join(blank.unit_labels)
    yield f"{blank.label}: {blank.key_printed} {unit}, tolerance ±{print_exact(round(blank.tolerance, 4))}".rstrip()
    if blank.danger:
        yield f"  dangerous when {blank.danger.value}"
    for idea in blank.ideas:
        yield f"  {idea.name}: {idea.printed} {unit}".rstrip() + f"  {idea.says}"


def _feedback(question: Question) -> Iterator[str]:
    if question.worked:
        yield f"worked: {question.worked}"
    yield f"keep: {question.keep}"
