"""Reads question_bank/competencies.toml, the framework every family and procedure refers to."""

from __future__ import annotations

import re
from pathlib import Path

from pydantic import Field, ValidationError

from quizapp.assessment.competencies import Competency
from quizapp.content.family_header import Sentence, Table
from quizapp.content.front_matter import Document, as_fault, parse_toml_file
from quizapp.errors import ContentFault

FILE = "question_bank/competencies.toml"

_CODE = re.compile(r"C[1-9][0-9]?")


class CompetencyTable(Table):
    """[C1], [C2] ...: one competency."""

    title: Sentence
    behaviours: list[Sentence] = Field(min_length=1)
    critical_errors: list[Sentence] = Field(min_length=1)
    critical: bool
    valid_months: int = Field(default=12, ge=1, le=60)
    practise_months: int = Field(ge=1, le=60)
    discussed: bool = False


def read_competencies(folder: Path) -> tuple[dict[str, Competency], list[ContentFault]]:
    """Return the competencies by code, in the order written, and every fault of the file."""
    document = parse_toml_file(folder, folder / FILE)
    competencies: dict[str, Competency] = {}
    faults = list(document.faults)
    for code, table in document.header.items():
        if not _CODE.fullmatch(code):
            faults.append(document.fault(f'"{code}" is not a code such as C1', code))
        else:
            faults += _read_one(document, code, table, competencies)
    if not competencies and not faults:
        faults.append(document.fault("lists no competency"))
    return competencies, faults


def _read_one(document: Document, code: str, table: object, competencies: dict[str, Competency]) -> list[ContentFault]:
    try:
        read = CompetencyTable.model_validate(table)
    except ValidationError as error:
        known = set(CompetencyTable.model_fields)
        return [as_fault(document, detail, known, (code,)) for detail in error.errors(include_url=False)]
    competencies[code] = Competency(
        code=code,
        title=read.title,
        behaviours=tuple(read.behaviours),
        critical_errors=tuple(read.critical_errors),
        is_critical=read.critical,
        valid_months=read.valid_months,
        practise_months=read.practise_months,
        is_discussed=read.discussed,
    )
    return []
