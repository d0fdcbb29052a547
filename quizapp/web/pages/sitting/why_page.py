"""What lies behind one answer: the wrong idea in a sentence, the person's number beside the right one, what to keep."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from markupsafe import Markup

from quizapp.assessment import frozen_json
from quizapp.assessment.grading import Grade, idea_named
from quizapp.assessment.questions import Question
from quizapp.content.markdown_text import to_html
from quizapp.services.record_answer import option_token
from quizapp.services.sittings_of import AskedQuestion
from quizapp.store.sittings import Sitting
from quizapp.web.markup import trusted
from quizapp.web.pages.sitting.question_page import drawn_figures


@dataclass(frozen=True, kw_only=True)
class ShownWhy:
    """Everything the template needs."""

    position: int
    length: int
    headline: str
    sentences: tuple[str, ...]
    is_correct: bool
    is_dangerous: bool
    stem: Markup
    figures: tuple[Markup, ...]
    worked: str
    lines: tuple[dict[str, Any], ...]
    options: tuple[dict[str, Any], ...]
    broken: tuple[str, ...]
    keep: str
    has_twin: bool
    following: int


def shown_why(sitting: Sitting, asked: AskedQuestion, all_asked: Sequence[AskedQuestion]) -> ShownWhy:
    """Lay out what lies behind an answer (or behind a question left open)."""
    question = asked.question
    grade = frozen_json.from_plain(Grade, asked.answer.grade) if asked.answer else None
    return ShownWhy(
        position=asked.position,
        length=len(all_asked),
        headline=headline(question, grade),
        sentences=_sentences(question, grade),
        is_correct=grade is not None and grade.is_correct,
        is_dangerous=grade is not None and grade.is_dangerous,
        stem=trusted(to_html(question.stem)),
        figures=drawn_figures(question),
        worked=question.worked,
        lines=_lines(question, asked),
        options=_options(sitting, asked),
        broken=tuple(f"“{_text(question, pair.first)}” comes before “{_text(question, pair.second)}”: {pair.because}."
                     for pair in (grade.broken_pairs if grade else ())),
        keep=question.keep,
        has_twin=bool(question.blanks),
        following=asked.position + 1 if asked.position < len(all_asked) else 0,
    )  # fmt: skip


def headline(question: Question, grade: Grade | None) -> str:
    """Return the finding of the page in one sentence."""
    if grade is None or grade.is_correct or grade.is_unit_slip:
        return _plain_headline(grade)
    named = _named_says(question, grade)
    if len(named) == 1:
        return named[0]
    if grade.is_unnamed:
        return "That number fits two wrong ideas, so neither is counted."
    if grade.broken_pairs:
        return "Some steps came before what they depend on."
    return "That is not right, and no known wrong idea leads there."


def _plain_headline(grade: Grade | None) -> str:
    if grade is None:
        return "You left this one open."
    return "That is right." if grade.is_correct else "The number is right, the unit is not."


def _named_says(question: Question, grade: Grade) -> list[str]:
    found = [idea_named(question, one.blank, one.wrong_idea) for one in grade.blanks if one.wrong_idea]
    says = [idea.says for idea in found if idea is not None]
    if question.options and not grade.is_correct:
        says += [option.says for option in question.options if option.wrong_idea == grade.wrong_idea and option.says][
            :1
        ]
    return says


def _sentences(question: Question, grade: Grade | None) -> tuple[str, ...]:
    if grade is None or grade.is_correct:
        return ()
    named = _named_says(question, grade)
    return tuple(named) if len(named) > 1 else ()


def _lines(question: Question, asked: AskedQuestion) -> tuple[dict[str, Any], ...]:
    """Return the printed sum and, below it, what the person wrote for each blank."""
    lines: list[dict[str, Any]] = []
    texts = asked.answer.response["texts"] if asked.answer else []
    units = asked.answer.response["units"] if asked.answer else []
    for index, blank in enumerate(question.blanks):
        lines.append({"who": "Right", "sum": "", "result": blank.key_printed, "unit": blank.unit_labels[0]})
        if index < len(texts):
            unit = dict(zip(blank.units, blank.unit_labels, strict=True)).get(units[index], blank.unit_labels[0])
            lines.append({"who": "You", "sum": "", "result": texts[index], "unit": unit, "by_pen": True})
    return tuple(lines)


def _options(sitting: Sitting, asked: AskedQuestion) -> tuple[dict[str, Any], ...]:
    chosen = asked.answer.response["option"] if asked.answer else ""
    return tuple(
        {
            "text": option.text,
            "is_key": option.is_key,
            "is_chosen": option_token(sitting.seed, asked.position, option.name) == chosen,
            "says": option.says,
        }
        for option in asked.question.options
    )


def _text(question: Question, name: str) -> str:
    return next(step.text for step in question.steps if step.name == name)
