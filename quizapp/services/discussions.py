"""A structured discussion is opened, written down question by question, or discarded where it was a mistake."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from sqlalchemy import select

from quizapp.assessment.audit_events import AuditEvent
from quizapp.assessment.discussions import (
    DiscussionGuide,
    DiscussionMark,
    DiscussionResult,
    discussion_result,
    guide_from_plain,
    guide_to_plain,
)
from quizapp.assessment.permissions import Right, has_right
from quizapp.content.library import Library
from quizapp.errors import BadInput, Conflict, NotAllowed, NotFound
from quizapp.services.act import Act
from quizapp.services.audit_trail import record
from quizapp.services.content_in_force import content_in_force
from quizapp.services.devices_in_service import revisions_in_service
from quizapp.services.require_right import require_right
from quizapp.store.discussions import Discussion
from quizapp.store.people import Person, RescueBase

LONGEST_ANSWER = 2000
LONGEST_LINE = 500
SHORTEST_REASON = 10


@dataclass(frozen=True, kw_only=True)
class Said:
    """What was said to one question, and its mark; None: not asked, or not marked yet."""

    words: str = ""
    mark: DiscussionMark | None = None


@dataclass(frozen=True, kw_only=True)
class DiscussionKept:
    """What is written down: answers by letter, the critical errors that were said, the person's own words."""

    answers: Mapping[str, Said] = field(default_factory=dict)
    critical_errors: Sequence[str] = ()
    person_words: str = ""


@dataclass(frozen=True, kw_only=True)
class DiscussionSheet:
    """One discussion as it is drawn: the frozen guide, what was kept, and what the marks say so far."""

    row: Discussion
    guide: DiscussionGuide
    kept: DiscussionKept
    result: DiscussionResult
    person_name: str
    holder_name: str
    base_name: str

    @property
    def device(self) -> str:
        """The device revision it is about, "" for every revision."""
        return f"{self.row.profile_code} revision {self.row.profile_revision}" if self.row.profile_code else ""


def people_to_discuss_with(act: Act) -> tuple[Person, ...]:
    """Return everybody the actor may hold a discussion with today, by name, with one statement."""
    require_right(act, Right.DISCUSS)
    rows = act.session.scalars(
        select(Person)
        .where(Person.left_on.is_(None), Person.id != act.actor.person_id)
        .order_by(Person.name, Person.id)
    )
    return tuple(person for person in rows if has_right(act.actor, Right.DISCUSS, act.today, person.base_id))


def open_discussion(act: Act, library: Library, *, person_id: str, code: str, connection: str = "") -> str:
    """Open a discussion of a guide with a person and return its id.

    Raises NotAllowed with oneself, NotFound for somebody the actor may not know of, BadInput for an unknown guide or
    where no device is in service although the guide is about one.
    """
    person = _person(act, person_id)
    if code not in library.discussions:
        raise BadInput("Choose one of the discussions.", field="code")
    guide = library.discussions[code]
    device = _device(act, person.base_id) if guide.is_about_device else None
    row = Discussion(
        id=act.randomness.new_id(),
        person_id=person.id,
        holder_id=act.actor.person_id,
        base_id=person.base_id,
        code=guide.code,
        competency=guide.competency,
        content_hash=guide.content_hash,
        counts_for_sign_off=content_in_force(act).counts(guide),
        frozen=guide_to_plain(guide),
        profile_code=device[0] if device else None,
        profile_revision=device[1] if device else None,
        connection=_line(connection, "connection") or None,
        answers={},
        critical_errors=[],
        person_words=None,
        opened_at=act.now,
        saved_at=act.now,
        signed_at=None,
        signature_id=None,
        discarded_at=None,
        discard_reason=None,
    )
    act.session.add(row)
    record(act, AuditEvent.DISCUSSION_OPENED, "discussion", row.id, person_id=person.id, thing=guide.code,
           after={"version": guide.version, "connection_declared": row.connection is not None})  # fmt: skip
    return row.id


def _person(act: Act, person_id: str) -> Person:
    if person_id == act.actor.person_id:
        raise NotAllowed("Nobody holds a structured discussion with themselves. Nothing was opened.")
    person = act.session.get(Person, person_id)
    known = person is not None and has_right(act.actor, Right.DISCUSS, act.today, person.base_id)
    if person is None or person.left_on is not None or not known:
        raise NotFound("There is nobody here with whom you can hold a discussion.")
    return person


def _device(act: Act, base_id: str) -> tuple[str, int]:
    in_service = revisions_in_service(act, [base_id])[base_id]
    if not in_service:
        raise BadInput("No device is in service at this base, and this discussion is about one. Nothing was opened.",
                       field="code")  # fmt: skip
    return in_service[-1]


