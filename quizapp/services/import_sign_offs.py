"""Reads a list of sign-offs given elsewhere against what is known here, and takes it over once two people signed it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, time

from sqlalchemy import select

from quizapp.assessment.audit_events import AuditEvent
from quizapp.assessment.csv_table import Faults
from quizapp.assessment.decision_origin import DecisionOrigin
from quizapp.assessment.permissions import Actor, Right, has_right
from quizapp.assessment.sign_off import EvidenceKind, EvidenceOutcome
from quizapp.assessment.sign_off_rows import SignOffRow, read_sign_offs
from quizapp.assessment.standing_event_kind import StandingEventKind
from quizapp.assessment.standing_record import Outcome
from quizapp.content.library import Library
from quizapp.errors import BadInput, ContentFault, ContentFaults, NotAllowed, NotFound
from quizapp.services.act import Act
from quizapp.services.audit_trail import Entry, record_many
from quizapp.services.sign_in import actor_of
from quizapp.store.accounts import Account
from quizapp.store.decisions import Decision, StandingEvent
from quizapp.store.evidence import Evidence
from quizapp.store.people import Person

MAY_RECOGNISE = (Right.RECOGNISE_EVIDENCE, Right.IMPORT_PEOPLE)
NOON = time(12)


@dataclass(frozen=True, kw_only=True)
class SignOffWanted:
    """One row with the person it concerns."""

    row: SignOffRow
    person_id: str
    person_name: str
    base_id: str


@dataclass(frozen=True, kw_only=True)
class SignOffPlan:
    """What taking the file over would do: new sign-offs, those known already, and every fault with its row."""

    new: tuple[SignOffWanted, ...]
    same_count: int
    faults: tuple[ContentFault, ...]

    @property
    def errors(self) -> tuple[ContentFault, ...]:
        """The faults that refuse the file as a whole."""
        return tuple(fault for fault in self.faults if fault.level == "error")


@dataclass(frozen=True, kw_only=True)
class _Known:
    """What the store knows about the people of a file."""

    people: dict[str, Person]
    decisions: dict[tuple[str, str, str, int], list[Decision]]
    barred: frozenset[str]


def second_person(act: Act, *, sign_in_name: str) -> str:
    """Return the id of the named second person, who may recognise evidence too and is not the actor."""
    name = sign_in_name.strip().casefold()
    account = act.session.scalar(select(Account).where(Account.sign_in_name == name, Account.is_active.is_(True)))
    if account is None:
        raise BadInput("There is no active account with that sign-in name.", field="second")
    if account.person_id == act.actor.person_id:
        raise BadInput("The second person is somebody else than you.", field="second")
    if not may_recognise(actor_of(act.session, account.person_id), act, None):
        raise BadInput("The second person must be an administrator or an educator.", field="second")
    return account.person_id


def may_recognise(who: Actor, act: Act, base_id: str | None) -> bool:
    """Whether somebody may recognise sign-offs today, at any base or (with `base_id`) at that one."""
    return any(has_right(who, right, act.today, base_id) for right in MAY_RECOGNISE)


def plan_sign_offs(act: Act, library: Library, *, content: bytes, path: str, second_by: str) -> SignOffPlan:
    """Check a file of sign-offs given elsewhere against people, content and what was decided here; change nothing.

    `second_by` is the second person's id (see `second_person`); `path` is the file's name.
    """
    if not may_recognise(act.actor, act, None):
        raise NotAllowed("Administrators and educators recognise sign-offs. Nothing was changed.")
    if second_by == act.actor.person_id or act.session.get(Person, second_by) is None:
        raise NotFound("There is no such second person.")
    rows, read_faults = read_sign_offs(content, path=path, today=act.today)
    known = _known(act)
    faults = Faults(path)
    for fault in read_faults:
        faults.add(fault.line, fault.message, level=fault.level)
    new, same_count = [], 0
    for row in rows:
        person = known.people.get(row.key[0])
        message = _fault_of(act, library, row, person, known, second_by)
        if message or person is None:
            faults.add(row.line, message)
        elif any(_is_same(row, one) for one in known.decisions.get((person.id, *row.key[1:]), [])):
            same_count += 1
        else:
            wanted = SignOffWanted(row=row, person_id=person.id, person_name=person.name, base_id=person.base_id)
            new.append(wanted)
    return SignOffPlan(new=tuple(new), same_count=same_count, faults=faults.all)


def _known(act: Act) -> _Known:
    people = {person.staff_number.casefold(): person for person in act.session.scalars(select(Person))}
    decisions: dict[tuple[str, str, str, int], list[Decision]] = {}
    for one in act.session.scalars(select(Decision)):
        about = (one.person_id, one.competency, one.profile_code, one.profile_revision)
        decisions.setdefault(about, []).append(one)
    barring = (StandingEventKind.SUSPENDED.value, StandingEventKind.WITHDRAWN.value)
    barred = select(StandingEvent.person_id).where(
        StandingEvent.kind.in_(barring),
        (StandingEvent.until_day.is_(None)) | (StandingEvent.until_day >= act.today),
    )
    return _Known(people=people, decisions=decisions, barred=frozenset(act.session.scalars(barred)))


def _fault_of(act: Act, library: Library, row: SignOffRow, person: Person | None, known: _Known, second_by: str) -> str:
    """Say why a row cannot be taken over, "" when it can."""
    if person is None:
        return f"staff_number: nobody here has {row.staff_number}; take the people over first"
    earlier = known.decisions.get((person.id, *row.key[1:]), [])
    return (
        _fault_of_person(act, row, person, known.barred, second_by)
        or _fault_of_content(library, row)
        or _fault_of_earlier(row, earlier)
    )


def _fault_of_person(act: Act, row: SignOffRow, person: Person, barred: frozenset[str], second_by: str) -> str:
    reasons = (
        (person.left_on is not None, f"{row.staff_number} left the service"),
        (
            person.id == act.actor.person_id,
            "nobody recognises a sign-off of their own; another person must take over this row",
        ),
        (person.id == second_by, "the second person named cannot stand for a sign-off of their own"),
        (not may_recognise(act.actor, act, person.base_id), f"you are no educator for the base of {row.staff_number}"),
        (person.id in barred, f"{row.staff_number} is suspended or withdrawn; an educator decides here"),
    )
    return next((f"staff_number: {message}" for applies, message in reasons if applies), "")


def _fault_of_content(library: Library, row: SignOffRow) -> str:
    if row.competency not in library.competencies:
        return f"competency: there is no competency {row.competency}"
    try:
        library.profile(row.profile, row.revision)
    except NotFound as fault:
        return f"profile: {fault}"
    return ""


def _fault_of_earlier(row: SignOffRow, earlier: list[Decision]) -> str:
    """An imported sign-off never stands over what was decided here, nor over a later one."""
    if any(one.origin != DecisionOrigin.RECOGNISED.value for one in earlier):
        return f"competency: {row.competency} was decided here for this device revision; that decision stands"
    if any(one.voided_at is not None for one in earlier):
        return f"competency: a recognised sign-off of {row.competency} was voided here; an educator decides anew"
    if any(one.valid_from > row.signed_on for one in earlier):
        return f"signed_on: a later sign-off of {row.competency} was recognised already"
    if any(one.valid_from == row.signed_on and not _is_same(row, one) for one in earlier):
        return f"last_valid_day: the sign-off of {row.signed_on} was recognised with another last valid day already"
    return ""


def _is_same(row: SignOffRow, one: Decision) -> bool:
    return (one.valid_from, one.last_valid_day) == (row.signed_on, row.last_valid_day)


def take_over(
    act: Act,
    plan: SignOffPlan,
    *,
    file_hash: str,
    first_id: str,
    second_by: str,
    signature_ids: tuple[str | None, str | None],
) -> None:
    """Recognise every sign-off of a plan; both people signed it (`signature_ids`) before this is called.

    Each becomes a decision whose origin is recognised, with evidence of the same kind, keeping its dates and naming
    both people. The same file again changes nothing. Raises ContentFaults with every fault.
    """
    if plan.errors:
        raise ContentFaults(list(plan.errors))
    evidence = [_evidence(act, one, file_hash, first_id, second_by) for one in plan.new]
    decisions = [
        _decision(act, one, shown.id, first_id, second_by, signature_ids)
        for one, shown in zip(plan.new, evidence, strict=True)
    ]
    act.session.add_all([*evidence, *decisions])
    act.session.flush()
    record_many(act, [_entry(one) for one in decisions])


def _evidence(act: Act, wanted: SignOffWanted, file_hash: str, first_id: str, second_by: str) -> Evidence:
    row = wanted.row
    return Evidence(
        id=act.randomness.new_id(),
        person_id=wanted.person_id,
        competency=row.competency,
        kind=EvidenceKind.RECOGNISED.value,
        source_id=file_hash[:32],
        procedure=None,
        outcome=EvidenceOutcome.SHOWN.value,
        summary=row.reason,
        counts_for_sign_off=True,
        profile_code=row.profile,
        profile_revision=row.revision,
        assessor_id=None,
        details={
            "last_valid_day": row.last_valid_day.isoformat(),
            "recorded_by": first_id,
            "second_by": second_by,
        },
        happened_at=datetime.combine(row.signed_on, NOON, act.zone).astimezone(UTC),
        recorded_at=act.now,
    )


def _decision(
    act: Act,
    wanted: SignOffWanted,
    evidence_id: str,
    first_id: str,
    second_by: str,
    signature_ids: tuple[str | None, str | None],
) -> Decision:
    row = wanted.row
    return Decision(
        id=act.randomness.new_id(),
        person_id=wanted.person_id,
        base_id=wanted.base_id,
        competency=row.competency,
        outcome=Outcome.COMPETENT.value,
        origin=DecisionOrigin.RECOGNISED.value,
        reason=row.reason,
        conditions=None,
        valid_from=row.signed_on,
        last_valid_day=row.last_valid_day,
        profile_code=row.profile,
        profile_revision=row.revision,
        standard_id=None,
        evidence_ids=[evidence_id],
        decided_by=first_id,
        second_by=second_by,
        decided_at=act.now,
        signature_id=signature_ids[0],
        second_signature_id=signature_ids[1],
        replaces_id=None,
        voided_at=None,
    )


def _entry(decision: Decision) -> Entry:
    return Entry(
        event=AuditEvent.EVIDENCE_RECOGNISED,
        object_type="decision",
        object_id=decision.id,
        person_id=decision.person_id,
        thing=f"{decision.competency} on {decision.profile_code} revision {decision.profile_revision}",
        after={
            "origin": decision.origin,
            "signed_on": decision.valid_from.isoformat(),
            "last_valid_day": decision.last_valid_day.isoformat() if decision.last_valid_day else None,
            "first": decision.decided_by,
            "second": decision.second_by,
        },
    )
