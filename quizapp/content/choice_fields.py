"""Reads cases and options of a family; the names of a case become known before any number is drawn."""

from __future__ import annotations

from quizapp.assessment.families import CaseDesign, OptionDesign
from quizapp.assessment.formula import Kind
from quizapp.content.family_header import FamilyHeader, OptionTable
from quizapp.content.formula_fields import Fields


def name_cases(header: FamilyHeader, fields: Fields) -> None:
    """Make case.NAME, and the numbers and words every case must give, known."""
    if not header.case:
        return
    first = header.case[0]
    for at, case in enumerate(header.case):
        fields.add(f"case.{case.name}", "case", at, "name", kind=Kind.TRUTH, printable=False)
        for kind, wanted, found in (("numbers", first.numbers, case.numbers), ("words", first.words, case.words)):
            odd = ", ".join(sorted(set(wanted) ^ set(found)))
            if odd:
                fields.fault(f"every case gives the same {kind}; {odd} differs from the first case", "case", at)
    for name in first.numbers:
        fields.add(name, "case", 0, "numbers", name)
    fields.printable |= {*first.words, "case"}


def read_cases(header: FamilyHeader, fields: Fields) -> tuple[CaseDesign, ...]:
    """Return the cases with their texts and options, once all names are known."""
    return tuple(
        CaseDesign(
            name=case.name,
            text=fields.text(case.text, "case", at, "text"),
            numbers=case.numbers,
            words=case.words,
            options=read_options(case.option, fields, "case", at, "option"),
        )
        for at, case in enumerate(header.case)
    )


def read_options(tables: list[OptionTable], fields: Fields, *place: str | int) -> tuple[OptionDesign, ...]:
    """Return the options of a family or of one of its cases."""
    return tuple(_option(table, fields, (*place, at)) for at, table in enumerate(tables))


def _option(table: OptionTable, fields: Fields, place: tuple[str | int, ...]) -> OptionDesign:
    return OptionDesign(
        name=table.name,
        text=fields.text(table.text, *place, "text"),
        is_key=fields.condition(table.key, *place, "key"),
        says=fields.text(table.says, *place, "says"),
        wrong_idea=table.wrong_idea or "",
        credit=fields.number(table.credit, *place, "credit") if table.credit is not None else None,
        when=fields.condition(table.when, *place, "when") if table.when is not None else None,
    )