def save_discussion(act: Act, library: Library, *, discussion_id: str, kept: DiscussionKept) -> str:
    """Keep what was written down so far in place of what was kept before; return the discussion's id.

    Raises NotFound for another's discussion, Conflict once it is signed or discarded, BadInput naming the field.
    """
    row = own_open_row(act, discussion_id)
    guide = guide_from_plain(row.frozen)
    answers = {}
    for letter in guide.letters:
        said = kept.answers.get(letter, Said())
        words = _text(said.words, f"said_{letter}")
        if words or said.mark is not None:
            answers[letter] = {"words": words, "mark": None if said.mark is None else int(said.mark)}
    known = critical_errors_of(library, guide)
    row.answers = answers
    row.critical_errors = [error for error in known if error in kept.critical_errors]
    row.person_words = _text(kept.person_words, "person_words") or None
    row.saved_at = act.now
    record(act, AuditEvent.DISCUSSION_KEPT, "discussion", row.id, person_id=row.person_id, thing=row.code,
           after={"answered": len(answers)})  # fmt: skip
    return row.id


def discard_discussion(act: Act, *, discussion_id: str, reason: str) -> str:
    """Set an unsigned discussion aside; it is kept with the reason and counts for nothing."""
    row = own_open_row(act, discussion_id)
    if len(reason.strip()) < SHORTEST_REASON:
        raise BadInput("Say in a sentence why it is discarded.", field="reason")
    row.discarded_at, row.discard_reason = act.now, _line(reason, "reason")
    record(act, AuditEvent.DISCUSSION_DISCARDED, "discussion", row.id, person_id=row.person_id)
    return row.id


def critical_errors_of(library: Library, guide: DiscussionGuide) -> tuple[str, ...]:
    """Return the errors any one of which shows that the competency is not there."""
    competency = library.competencies.get(guide.competency)
    return competency.critical_errors if competency else ()


def own_open_row(act: Act, discussion_id: str) -> Discussion:
    """Return the actor's own discussion that is neither signed nor discarded, locked for a change."""
    row = act.session.get(Discussion, discussion_id, with_for_update=True)
    if row is None or row.holder_id != act.actor.person_id:
        raise NotFound("There is no such discussion of yours.")
    if row.signature_id is not None:
        raise Conflict("This discussion is signed and stands as it is. Nothing was changed.")
    if row.discarded_at is not None:
        raise Conflict("This discussion was discarded. Nothing was changed. Open a new one.")
    return row


def discussion_sheet(act: Act, discussion_id: str) -> DiscussionSheet:
    """Return a discussion for its holder, and once it is signed for the person and whoever decides on them."""
    row = act.session.get(Discussion, discussion_id)
    if row is None or not _may_see(act, row):
        raise NotFound("There is no such discussion for you to see.")
    return sheet_of_row(act, row)


def _may_see(act: Act, row: Discussion) -> bool:
    if row.holder_id == act.actor.person_id:
        return True
    if row.signature_id is None:
        return False
    return row.person_id == act.actor.person_id or has_right(act.actor, Right.DECIDE, act.today, row.base_id)


def sheet_of_row(act: Act, row: Discussion) -> DiscussionSheet:
    """Return a row as it is drawn."""
    guide, kept = guide_from_plain(row.frozen), _kept(row)
    marks = {letter: said.mark for letter, said in kept.answers.items() if said.mark is not None}
    return DiscussionSheet(
        row=row,
        guide=guide,
        kept=kept,
        result=discussion_result(guide, marks, kept.critical_errors),
        person_name=act.session.get_one(Person, row.person_id).name,
        holder_name=act.session.get_one(Person, row.holder_id).name,
        base_name=act.session.get_one(RescueBase, row.base_id).name,
    )


def _kept(row: Discussion) -> DiscussionKept:
    answers: dict[str, Any] = row.answers
    return DiscussionKept(
        answers={
            letter: Said(words=one["words"], mark=None if one["mark"] is None else DiscussionMark(one["mark"]))
            for letter, one in answers.items()
        },
        critical_errors=tuple(row.critical_errors),
        person_words=row.person_words or "",
    )


@dataclass(frozen=True, kw_only=True)
class DiscussionLine:
    """One discussion in a list."""

    id: str
    title: str
    code: str
    person_name: str
    opened_at: datetime
    is_signed: bool


def my_discussions(act: Act) -> tuple[DiscussionLine, ...]:
    """Return the actor's own discussions that were not discarded, newest first."""
    require_right(act, Right.DISCUSS)
    rows = act.session.execute(
        select(Discussion, Person.name)
        .join(Person, Person.id == Discussion.person_id)
        .where(Discussion.holder_id == act.actor.person_id, Discussion.discarded_at.is_(None))
        .order_by(Discussion.opened_at.desc(), Discussion.id)
        .limit(100)
    )
    return tuple(
        DiscussionLine(
            id=row.id,
            title=row.frozen["title"],
            code=row.code,
            person_name=name,
            opened_at=row.opened_at,
            is_signed=row.signature_id is not None,
        )
        for row, name in rows
    )


def _text(text: str, name: str) -> str:
    words = text.replace("\x00", "").replace("\r\n", "\n").strip()
    if len(words) > LONGEST_ANSWER:
        raise BadInput(f"At most {LONGEST_ANSWER} characters can be kept; nothing was saved yet.", field=name)
    return words


def _line(text: str, name: str) -> str:
    words = text.replace("\x00", "").strip()
    if len(words) > LONGEST_LINE:
        raise BadInput(f"At most {LONGEST_LINE} characters can be kept; nothing was saved yet.", field=name)
    return words
