"""Reads one family file: front matter and body to a Family, or every fault of the file at once."""

from __future__ import annotations

from decimal import Decimal

from quizapp.assessment.families import (
    BlankDesign,
    Danger,
    Derived,
    Family,
    FamilyKind,
    ListDraw,
    Purpose,
    RangeDraw,
    StepDesign,
    Use,
    WrongIdea,
)
from quizapp.assessment.formula import Kind
from quizapp.assessment.placeholders import Text
from quizapp.content.choice_fields import name_cases, read_cases, read_options
from quizapp.content.family_header import DrawTable, FamilyHeader, KeyTable, LetTable
from quizapp.content.family_rules import header_faults, unit_code
from quizapp.content.figure_fields import read_figures
from quizapp.content.formula_fields import Fields
from quizapp.content.front_matter import Document, validate
from quizapp.content.markdown_text import body_faults
from quizapp.errors import ContentFault

BLANKS = ("key", "second")


def read_family(document: Document) -> tuple[Family | None, list[ContentFault]]:
    """Return the family of a document, or None with every fault. Warnings may come along with a family."""
    header, faults = validate(document, FamilyHeader)
    if header is None:
        return None, faults
    fields = Fields(document)
    family = _family(header, fields)
    faults = [*header_faults(header, document), *fields.faults]
    faults += [document.fault_in_body(message, line) for line, message in body_faults(document.body)]
    return (None if any(fault.level == "error" for fault in faults) else family), faults


def _family(header: FamilyHeader, fields: Fields) -> Family:
    """Read the tables in the order in which names become known."""
    requires = fields.condition(header.requires, "requires") if header.requires else None
    name_cases(header, fields)
    draws = tuple(_draw(name, table, fields) for name, table in header.draw.items())
    derived = tuple(_derived(name, table, fields) for name, table in header.let.items())
    blanks = tuple(_blank(name, table, fields) for name in BLANKS if (table := getattr(header, name)) is not None)
    keys = [blank.name for blank in blanks]
    return Family(
        code=header.code,
        title=header.title,
        kind=FamilyKind(header.kind),
        purpose=Purpose(header.purpose),
        use=Use(header.use),
        competencies=tuple(header.competencies),
        group=header.group,
        owner=header.owner,
        authors=tuple(header.authors),
        review_by=header.review_by,
        sources=tuple(header.sources),
        content_hash=fields.document.content_hash,
        path=fields.document.path,
        stem=_stem(header, fields),
        keep=fields.text(header.feedback.keep, "feedback", "keep", extra=keys),
        worked=fields.text(header.feedback.worked, "feedback", "worked", extra=keys),
        settings=tuple(fields.text(text, "settings") for text in header.settings),
        just_competent_share=header.just_competent_share,
        requires=requires,
        where=tuple(fields.condition(text, "where") for text in header.where),
        cases=read_cases(header, fields),
        draws=draws,
        derived=derived,
        blanks=blanks,
        wrong_ideas=_wrong_ideas(header, fields, keys),
        figures=read_figures(header, fields),
        options=read_options(header.option, fields, "option"),
        options_shown=header.options_shown,
        options_in_order=header.options_in_order,
        steps=_steps(header, fields),
    )


def _stem(header: FamilyHeader, fields: Fields) -> Text:
    stem = Text(fields.document.body.strip())
    for name in sorted(stem.names - fields.printable - {"setting"}):
        line = next(at for at, text in enumerate(fields.document.body.split("\n"), 1) if f"{{{name}}}" in text)
        hint = f"; give it decimals under [let.{name}]" if name in header.let else ""
        fields.faults.append(fields.document.fault_in_body(f"{{{name}}} cannot be printed in the stem{hint}", line))
    if not stem.template:
        fields.fault("the stem is missing: write the question below the front matter")
    return stem


