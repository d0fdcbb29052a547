"""How long and how strict the form behind each sitting was, for a standard that has a rule about it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

from sqlalchemy import select

from quizapp.assessment.sign_off import EvidenceItem, EvidenceKind
from quizapp.services.act import Act
from quizapp.store.evidence import Evidence
from quizapp.store.sittings import Sitting

Form = tuple[int, int]


def forms_behind(act: Act, rows: Iterable[Evidence]) -> dict[str, Form]:
    """Return (questions, cut) of the whole form behind each sitting, by the id of its evidence, with one statement."""
    sources = {row.id: row.source_id for row in rows if row.kind == EvidenceKind.SITTING}
    found = act.session.execute(select(Sitting.id, Sitting.result).where(Sitting.id.in_(set(sources.values()))))
    forms = {sitting_id: (result["questions"], result["cut"]) for sitting_id, result in found if result}
    return {evidence_id: forms[source] for evidence_id, source in sources.items() if source in forms}


def with_forms(items: Sequence[EvidenceItem], forms: Mapping[str, Form]) -> list[EvidenceItem]:
    """Return evidence with the forms behind it written in."""
    return [
        replace(item, form_questions=forms[item.reference][0], form_cut=forms[item.reference][1])
        if item.reference in forms
        else item
        for item in items
    ]
