"""What was shown to the person, laid out for reviewer and person alike: question, answer, key, what was said."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from markupsafe import Markup

from quizapp.assessment import frozen_json
from quizapp.assessment.challenges import Effect
from quizapp.assessment.questions import Question
from quizapp.content.markdown_text import to_html
from quizapp.services.record_answer import option_token
from quizapp.web.instruments.render import render_figure
from quizapp.web.markup import trusted


@dataclass(frozen=True, kw_only=True)
class ShownQuestion:
    """A frozen question with the answer given, the key, and the feedback."""

    title: str
    stem: Markup
    figures: tuple[Markup, ...]
    lines: tuple[dict[str, Any], ...]
    options: tuple[dict[str, Any], ...]
    order: tuple[str, ...]
    said: tuple[str, ...]
    worked: str
    keep: str
    is_answered: bool
    result: str


@dataclass(frozen=True, kw_only=True)
class TouchedRow:
    """One row of the preview: who, what, what happens, before and after."""

    person: str
    what: str
    effect: str
    before: str
    after: str


def shown_question(shown: Mapping[str, Any]) -> ShownQuestion:
    """Lay out what was kept with a challenge about an answer."""
    question = Question.from_plain(shown["question"])
    response: Mapping[str, Any] = shown["response"] or {}
    texts = {step.name: step.text for step in question.steps}
    return ShownQuestion(
        title=question.title,
        stem=trusted(to_html(question.stem)),
        figures=tuple(
            render_figure({**frozen_json.to_plain(figure), "id": f"figure-{number}"})
            for number, figure in enumerate(question.figures, start=1)
        ),
        lines=_lines(question, response),
        options=tuple(
            {
                "text": option.text,
                "is_key": option.is_key,
                "is_chosen": option_token(shown["seed"], shown["position"], option.name) == response.get("option"),
            }
            for option in question.options
        ),
        order=tuple(texts[name] for name in response.get("order", ())),
        said=tuple(shown["said"]),
        worked=question.worked,
        keep=question.keep,
        is_answered=bool(response),
        result=shown["result"],
    )


def _lines(question: Question, response: Mapping[str, Any]) -> tuple[dict[str, Any], ...]:
    lines: list[dict[str, Any]] = []
    for at, blank in enumerate(question.blanks):
        labels = dict(zip(blank.units, blank.unit_labels, strict=True))
        lines.append({"who": "Key", "sum": "", "result": blank.key_printed, "unit": blank.unit_labels[0]})
        if at < len(response.get("texts", ())):
            unit = labels.get(response["units"][at], blank.unit_labels[0])
            lines.append({"who": "Answer", "sum": "", "result": response["texts"][at], "unit": unit, "by_pen": True})
    return tuple(lines)


def touched_rows(statement: Mapping[str, Any]) -> tuple[TouchedRow, ...]:
    """Lay out whom an answer touches and how, as the statement says it."""
    return tuple(
        TouchedRow(
            person=one["person"],
            what=_what(one),
            effect=Effect(one["effect"]).words,
            before=one["before"],
            after=one["after"],
        )
        for one in statement["touched"]
    )


def _what(one: Mapping[str, Any]) -> str:
    day = datetime.fromisoformat(one["begun_at"])
    places = ", ".join(str(answer["position"]) for answer in one["answers"])
    words = f"{one['what']}, {day.day} {day:%B %Y}"
    return f"{words}, question {places}" if places else words


def preview_finding(statement: Mapping[str, Any]) -> str:
    """Say in one sentence what is about to be signed and how many people it touches."""
    outcome = {"upheld": "the result stands", "corrected": "corrected", "void": "void"}[statement["outcome"]]
    people = len({one["person"] for one in statement["touched"]})
    if statement["outcome"] == "upheld" or not people:
        return f"You are about to sign: {outcome}. Nothing changes for anybody."
    rising = len({one["person"] for one in statement["touched"] if one["effect"] == Effect.RAISED})
    many = "1 person is touched" if people == 1 else f"{people} people are touched"
    rise = "1 result rises" if rising == 1 else f"{rising or 'no'} results rise"
    return f"You are about to sign: {outcome}. {many.capitalize()}, {rise}, nobody falls."
