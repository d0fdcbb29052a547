"""Reads the checklists: one procedure a file, every fault of every file found in one go."""

from __future__ import annotations

from collections.abc import Collection
from pathlib import Path

from quizapp.assessment.frozen_procedure import from_json, to_json
from quizapp.assessment.procedures import (
    BeforePair,
    LimitBasis,
    Procedure,
    ProfileCondition,
    Step,
    TimeLimit,
    Variant,
)
from quizapp.content.front_matter import Document, parse_document, read_document, validate
from quizapp.content.procedure_checks import letter_faults, order_faults, rest_faults
from quizapp.content.procedure_header import LimitHeader, ProcedureHeader, StepHeader, VariantHeader
from quizapp.errors import ContentFault
from quizapp.ventilation.device_profile import DeviceProfile

CHECKLISTS = "checklists"

__all__ = ["CHECKLISTS", "from_json", "parse_procedure", "read_procedures", "to_json"]


def read_procedures(
    folder: Path,
    *,
    known_competencies: Collection[str] | None = None,
    known_sources: Collection[str] | None = None,
    known_profiles: Collection[DeviceProfile] | None = None,
) -> tuple[tuple[Procedure, ...], tuple[ContentFault, ...]]:
    """Read every checklist of a content folder, sorted by code, with all faults and warnings.

    `folder` holds `checklists/`; README.md in it is the author's guide and no checklist. A file with an error
    gives no procedure; one with warnings does. Competencies, sources and the devices that steps hang on are checked
    where the known ones are given.
    """
    procedures: dict[str, Procedure] = {}
    faults: list[ContentFault] = []
    if not (folder / CHECKLISTS).is_dir():
        message = "there is no such folder; set QUIZAPP_CONTENT to the folder that holds it"
        return (), (ContentFault(path=CHECKLISTS, line=0, message=message),)
    for path in sorted((folder / CHECKLISTS).glob("*.md")):
        if path.name == "README.md":
            continue
        document = read_document(folder, path)
        procedure, found = _procedure(document, known_competencies, known_sources, known_profiles)
        faults += found
        if procedure and procedure.code in procedures:
            message = f"code {procedure.code} is taken by another file; every checklist needs its own"
            faults.append(document.fault(message, "code"))
        elif procedure:
            procedures[procedure.code] = procedure
    return tuple(procedures[code] for code in sorted(procedures)), tuple(sorted(faults))


def parse_procedure(path: str, raw: bytes) -> tuple[Procedure | None, tuple[ContentFault, ...]]:
    """Read one checklist from its bytes; `path` is its name relative to the content folder."""
    procedure, faults = _procedure(parse_document(path, raw), None, None)
    return procedure, tuple(sorted(faults))


def _procedure(
    document: Document,
    known_competencies: Collection[str] | None,
    known_sources: Collection[str] | None,
    known_profiles: Collection[DeviceProfile] | None = None,
) -> tuple[Procedure | None, list[ContentFault]]:
    header, faults = validate(document, ProcedureHeader)
    if header is None:
        return None, faults
    faults = [
        *letter_faults(document, header),
        *rest_faults(document, header, known_competencies, known_sources, known_profiles),
    ]
    if not faults:
        faults = order_faults(document, header)
    if any(fault.level == "error" for fault in faults):
        return None, faults
    return _built(document, header), faults


def _built(document: Document, header: ProcedureHeader) -> Procedure:
    return Procedure(
        code=header.code,
        title=header.title,
        version=header.version,
        when=header.when,
        competencies=tuple(header.competencies),
        minutes=header.minutes,
        is_fault_response=header.is_fault_response,
        cut_fraction=float(header.cut_fraction),
        owner=header.owner,
        authors=tuple(header.authors),
        review_by=header.review_by,
        sources=tuple(header.sources),
        steps=tuple(_step(step) for step in header.steps),
        pairs=tuple(
            BeforePair(
                first=pair.first, then=pair.then, why=pair.why, weight=float(pair.weight), restated=pair.restated
            )
            for pair in header.pairs
        ),
        critical_pairs=tuple((first, then) for first, then in header.critical_pairs),
        limits=tuple(_limit(limit) for limit in header.limits),
        timing_notes=tuple(header.timing_notes),
        cautions=tuple(header.cautions),
        variants=tuple(_variant(variant) for variant in header.variants),
        valid_orders=header.valid_orders,
        valid_orders_on_every_device=header.valid_orders_on_every_device or header.valid_orders,
        body=document.body,
        content_hash=document.content_hash,
    )


def _step(header: StepHeader) -> Step:
    condition = header.only_with
    return Step(
        letter=header.letter,
        text=header.text,
        critical=header.critical,
        conditional=header.if_called_for,
        weight=float(header.weight),
        only_with=ProfileCondition(field=condition.field, value=condition.value) if condition else None,
    )


def _limit(header: LimitHeader) -> TimeLimit:
    return TimeLimit(
        key=header.key,
        text=header.text,
        from_steps=tuple(header.from_steps),
        to_steps=tuple(header.to_steps),
        basis=LimitBasis(header.basis),
        source=header.source,
        at_most_s=None if header.at_most_s is None else float(header.at_most_s),
        at_least_s=None if header.at_least_s is None else float(header.at_least_s),
        recorded_by=header.recorded_by,
        recorded_on=header.recorded_on,
    )


def _variant(header: VariantHeader) -> Variant:
    return Variant(
        name=header.name,
        text=header.text,
        shipped=header.shipped,
        drops=tuple((first, then) for first, then in header.drops),
        valid_orders=header.valid_orders,
    )