def _draw(name: str, table: DrawTable, fields: Fields) -> RangeDraw | ListDraw:
    place = ("draw", name)
    if table.unit:
        unit_code(table.unit, fields, *place, "unit")
    is_list = table.choose is not None
    if is_list == (table.low is not None or table.high is not None or table.step is not None):
        fields.fault("give either from, to and step, or choose", *place)
    elif not is_list and (table.low is None or table.high is None or table.step is None):
        fields.fault("from, to and step belong together", *place)
    if table.words and len(table.words) != len(table.choose or ()):
        fields.fault(f"{len(table.words)} words for {len(table.choose or ())} numbers", *place, "words")
    if table.words and len(set(table.choose or ())) < len(table.choose or ()):
        fields.fault(
            "with words each number stands once, so that it can be told which word was drawn", *place, "choose"
        )
    design: RangeDraw | ListDraw
    if is_list:
        values = tuple(fields.number(text, *place, "choose") for text in table.choose or ())
        design = ListDraw(name=name, values=values, words=tuple(table.words), unit=table.unit, unusual=table.unusual)
        if not values:
            fields.fault("the list is empty", *place, "choose")
    else:
        design = RangeDraw(
            name=name,
            low=fields.number(table.low or "0", *place, "from"),
            high=fields.number(table.high or "0", *place, "to"),
            step=Decimal(1) if table.step is None else table.step,
            unit=table.unit,
            unusual=table.unusual,
        )
        if design.step <= 0:
            fields.fault(f"must be above zero; found {design.step}", *place, "step")
    fields.add(name, *place)
    return design


def _derived(name: str, table: str | LetTable, fields: Fields) -> Derived:
    place = ("let", name)
    plain = LetTable(formula=table) if isinstance(table, str) else table
    formula = fields.value(plain.formula, *place)
    printable = plain.decimals is not None or bool(plain.words)
    if printable and formula.kind is Kind.TRUTH:
        fields.fault("is a condition, which has neither decimals nor words; use 1 if … else 0", *place)
    fields.add(name, *place, kind=formula.kind, printable=printable)
    return Derived(name=name, formula=formula, decimals=plain.decimals, words=tuple(plain.words))


def _blank(name: str, table: KeyTable, fields: Fields) -> BlankDesign:
    codes = tuple(unit_code(text, fields, name, "units" if table.units else "unit") for text in _units(table))
    _check_tolerance(name, table, fields)
    return BlankDesign(
        name=name,
        label=table.label,
        formula=fields.number(table.formula, name, "formula"),
        units=codes,
        unit_label=table.unit_label,
        tolerance=table.tolerance,
        tolerance_percent=table.tolerance_percent,
        decimals=table.decimals,
        low=fields.number(table.range[0], name, "range"),
        high=fields.number(table.range[1], name, "range"),
        danger=Danger(table.safety) if table.safety else None,
    )


def _units(table: KeyTable) -> list[str]:
    return table.units or [table.unit or ""]


def _check_tolerance(name: str, table: KeyTable, fields: Fields) -> None:
    if (table.unit is None) == (table.units is None):
        fields.fault("give either unit, which is shown, or units, of which one is chosen", name)
    if table.units is not None and len(set(table.units)) < max(2, len(table.units)):
        fields.fault("a list of units needs at least two, each once; use unit for one", name, "units")
    if table.tolerance is None and table.tolerance_percent is None:
        fields.fault("give tolerance, tolerance_percent or both (then the larger counts); 0 means exactly", name)
    for field in ("tolerance", "tolerance_percent"):
        value = getattr(table, field)
        if value is not None and not 0 <= value <= 50_000:
            fields.fault(f"must be zero or above; found {value}", name, field)


def _wrong_ideas(header: FamilyHeader, fields: Fields, keys: list[str]) -> tuple[WrongIdea, ...]:
    ideas = []
    for at, table in enumerate(header.wrong_idea):
        place = ("wrong_idea", at)
        if table.blank not in keys:
            fields.fault(f"there is no [{table.blank}] in this file", *place, "blank")
        formula = fields.number(table.formula, *place, "formula")
        says = fields.text(table.says, *place, "says", extra=[*keys, "this"])
        ideas.append(WrongIdea(name=table.name, blank=table.blank, formula=formula, says=says))
    return tuple(ideas)


def _steps(header: FamilyHeader, fields: Fields) -> tuple[StepDesign, ...]:
    return tuple(
        StepDesign(
            name=table.name,
            text=fields.text(table.text, "step", at, "text"),
            after=tuple(table.after),
            because=table.because,
        )
        for at, table in enumerate(header.step)
    )
