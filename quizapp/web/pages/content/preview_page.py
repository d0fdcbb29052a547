"""What the preview of a family shows: the twenty draws side by side, then each as it would be asked, with its key."""

from __future__ import annotations

from dataclasses import dataclass

from markupsafe import Markup

from quizapp.assessment import frozen_json
from quizapp.assessment.placeholders import print_exact
from quizapp.assessment.questions import Blank, FigureSpec, Question
from quizapp.content.markdown_text import to_html
from quizapp.services.preview_family import DRAWS_SHOWN, LAST_SEED, Preview
from quizapp.web.instruments.figure import FigureError
from quizapp.web.instruments.render import render_figure
from quizapp.web.markup import trusted


@dataclass(frozen=True, kw_only=True)
class ShownBlankKey:
    """One number asked for: its key with unit and tolerance, and each wrong idea with its number and sentence."""

    label: str
    key: str
    tolerance: str
    danger: str
    ideas: tuple[tuple[str, str, str], ...]


@dataclass(frozen=True, kw_only=True)
class ShownOptionKey:
    """One option: whether it is the key, which wrong idea it names, and what choosing it says."""

    text: str
    mark: str
    says: str


@dataclass(frozen=True, kw_only=True)
class ShownDraw:
    """One question in full."""

    number: int
    seed: int
    numbers: str
    key: str
    wrong: str
    stem: Markup
    figures: tuple[tuple[Markup, str], ...]
    blanks: tuple[ShownBlankKey, ...]
    options: tuple[ShownOptionKey, ...]
    steps: tuple[tuple[str, str], ...]
    worked: str
    keep: str


@dataclass(frozen=True, kw_only=True)
class ShownPreview:
    """Everything the template needs; shares are in words, "" where nothing could be drawn."""

    finding: str
    lede: str
    kept: str
    unnamed: str
    devices: tuple[tuple[str, str], ...]
    draws: tuple[ShownDraw, ...]
    next_seed: int


def shown_preview(preview: Preview) -> ShownPreview:
    """Lay out a preview."""
    errors = sum(fault.level == "error" for fault in preview.faults)
    warnings = len(preview.faults) - errors
    report = preview.report
    return ShownPreview(
        finding=_finding(preview.family.code, errors, warnings),
        lede=preview.family.title,
        kept=f"{report.kept} of {report.met_condition}, {report.kept_share:.0%}" if report else "",
        unnamed=f"{report.unnamed} of {report.kept}, {report.unnamed_share:.0%}" if report else "",
        devices=tuple((one.slug, one.label) for one in preview.suited),
        draws=tuple(_draw(number, question) for number, question in enumerate(preview.questions, start=1)),
        next_seed=min(preview.first_seed + DRAWS_SHOWN, LAST_SEED),
    )


def _finding(code: str, errors: int, warnings: int) -> str:
    if errors:
        return f"{code} cannot be asked like this: {_count(errors, 'error')}."
    return f"{code} can be asked, with {_count(warnings, 'warning')}." if warnings else f"{code} can be asked as it is."


def _count(number: int, word: str) -> str:
    return f"{number} {word}" if number == 1 else f"{number} {word}s"


def _draw(number: int, question: Question) -> ShownDraw:
    return ShownDraw(
        number=number,
        seed=question.seed,
        numbers=_numbers(question),
        key=_key(question),
        wrong=", ".join(
            [f"{idea.name} {idea.printed}" for blank in question.blanks for idea in blank.ideas]
            + sorted({option.wrong_idea for option in question.options} - {""})
        ),
        stem=trusted(to_html(question.stem)),
        figures=tuple(_figure(figure, f"draw-{number}-figure-{at}") for at, figure in enumerate(question.figures, 1)),
        blanks=tuple(_blank(blank) for blank in question.blanks),
        options=tuple(
            ShownOptionKey(text=one.text, mark="key" if one.is_key else one.wrong_idea or "wrong", says=one.says)
            for one in question.options
        ),
        steps=tuple((step.text, _before(question, step.after)) for step in question.steps),
        worked=question.worked,
        keep=question.keep,
    )


def _figure(figure: FigureSpec, name: str) -> tuple[Markup, str]:
    try:
        drawn = render_figure({**frozen_json.to_plain(figure), "id": name})
    except FigureError as fault:
        drawn = Markup.escape(f"This figure cannot be drawn: {fault}.")
    return drawn, figure.alt


def _numbers(question: Question) -> str:
    drawn = [f"{one.name} {one.printed} {one.unit}".strip() for one in question.drawn]
    return ", ".join([*([question.case] if question.case else []), *drawn])


def _key(question: Question) -> str:
    if question.options:
        return question.key_option.text
    if question.steps:
        pairs = sum(len(step.after) for step in question.steps)
        return f"any order that keeps {_count(pairs, 'pair')}"
    return " and ".join(f"{blank.key_printed} {blank.unit_labels[0]}".strip() for blank in question.blanks)


def _blank(blank: Blank) -> ShownBlankKey:
    unit = " or ".join(blank.unit_labels)
    return ShownBlankKey(
        label=blank.label,
        key=f"{blank.key_printed} {unit}".strip(),
        tolerance=f"±{print_exact(round(blank.tolerance, 4))}",
        danger=f"dangerous when {blank.danger.value}" if blank.danger else "",
        ideas=tuple((idea.name, f"{idea.printed} {blank.unit_labels[0]}".strip(), idea.says) for idea in blank.ideas),
    )


def _before(question: Question, names: tuple[str, ...]) -> str:
    text = {step.name: step.text for step in question.steps}
    return "; ".join(text[name] for name in names)
