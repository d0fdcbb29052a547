"""What a standard asks for, against the evidence there is: what is present, what is missing and why.

Conjunctive: every part must be there, and nothing makes up for anything else. It never decides; a person does.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date, datetime

from quizapp.assessment.dates import day_in_words
from quizapp.assessment.sign_off_record import (
    CompetencyReadiness,
    EvidenceItem,
    EvidenceKind,
    EvidenceOutcome,
    Part,
    PartKind,
    Requirement,
)
from quizapp.assessment.standing_record import ProfileRevision
from quizapp.assessment.validity import add_months

__all__ = [
    "CompetencyReadiness",
    "EvidenceItem",
    "EvidenceKind",
    "EvidenceOutcome",
    "Part",
    "PartKind",
    "Requirement",
    "readiness_to_decide",
]


def readiness_to_decide(
    requirements: Sequence[Requirement],
    evidence: Iterable[EvidenceItem],
    profile_in_service: ProfileRevision,
    today: date,
) -> tuple[CompetencyReadiness, ...]:
    """Say for each competency which parts are present, which are missing and why, and whether it may be signed off.

    `evidence` is that of one person; only that on `profile_in_service` counts. The latest of the same kind wins.
    `today` is the civil day in the service's zone; what happened later is not looked at.
    """
    known = sorted((item for item in evidence if item.happened_on <= today), key=_order)
    return tuple(_competency(requirement, known, profile_in_service, today) for requirement in requirements)


def _order(item: EvidenceItem) -> tuple[datetime, int, str]:
    """Order by time; of two at the same instant the one that speaks against comes last and so wins."""
    severity = (EvidenceOutcome.INCOMPLETE, EvidenceOutcome.SHOWN, EvidenceOutcome.NOT_SHOWN)
    return item.happened_at, severity.index(item.outcome), item.reference


def _competency(
    requirement: Requirement, known: list[EvidenceItem], profile: ProfileRevision, today: date
) -> CompetencyReadiness:
    items = [item for item in known if item.competency == requirement.competency]
    wanted: list[tuple[PartKind, str | None]] = []
    if requirement.needs_knowledge:
        wanted.append((PartKind.KNOWLEDGE, None))
    wanted.extend((PartKind.PROCEDURE, procedure) for procedure in requirement.procedures)
    if requirement.needs_discussion:
        wanted.append((PartKind.DISCUSSION, None))
    parts = tuple(_part(kind, procedure, requirement, items, profile, today) for kind, procedure in wanted)
    if requirement.minimum_assessors > 1:
        parts = (*parts, _second_assessor(parts))
    may_sign_off = bool(parts) and all(part.is_present for part in parts)
    return CompetencyReadiness(
        competency=requirement.competency,
        is_critical=requirement.is_critical,
        profile=profile,
        parts=parts,
        may_sign_off=may_sign_off,
        sole_assessor_id=_sole_assessor(parts),
        sentence=_sentence(requirement.competency, parts),
    )


def _second_assessor(parts: tuple[Part, ...]) -> Part:
    """Say whether what was watched or discussed comes from more than one person."""
    people = {person for part in parts if part.is_present for person in part.assessor_ids}
    why = "one person watched it all" if len(people) == 1 else "nobody watched it yet"
    return Part(
        kind=PartKind.SECOND_ASSESSOR,
        procedure=None,
        is_present=len(people) > 1,
        why="watched by more than one person" if len(people) > 1 else why,
    )


_KIND_FOR = {
    PartKind.KNOWLEDGE: EvidenceKind.SITTING,
    PartKind.PROCEDURE: EvidenceKind.OBSERVATION,
    PartKind.DISCUSSION: EvidenceKind.DISCUSSION,
}


def _part(
    kind: PartKind,
    procedure: str | None,
    requirement: Requirement,
    items: list[EvidenceItem],
    profile: ProfileRevision,
    today: date,
) -> Part:
    """Find what carries one part, or the reason why nothing does."""
    recognises = procedure is None or procedure not in requirement.observed_here
    fitting = [
        item
        for item in items
        if (item.kind is _KIND_FOR[kind] and (procedure is None or item.procedure == procedure))
        or (item.kind is EvidenceKind.RECOGNISED and recognises)
    ]
    relevant = [item for item in fitting if not _why_other(item, profile)]
    decisive = [item for item in relevant if not _why_too_little(item, requirement)]
    if not decisive:
        why = _why_nothing(fitting[-1], requirement, profile) if fitting else "no evidence yet"
        return Part(kind=kind, procedure=procedure, is_present=False, why=why)
    item = decisive[-1]
    why = _why_missing(item, requirement, _open_dangers(relevant), today)
    return Part(
        kind=kind,
        procedure=procedure,
        is_present=not why,
        why=why or f"shown on {day_in_words(item.happened_on)}",
        reference=item.reference,
        assessor_ids=item.assessor_ids,
    )


def _why_other(item: EvidenceItem, profile: ProfileRevision) -> str:
    """Give the reason why evidence has nothing to do with this sign-off, "" when it has."""
    if not item.is_content_accepted:
        return "its content was not accepted for sign-off, so it counts as practice"
    if item.profile != profile and not (item.profile is None and item.kind is EvidenceKind.DISCUSSION):
        other = "no device revision" if item.profile is None else str(item.profile)
        return f"the evidence is on {other}, not on {profile}"
    return ""


def _why_too_little(item: EvidenceItem, requirement: Requirement) -> str:
    """Give the reason why evidence decides nothing by itself, "" when it does."""
    if item.outcome is EvidenceOutcome.INCOMPLETE:
        return f"incomplete on {day_in_words(item.happened_on)}: to be observed again"
    if item.is_redraw:
        return "only a question answered in the dangerous direction was asked again, not a form"
    if item.kind is EvidenceKind.SITTING and item.questions < requirement.minimum_questions:
        return f"the sitting asked {item.questions} of the {requirement.minimum_questions} questions needed on it"
    if item.kind is EvidenceKind.SITTING and not _keeps_form_rule(item, requirement):
        return (
            f"its form let people pass at {item.form_cut} of {item.form_questions}; the standard asks for at least "
            f"{requirement.form_cut} of {requirement.form_questions}"
        )
    return ""


def _keeps_form_rule(item: EvidenceItem, requirement: Requirement) -> bool:
    """Whether the form of a sitting was long and strict enough; proportions are compared without rounding."""
    if not requirement.form_questions:
        return True
    is_strict = item.form_cut * requirement.form_questions >= requirement.form_cut * item.form_questions
    return item.form_questions >= requirement.form_questions and is_strict


def _why_nothing(last: EvidenceItem, requirement: Requirement, profile: ProfileRevision) -> str:
    return _why_other(last, profile) or _why_too_little(last, requirement)


def _open_dangers(sittings: Iterable[EvidenceItem]) -> list[str]:
    """Give the families once answered in the dangerous direction and not answered right in a later draw."""
    still_open: set[str] = set()
    for item in sittings:
        still_open -= item.families_right
        still_open |= item.dangerous_families
    return sorted(still_open)


def _why_missing(item: EvidenceItem, requirement: Requirement, dangers: list[str], today: date) -> str:
    """Give the reason why the evidence that speaks last does not carry the part, "" when it does."""
    day = day_in_words(item.happened_on)
    if dangers:
        return f"{', '.join(dangers)} was answered in the dangerous direction: to be answered right in a new draw"
    if item.outcome is EvidenceOutcome.NOT_SHOWN and not item.is_held_by_danger:
        return f"not shown on {day}"
    usable_until = item.last_valid_day or add_months(item.happened_on, requirement.validity_months)
    if today > usable_until:
        return f"shown on {day}, which held until {day_in_words(usable_until)}"
    if item.is_used:
        return f"shown on {day}, which already carried a sign-off: fresh evidence is needed"
    return ""


def _sole_assessor(parts: tuple[Part, ...]) -> str | None:
    """Give the person whose observations, or discussions where nothing is observed, alone carry the decision."""
    for kind in (PartKind.PROCEDURE, PartKind.DISCUSSION):
        carried = [part for part in parts if part.kind is kind and part.is_present]
        if carried:
            people = {person for part in carried for person in part.assessor_ids}
            return people.pop() if len(people) == 1 else None
    return None


def _sentence(competency: str, parts: tuple[Part, ...]) -> str:
    if not parts:
        return f"{competency}: the standard asks for no evidence, so it cannot be signed off."
    missing = [f"{part.words} ({part.why})" for part in parts if not part.is_present]
    if missing:
        return f"{competency}: still missing {'; '.join(missing)}."
    return f"{competency}: everything the standard asks for was shown; an educator may decide."
