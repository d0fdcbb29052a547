"""Reads the figures of a family and checks them against what each instrument needs."""

from __future__ import annotations

from quizapp.assessment.families import FigureDesign
from quizapp.assessment.figure_kinds import FIGURE_KINDS, declared_faults
from quizapp.assessment.formula import parse_formula
from quizapp.content.family_header import FamilyHeader, FigureTable
from quizapp.content.formula_fields import Fields


def read_figures(header: FamilyHeader, fields: Fields) -> tuple[FigureDesign, ...]:
    """Return the figures with the defaults of their instruments filled in."""
    return tuple(_figure(at, table, fields) for at, table in enumerate(header.figure))


def _figure(at: int, table: FigureTable, fields: Fields) -> FigureDesign:
    place = ("figure", at)
    series = {name: value if isinstance(value, list) else [value] for name, value in table.numbers.items()}
    words = {name: fields.text(word, *place, "words", name) for name, word in table.words.items()}
    fixed = {name: None if text.names else text.template for name, text in words.items()}
    for message in declared_faults(table.instrument, {name: len(each) for name, each in series.items()}, fixed):
        fields.fault(message, *place)
    kind = FIGURE_KINDS.get(table.instrument)
    defaults = {name: (parse_formula(text),) for name, text in kind.defaults.items()} if kind else {}
    given = {
        name: tuple(fields.number(text, *place, "numbers", name) for text in each) for name, each in series.items()
    }
    return FigureDesign(
        instrument=table.instrument,
        numbers={**defaults, **given},
        words=words,
        alt=fields.text(table.alt, *place, "alt"),
        when=fields.condition(table.when, *place, "when") if table.when is not None else None,
    )
