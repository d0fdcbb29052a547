"""What lies behind one answer: the wrong idea in a sentence, the person's number beside the right one, what to keep."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from markupsafe import Markup

from quizapp.assessment import frozen_json
from quizapp.assessment.grading import Grade, NumericAnswer, read_blank
from quizapp.assessment.questions import Option, Question
from quizapp.content.markdown_text import to_html
from quizapp.services.sittings_of import AskedQuestion
from quizapp.store.sittings import Sitting
from quizapp.web.instruments.render import render_figure
from quizapp.web.markup import trusted
from quizapp.web.pages.sitting.question_page import drawn_figures
from quizapp.web.pages.sitting.why_words import chosen_option, following_sentences, headline

NEEDLES = {"pressure_gauge": "needle_cmh2o", "contents_gauge": "needle_bar"}

DANGER = (
    "This error is on the side that can hurt somebody. The competency stays open until the same kind of question is "
    "answered right with new numbers."
)


@dataclass(frozen=True, kw_only=True)
class ShownWhy:
    """Everything the template needs."""

    position: int
    length: int
    headline: str
    lede: str
    is_correct: bool
    stem: Markup
    figures: tuple[Markup, ...]
    laid_straight: Markup | None
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
    chosen = chosen_option(sitting, asked)
    return ShownWhy(
        position=asked.position,
        length=len(all_asked),
        headline=headline(question, grade, chosen),
        lede=_lede(question, grade, chosen),
        is_correct=grade is not None and grade.is_correct,
        stem=trusted(to_html(question.stem)),
        figures=drawn_figures(question),
        laid_straight=None if grade is None or grade.is_correct else _laid_straight(question, asked),
        worked=question.worked,
        lines=_lines(question, asked),
        options=_options(question, chosen),
        broken=_broken(question, grade),
        keep=question.keep,
        has_twin=bool(question.blanks),
        following=asked.position + 1 if asked.position < len(all_asked) else 0,
    )


def _lede(question: Question, grade: Grade | None, chosen: Option | None) -> str:
    danger = (DANGER,) if grade is not None and grade.is_dangerous else ()
    return " ".join((*following_sentences(question, grade, chosen), *danger))


def _broken(question: Question, grade: Grade | None) -> tuple[str, ...]:
    """Say which steps should have come before which, one line for each reason."""
    early: dict[tuple[str, str], list[str]] = {}
    for pair in grade.broken_pairs if grade else ():
        early.setdefault((pair.second, pair.because), []).append(f"“{_text(question, pair.first)}”")
    return tuple(
        f"{_all_of(firsts)} before “{_text(question, second)}”: {because}."
        for (second, because), firsts in early.items()
    )


def _all_of(texts: list[str]) -> str:
    if len(texts) == 1:
        return f"{texts[0]} comes"
    return f"{', '.join(texts[:-1])} and {texts[-1]} come"


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


def _laid_straight(question: Question, asked: AskedQuestion) -> Markup | None:
    """Draw the piece of a gauge around its needle laid straight, with what was written, where the key is a reading."""
    figures = [one for one in question.figures if one.instrument in NEEDLES]
    if len(figures) != 1 or asked.answer is None or not question.blanks:
        return None
    figure, blank = figures[0], question.blanks[0]
    needle = figure.number(NEEDLES[figure.instrument])
    if blank.key != needle:
        return None
    texts, units = asked.answer.response["texts"], asked.answer.response["units"]
    read = read_blank(blank, texts[0], units[0])
    numbers = {name: str(series[0]) for name, series in figure.numbers.items()}
    written = {"written": str(read.value)} if isinstance(read, NumericAnswer) else {}
    return render_figure({"instrument": "flat-scale", "numbers": numbers | written, "id": "laid-straight"})


def _options(question: Question, chosen: Option | None) -> tuple[dict[str, Any], ...]:
    return tuple(
        {"text": option.text, "is_key": option.is_key, "is_chosen": option is chosen, "says": option.says}
        for option in question.options
    )


def _text(question: Question, name: str) -> str:
    return next(step.text for step in question.steps if step.name == name)
