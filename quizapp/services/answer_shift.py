"""What a lead does about a shift with nobody current: swap, bring an assessor, restrict the device, accept; or undo it.

All of it is recorded for good and told to the crew.
"""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import select

from quizapp.assessment.audit_events import AuditEvent
from quizapp.assessment.roles import Role, bases_for
from quizapp.assessment.shift_answers import LONGEST_RESTRICTION_AFTER, SHORTEST_REASON, AlertCause, AnswerKind
from quizapp.assessment.shift_cover import Span
from quizapp.content.library import Library
from quizapp.errors import BadInput, Conflict, NotFound
from quizapp.services.act import Act
from quizapp.services.audit_trail import record
from quizapp.services.keep_crews import refuse_elsewhere, shift_thing, shift_to_change
from quizapp.services.messages import ToTell, tell
from quizapp.services.note_covers import note_covers
from quizapp.services.sign_in import roles_of
from quizapp.store.people import Person
from quizapp.store.shifts import CrewShift, ShiftAnswer, ShiftMember

MAY_ANSWER_FOR_IT = (Role.CLINICAL_LEAD, Role.EDUCATOR, Role.TEAM_LEAD)


def swap_member(act: Act, library: Library, shift_id: str, *, out_id: str, in_id: str, reason: str = "") -> str:
    """Put somebody in the place of a member, for the same part of the shift; return the id of what was recorded."""
    row = shift_to_change(act, shift_id)
    out = act.session.get(ShiftMember, (row.id, out_id))
    if out is None:
        raise Conflict("That person is not on this crew any more. Nothing was changed. Open the shift again.")
    if act.session.get(ShiftMember, (row.id, in_id)) is not None:
        raise BadInput("That person is on this crew already.", field="in_id")
    _present(act, in_id, "in_id")
    new = ShiftMember(
        shift_id=row.id, person_id=in_id, crew_role=out.crew_role, from_at=out.from_at, until_at=out.until_at
    )
    refuse_elsewhere(act, row.id, [new])
    act.session.delete(out)
    act.session.flush()
    act.session.add(new)
    row.confirmed_at, row.confirmed_by = act.now, act.actor.person_id
    answer = _keep(act, row, AnswerKind.SWAP, reason.strip(), person_id=out_id, other_id=in_id)
    told = (out_id, in_id)
    _tell_crew(act, row, f"The crew of {_words(act, row)} changed: one member was swapped.", *told)
    note_covers(act, library, [row.base_id], AlertCause.ROSTER)
    return answer


def bring_assessor(act: Act, shift_id: str, *, person_id: str, assessor_id: str, reason: str) -> str:
    """Record that an assessor watches a member before the shift; only the decision after it makes anybody current."""
    row = shift_to_change(act, shift_id)
    if act.session.get(ShiftMember, (row.id, person_id)) is None:
        raise BadInput("Choose a member of this crew.", field="person_id")
    if person_id == assessor_id:
        raise BadInput("Nobody watches themselves. Choose another assessor.", field="assessor_id")
    _require_role(act, assessor_id, (Role.ASSESSOR,), row.base_id, "assessor_id")
    if row.starts_at <= act.now:
        raise Conflict("This shift has begun. Nothing was changed. Try the next way.")
    answer = _keep(act, row, AnswerKind.BRING_ASSESSOR, reason.strip(), person_id=person_id, other_id=assessor_id)
    text = f"An assessor is to come before {_words(act, row)}. {reason.strip()}".strip()
    _tell_crew(act, row, text, assessor_id)
    return answer


def restrict_device(act: Act, shift_id: str, *, authority_id: str, ends_at: datetime, reason: str) -> str:
    """Record that the device is not used on a shift until a time, on whose authority and why."""
    row = shift_to_change(act, shift_id)
    _require_reason(reason)
    _require_role(act, authority_id, MAY_ANSWER_FOR_IT, row.base_id, "authority_id")
    if ends_at <= max(act.now, row.starts_at):
        raise BadInput("The restriction ends after the shift began, and after now.", field="ends_at")
    if ends_at > row.ends_at + LONGEST_RESTRICTION_AFTER:
        raise BadInput("The restriction ends at most 14 days after the shift.", field="ends_at")
    answer = _keep(act, row, AnswerKind.RESTRICT_DEVICE, reason.strip(), authority_id=authority_id, ends_at=ends_at)
    until = ends_at.astimezone(act.zone)
    text = f"The device is not used on {_words(act, row)}, until {until.day} {until:%B %Y, %H:%M}. {reason.strip()}"
    _tell_crew(act, row, text, authority_id)
    return answer


