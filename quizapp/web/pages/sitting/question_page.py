"""What the page of one question shows: never the key, a weight or the name of an option or step."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from markupsafe import Markup

from quizapp.assessment import frozen_json
from quizapp.assessment.questions import Blank, Question
from quizapp.content.markdown_text import to_html
from quizapp.services.record_answer import Response, option_token
from quizapp.services.sittings_of import AskedQuestion
from quizapp.store.sittings import Sitting
from quizapp.web.components import PlaceScale, place_scale
from quizapp.web.instruments.render import render_figure
from quizapp.web.markup import trusted


@dataclass(frozen=True, kw_only=True)
class ShownBlank:
    """One entry: its name, label, unit (one word, or pairs to choose from), and what stands in it."""

    name: str
    label: str
    units: str | list[tuple[str, str]]
    value: str
    unit: str
    error: str


@dataclass(frozen=True, kw_only=True)
class ShownQuestion:
    """Everything the template needs."""

    position: int
    length: int
    scale: PlaceScale
    stem: Markup
    figures: tuple[Markup, ...]
    is_wide: bool
    blanks: tuple[ShownBlank, ...]
    options: tuple[tuple[str, str], ...]
    chosen: str
    option_error: str
    steps: tuple[tuple[str, str], ...]
    order: tuple[str, ...]
    order_error: str
    revision: int


WIDE = {"pressure-time-trace", "capnogram", "trend", "emptying-curve"}


def shown_question(
    sitting: Sitting,
    asked: AskedQuestion,
    length: int,
    *,
    sent: Response | None = None,
    error: str = "",
    field: str = "",
) -> ShownQuestion:
    """Lay out a question; `sent` and `error` keep what was typed and say what to do about it."""
    response = sent or _saved(asked)
    question = asked.question
    return ShownQuestion(
        position=asked.position,
        length=length,
        scale=place_scale(asked.position, length),
        stem=trusted(to_html(question.stem)),
        figures=drawn_figures(question),
        is_wide=any(figure.instrument in WIDE for figure in question.figures),
        blanks=_blanks(question, response, error, field),
        options=tuple(
            (option_token(sitting.seed, asked.position, option.name), option.text) for option in question.options
        ),
        chosen=response.option,
        option_error=error if field == "option" else "",
        steps=tuple((str(place), step.text) for place, step in enumerate(question.steps, start=1)),
        order=_places(question, response.order),
        order_error=error if field == "order" else "",
        revision=asked.answer.revision if asked.answer else 0,
    )


def drawn_figures(question: Question) -> tuple[Markup, ...]:
    """Return the figures of a question as markup."""
    return tuple(
        render_figure({**frozen_json.to_plain(figure), "id": f"figure-{number}"})
        for number, figure in enumerate(question.figures, start=1)
    )


def _saved(asked: AskedQuestion) -> Response:
    if asked.answer is None:
        return Response()
    return Response(**asked.answer.response)


def _blanks(question: Question, response: Response, error: str, field: str) -> tuple[ShownBlank, ...]:
    return tuple(
        ShownBlank(
            name=f"answer_{index}",
            label=blank.label,
            units=_units(blank),
            value=_at(response.texts, index),
            unit=_at(response.units, index),
            error=error if field == f"answer_{index}" else "",
        )
        for index, blank in enumerate(question.blanks)
    )


def _places(question: Question, order: Sequence[str]) -> tuple[str, ...]:
    """Return the places in which the steps are shown, which stand for them on the page."""
    place = {step.name: str(at) for at, step in enumerate(question.steps, start=1)}
    return tuple(place[name] for name in order)


def _units(blank: Blank) -> str | list[tuple[str, str]]:
    if not blank.asks_for_unit:
        return blank.unit_labels[0]
    return [("", "unit?"), *zip(blank.units, blank.unit_labels, strict=True)]


def _at(texts: Sequence[str], index: int) -> str:
    return texts[index] if index < len(texts) else ""
