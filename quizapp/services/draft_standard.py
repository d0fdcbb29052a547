"""The next standard while it is written: begun from the version before, changed by educators, one draft at a time."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import Any

from sqlalchemy import select

from quizapp.assessment.audit_events import AuditEvent
from quizapp.assessment.permissions import Right
from quizapp.assessment.standard import Requirement, Terms, TermsFault, faults_of, requirement_faults
from quizapp.assessment.standard_json import terms_from_json, terms_to_json
from quizapp.content.library import Library
from quizapp.errors import BadInput, Conflict, NotFound
from quizapp.services.act import Act
from quizapp.services.audit_trail import record
from quizapp.services.require_right import require_right
from quizapp.services.standards import StandardInForce, earliest_start, newest_standard
from quizapp.store.people import Person
from quizapp.store.standards import StandardDraft

CHANGED_MEANWHILE = (
    "Somebody changed this draft since you opened it. What you wrote stands below and was not saved. "
    "Open the draft in a second window, compare, then save again from there."
)


@dataclass(frozen=True, kw_only=True)
class Draft:
    """The draft as it stands: its terms, the version it began from, what still stands in the way, who changed it."""

    id: str
    revision: int
    terms: Terms
    before: StandardInForce | None
    faults: tuple[TermsFault, ...]
    changed_by: str
    changed_at: datetime


def open_draft_id(act: Act) -> str | None:
    """Return the id of the draft that is being written, None where there is none."""
    return act.session.scalar(select(StandardDraft.id).where(StandardDraft.open_slot == 1))


def draft(act: Act, library: Library, draft_id: str) -> Draft:
    """Return the open draft; raises NotFound for one that was put in force or dropped."""
    require_right(act, Right.SET_STANDARD)
    row = _open(act, draft_id)
    terms = terms_from_json(row.terms)
    faults = faults_of(
        terms, competencies=library.competencies, procedures=library.procedures, earliest=earliest_start(act)
    )
    return Draft(
        id=row.id,
        revision=row.revision,
        terms=terms,
        before=newest_standard(act.session),
        faults=faults,
        changed_by=act.session.get_one(Person, row.changed_by).name,
        changed_at=row.changed_at,
    )


def _open(act: Act, draft_id: str, *, to_change: bool = False) -> StandardDraft:
    wanted = select(StandardDraft).where(StandardDraft.id == draft_id, StandardDraft.open_slot == 1)
    row = act.session.scalar(wanted.with_for_update() if to_change else wanted)
    if row is None:
        raise NotFound("There is no such draft any more. It was put in force or dropped; the page Standard says which.")
    return row


def begin_draft(act: Act, library: Library) -> str:
    """Begin the next standard as a copy of the newest version and return its id; a draft under way is gone on with."""
    require_right(act, Right.SET_STANDARD)
    under_way = open_draft_id(act)
    if under_way is not None:
        return under_way
    newest = newest_standard(act.session)
    row = StandardDraft(
        id=act.randomness.new_id(),
        open_slot=1,
        based_on_id=newest.id if newest else None,
        terms=terms_to_json(_first_terms(library, act.today) if newest is None else _copied(newest, act.today)),
        revision=1,
        begun_by=act.actor.person_id,
        begun_at=act.now,
        changed_by=act.actor.person_id,
        changed_at=act.now,
        closed_at=None,
    )
    act.session.add(row)
    record(act, AuditEvent.STANDARD_DRAFTED, "standard_draft", row.id, thing="begun")
    return row.id


def _copied(newest: StandardInForce, today: date) -> Terms:
    """Everything as before but what must be said anew: why, who agreed, from when, and whose dates become shorter."""
    return Terms(
        name=newest.name,
        starts_on=max(newest.starts_on, today),
        reason="",
        agreed_by="",
        form_questions=newest.form_questions,
        form_cut=newest.form_cut,
        requirements=tuple(replace(one, renew_by=None) for one in newest.requirements),
    )


def _first_terms(library: Library, today: date) -> Terms:
    """What the framework suggests, for a service that has no standard yet."""
    taught: dict[str, list[str]] = {}
    for code, procedure in sorted(library.procedures.items()):
        for competency in procedure.competencies:
            taught.setdefault(competency, []).append(code)
    asked = {code for family in library.families.values() for code in family.competencies}
    requirements = [
        Requirement(
            competency=one.code,
            is_critical=one.is_critical,
            validity_months=one.valid_months,
            practice_months=one.practise_months,
            needs_knowledge=one.code in asked,
            procedures=tuple(taught.get(one.code, ())),
            needs_discussion=one.is_discussed,
        )
        for one in library.competencies.values()
        if one.code in asked or one.code in taught or one.is_discussed
    ]
    return Terms(
        name="Standard of the service", starts_on=today, reason="", agreed_by="", requirements=tuple(requirements)
    )


def change_general(act: Act, draft_id: str, *, revision: int, changed: Mapping[str, Any]) -> None:
    """Keep the name, start day, reason, who agreed and the rule for forms (fields of `Terms`) as entered.

    What stands in the way of putting it in force is said on the draft; here everything that can be kept is kept.
    Raises Conflict when somebody changed the draft meanwhile.
    """
    row = _to_change(act, draft_id, revision)
    _keep(act, row, replace(terms_from_json(row.terms), **changed), thing="name, start, reason or pass rule")


def replace_terms(act: Act, draft_id: str, terms: Terms) -> None:
    """Write the whole draft anew, as one that was agreed on elsewhere."""
    require_right(act, Right.SET_STANDARD)
    _keep(act, _open(act, draft_id, to_change=True), terms, thing="all of it")


def change_requirement(act: Act, library: Library, draft_id: str, *, revision: int, wanted: Requirement) -> None:
    """Set what is asked for one competency, new or not; raises BadInput for the first thing that cannot be."""
    row = _to_change(act, draft_id, revision)
    for fault in requirement_faults(wanted, library.competencies, library.procedures):
        raise BadInput(fault.message, field=fault.field)
    terms = terms_from_json(row.terms)
    if wanted.renew_by is not None and wanted.renew_by < terms.starts_on:
        raise BadInput(f"The standard starts on {terms.starts_on.isoformat()}; sign-offs given before may end then at "
                       "the earliest.", field="renew_by")  # fmt: skip
    others = [one for one in terms.requirements if one.competency != wanted.competency]
    ordered = sorted([*others, wanted], key=lambda one: (len(one.competency), one.competency))
    _keep(act, row, replace(terms, requirements=tuple(ordered)), thing=wanted.competency)


def leave_out(act: Act, draft_id: str, *, revision: int, competency: str) -> None:
    """Ask nothing for a competency any more."""
    row = _to_change(act, draft_id, revision)
    terms = terms_from_json(row.terms)
    if terms.requirement(competency) is None:
        raise NotFound("This draft asks nothing for that competency.")
    kept = tuple(one for one in terms.requirements if one.competency != competency)
    _keep(act, row, replace(terms, requirements=kept), thing=f"{competency} left out")


def _to_change(act: Act, draft_id: str, revision: int) -> StandardDraft:
    require_right(act, Right.SET_STANDARD)
    row = _open(act, draft_id, to_change=True)
    if row.revision != revision:
        raise Conflict(CHANGED_MEANWHILE)
    return row


def _keep(act: Act, row: StandardDraft, terms: Terms, *, thing: str) -> None:
    row.terms = terms_to_json(terms)
    row.revision += 1
    row.changed_by, row.changed_at = act.actor.person_id, act.now
    record(act, AuditEvent.STANDARD_DRAFTED, "standard_draft", row.id, thing=thing)


def drop_draft(act: Act, draft_id: str) -> None:
    """Give the draft up; what is in force stays in force."""
    require_right(act, Right.SET_STANDARD)
    close_draft(act, draft_id)
    record(act, AuditEvent.STANDARD_DRAFTED, "standard_draft", draft_id, thing="dropped")


def close_draft(act: Act, draft_id: str) -> None:
    """Close the draft, so that the next one can begin."""
    row = _open(act, draft_id, to_change=True)
    row.open_slot, row.closed_at = None, act.now