def accept_shift(act: Act, shift_id: str, *, authority_id: str, reason: str) -> str:
    """Record that a shift goes ahead with nobody current, on whose authority and why."""
    row = shift_to_change(act, shift_id)
    _require_reason(reason)
    _require_role(act, authority_id, MAY_ANSWER_FOR_IT, row.base_id, "authority_id")
    answer = _keep(act, row, AnswerKind.ACCEPT, reason.strip(), authority_id=authority_id)
    text = f"{_words(act, row)} goes ahead with nobody current on it; this was accepted. {reason.strip()}"
    _tell_crew(act, row, text, authority_id)
    return answer


def take_back(act: Act, answer_id: str, *, reason: str) -> str:
    """Take an answer back and return the shift's id; a swap is not taken back but made again."""
    answer = act.session.get(ShiftAnswer, answer_id)
    if answer is None or answer.kind == AnswerKind.TAKEN_BACK:
        raise NotFound("There is no such entry.")
    row = shift_to_change(act, answer.shift_id)
    _require_reason(reason)
    if answer.kind == AnswerKind.SWAP:
        raise Conflict("A swap is not taken back. Swap again, so that the crew says who is on it.")
    again = select(ShiftAnswer.id).where(ShiftAnswer.takes_back_id == answer_id)
    if act.session.scalar(again) is not None:
        raise Conflict("This was taken back already. Nothing was changed.")
    _keep(act, row, AnswerKind.TAKEN_BACK, reason.strip(), takes_back_id=answer_id)
    _tell_crew(act, row, f"What was recorded about {_words(act, row)} was taken back. {reason.strip()}")
    return row.id


def _keep(
    act: Act, row: CrewShift, kind: AnswerKind, reason: str, *, person_id: str | None = None,
    other_id: str | None = None, authority_id: str | None = None, ends_at: datetime | None = None,
    takes_back_id: str | None = None,
) -> str:  # fmt: skip
    answer = ShiftAnswer(
        id=act.randomness.new_id(), shift_id=row.id, kind=kind.value, person_id=person_id, other_id=other_id,
        authority_id=authority_id, ends_at=ends_at, reason=reason, recorded_by=act.actor.person_id,
        recorded_at=act.now, takes_back_id=takes_back_id,
    )  # fmt: skip
    act.session.add(answer)
    after = {
        "shift": row.id, "kind": kind.value, "person": person_id or "", "other": other_id or "",
        "authority": authority_id or "", "ends": ends_at.isoformat() if ends_at else "",
        "takes_back": takes_back_id or "",
    }  # fmt: skip
    record(act, AuditEvent.SHIFT_ANSWERED, "shift_answer", answer.id,
           thing=f"{kind.value.replace('_', ' ')}, {shift_thing(row)}", after=after)  # fmt: skip
    return answer.id


def _words(act: Act, row: CrewShift) -> str:
    span = Span(row.starts_at.astimezone(act.zone), row.ends_at.astimezone(act.zone))
    return f"{row.crew}, {span.start.day} {span.start:%B %Y}, {span.start:%H:%M} to {span.end:%H:%M}"


def _tell_crew(act: Act, row: CrewShift, text: str, *others: str) -> None:
    """Tell everybody on the crew, and others concerned, but not who did it."""
    act.session.flush()
    crew = act.session.scalars(select(ShiftMember.person_id).where(ShiftMember.shift_id == row.id))
    concerned = sorted({*crew, *others} - {act.actor.person_id})
    tell(act, [ToTell(person_id=one, about="shift", about_id=row.id, text=text) for one in concerned])


def _require_reason(reason: str) -> None:
    if len(reason.strip()) < SHORTEST_REASON:
        raise BadInput("Write the reason in a sentence; the crew reads it.", field="reason")


def _present(act: Act, person_id: str, field: str) -> None:
    person = act.session.get(Person, person_id)
    if person is None or person.left_on is not None:
        raise BadInput("Choose somebody of the service.", field=field)


def _require_role(act: Act, person_id: str, roles: tuple[Role, ...], base_id: str, field: str) -> None:
    _present(act, person_id, field)
    held = roles_of(act.session, [person_id])[person_id]
    if not any(base_id in bases_for(held, role, act.today) for role in roles):
        words = " or ".join(role.words for role in roles)
        raise BadInput(f"Choose somebody who is {words} for this base today.", field=field)
