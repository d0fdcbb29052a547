"""What must hold between the fields of one family file, beyond the kind of each field."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from pathlib import PurePosixPath

from quizapp.content.family_header import FamilyHeader
from quizapp.content.formula_fields import Fields
from quizapp.content.front_matter import Document, suggest
from quizapp.errors import ContentFault
from quizapp.ventilation.units import UNITS

_BY_LABEL = {unit.label: code for code, unit in UNITS.items() if unit.label}


def unit_code(text: str, fields: Fields, *place: str | int) -> str:
    """Return the UCUM code of a unit given by code or label; an unknown one is a fault and counts as a plain number."""
    if text in UNITS:
        return text
    if text in _BY_LABEL:
        return _BY_LABEL[text]
    fields.fault(f'"{text}" is not a unit on the list{suggest(text, [*UNITS, *_BY_LABEL])}', *place)
    return "1"


def header_faults(header: FamilyHeader, document: Document) -> list[ContentFault]:
    """Return the faults between fields: parts that do not fit the kind, names given twice, the name of the file."""
    return [
        *_file_name(header, document),
        *_parts(header, document),
        *_choice(header, document),
        *_steps(header, document),
        *_repeated(document, "wrong_idea", [idea.name for idea in header.wrong_idea]),
        *_repeated(document, "case", [case.name for case in header.case]),
        *_share(header, document),
    ]


def _file_name(header: FamilyHeader, document: Document) -> list[ContentFault]:
    name, wanted = PurePosixPath(document.path).name, f"{header.code.lower()}-"
    if name.startswith(wanted) and name == name.lower():
        return []
    return [document.fault(f"the file is named {name}; the name must be lower case and start with {wanted}", "code")]


def _parts(header: FamilyHeader, document: Document) -> list[ContentFault]:
    asks_number = header.kind in ("numeric", "reading")
    rules = (
        (asks_number and header.key is None, "a family of this kind needs [key]"),
        (not asks_number and header.key is not None, "only numeric and reading families have [key]"),
        (header.second is not None and header.key is None, "[second] comes beside [key]"),
        (header.kind == "reading" and not header.figure, "a reading family needs a [[figure]] to read from"),
        (not asks_number and bool(header.wrong_idea), "[[wrong_idea]] needs a number; name it at the option"),
        (asks_number and not header.wrong_idea, "name at least one [[wrong_idea]]"),
        (asks_number and header.use != "open", "numeric families are open: leave `use` out"),
        (not asks_number and header.use == "open", 'give use = "practice" or "assessment"'),
    )
    return [document.fault(message, "kind") for is_broken, message in rules if is_broken]


def _choice(header: FamilyHeader, document: Document) -> list[ContentFault]:
    has_options = bool(header.option) or any(case.option for case in header.case)
    if (header.kind == "choice") != has_options:
        return [document.fault("options belong to choice families, and each choice family has some", "kind")]
    faults = _repeated(document, "option", [option.name for option in header.option])
    always = [_plain(option.text) for option in header.option if option.when is None]
    faults += _repeated(document, "option", always, what="text")
    for case in header.case:
        names = [option.name for option in (*header.option, *case.option)]
        faults += _repeated(document, "case", names, what=f"option of case {case.name}")
    return faults


def _steps(header: FamilyHeader, document: Document) -> list[ContentFault]:
    if (header.kind == "order") != bool(header.step):
        return [document.fault("steps belong to order families, and each order family has some", "kind")]
    names = [step.name for step in header.step]
    faults = _repeated(document, "step", names)
    for at, step in enumerate(header.step):
        for before in step.after:
            if before not in names:
                faults.append(document.fault(f'"{before}" is not a step{suggest(before, names)}', "step", at, "after"))
    if not faults and _has_circle({step.name: step.after for step in header.step}):
        faults.append(document.fault("some steps come before themselves through others; cut one `after`", "step"))
    return faults


def _has_circle(after: dict[str, list[str]]) -> bool:
    placed: set[str] = set()
    while len(placed) < len(after):
        ready = {name for name, before in after.items() if name not in placed and placed.issuperset(before)}
        if not ready:
            return True
        placed |= ready
    return False


def _repeated(document: Document, field: str, names: Iterable[str], what: str = "name") -> list[ContentFault]:
    twice = [name for name, count in Counter(names).items() if count > 1]
    return [document.fault(f'the {what} "{name}" is given twice', field) for name in twice]


def _plain(text: str) -> str:
    return " ".join(text.casefold().split())


def _share(header: FamilyHeader, document: Document) -> list[ContentFault]:
    share = header.just_competent_share
    if share is None or 0 < share < 1:
        return []
    return [document.fault(f"must lie between 0 and 1; found {share}", "just_competent_share")]
