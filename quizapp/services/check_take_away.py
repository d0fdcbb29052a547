"""Somebody without an account checks evidence by its code or its file, and is told no more than they need.

Each look at something genuine is kept for its person to see; guessing is slowed down.
"""

from __future__ import annotations

import hashlib
import json
from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum
from typing import Any

from sqlalchemy import func, select

from quizapp.assessment.audit_events import AuditEvent
from quizapp.assessment.check_codes import read_code
from quizapp.assessment.standing import PersonStanding, StandingReport
from quizapp.content.library import Library
from quizapp.errors import BadInput
from quizapp.services.act import Act
from quizapp.services.archive_files import files_in
from quizapp.services.audit_trail import record
from quizapp.services.check_evidence import faults_of
from quizapp.services.check_throttle import slow_down
from quizapp.services.person_standing import standing_of
from quizapp.store.people import Person
from quizapp.store.take_aways import TakeAway, TakeAwayLook, TakeAwayRevocation

NO_CODE = (
    "That is no whole code: it has 12 letters and digits, and one of yours is not right. Compare it with the paper."
)


class Verdict(StrEnum):
    """What somebody who checks is told."""

    UNKNOWN = "unknown"
    REVOKED = "revoked"
    STANDS = "stands"
    OLDER = "older"
    CHANGED = "changed"


class Today(StrEnum):
    """What has become of one stated competency."""

    AS_STATED = "as stated"
    LATER = "a later decision has taken its place; in date today"
    LAPSED = "has lapsed since"
    GONE = "no longer stands"
    NOT_THEN = "was not in date when this was made"


@dataclass(frozen=True, kw_only=True)
class StatedLine:
    """One competency as it was stated, and what has become of it."""

    code: str
    title: str
    device: str
    standing: str
    last_valid_day: date | None
    today: Today


@dataclass(frozen=True, kw_only=True)
class Checked:
    """The answer to one check. Nothing but `verdict` is given for what is unknown or was revoked.

    `faults` are those of a file: what in it is not as it was handed over.
    """

    verdict: Verdict
    person: str = ""
    made_on: date | None = None
    newer_made_at: datetime | None = None
    lines: tuple[StatedLine, ...] = ()
    faults: tuple[str, ...] = ()


def check_code(act: Act, library: Library, text: str, *, address: str) -> Checked:
    """Check a code as somebody typed it; `address` is where they ask from.

    Raises BadInput (field "code") for what cannot be a code, TooSoon where the address has guessed too often.
    """
    code = read_code(text)
    if code is None:
        raise BadInput(NO_CODE, field="code")
    slow_down(act, address=address)
    row = act.session.scalar(select(TakeAway).where(TakeAway.code == code))
    return _checked(act, library, row, how="code", address=address)


def check_file(act: Act, library: Library, content: bytes, *, address: str) -> Checked:
    """Check evidence.json, or the whole archive; raises as `check_code` (field "file")."""
    slow_down(act, address=address)
    files = files_in(content)
    digest = hashlib.sha256(files["evidence.json"]).hexdigest()
    row = act.session.scalar(select(TakeAway).where(TakeAway.statement_hash == digest))
    faults = tuple(faults_of(files)) if len(files) > 1 else ()
    return _checked(act, library, row, how="file", address=address, faults=faults)


def _checked(
    act: Act, library: Library, row: TakeAway | None, *, how: str, address: str, faults: tuple[str, ...] = ()
) -> Checked:
    if row is None:
        slow_down(act, address=address, has_missed=True)
        return Checked(verdict=Verdict.UNKNOWN, faults=faults)
    slow_down(act, address=address, take_away_id=row.id)
    found = _revoked(act, row) or _found(act, library, row, faults)
    act.session.add(
        TakeAwayLook(
            id=act.randomness.new_id(), take_away_id=row.id, how=how, told=found.verdict.value, looked_at=act.now
        )
    )  # fmt: skip
    record(
        act, AuditEvent.TAKE_AWAY_CHECKED, "take_away", row.id, person_id=row.person_id, thing=how,
        after={"told": found.verdict.value},
    )  # fmt: skip
    return found


def _revoked(act: Act, row: TakeAway) -> Checked | None:
    return Checked(verdict=Verdict.REVOKED) if act.session.get(TakeAwayRevocation, row.id) else None


def _found(act: Act, library: Library, row: TakeAway, faults: tuple[str, ...]) -> Checked:
    statement: dict[str, Any] = json.loads(row.statement)
    person = act.session.get_one(Person, row.person_id)
    report = standing_of(act, library, row.person_id).report
    lines = tuple(_line(one, report, act.today, has_left=person.left_on is not None) for one in statement["standings"])
    newer = act.session.scalar(
        select(func.max(TakeAway.made_at)).where(TakeAway.person_id == row.person_id, TakeAway.made_at > row.made_at)
    )
    stands = all(line.today in {Today.AS_STATED, Today.NOT_THEN} for line in lines)
    verdict = Verdict.CHANGED if faults else Verdict.STANDS if stands and newer is None else Verdict.OLDER
    return Checked(
        verdict=verdict,
        person=statement["person"]["name"],
        made_on=date.fromisoformat(statement["made_on"]),
        newer_made_at=newer,
        lines=lines,
        faults=faults,
    )


def _line(stated: dict[str, str], report: StandingReport, today: date, *, has_left: bool) -> StatedLine:
    last_day = date.fromisoformat(stated["last_valid_day"]) if stated["last_valid_day"] else None
    return StatedLine(
        code=stated["code"],
        title=stated["title"],
        device=stated["device"],
        standing=stated["standing"],
        last_valid_day=last_day,
        today=_today(stated, last_day, report, today, has_left=has_left),
    )


def _today(
    stated: dict[str, str], last_day: date | None, report: StandingReport, today: date, *, has_left: bool
) -> Today:
    if stated["standing"] not in {"current", "lapsing"}:
        return Today.NOT_THEN
    away = report.standing in {PersonStanding.SUSPENDED, PersonStanding.WITHDRAWN, PersonStanding.PAUSED}
    row = next(
        (one for one in report.rows if (one.competency, str(one.profile)) == (stated["code"], stated["device"])), None
    )
    if has_left or away or row is None:
        return Today.GONE
    if row.standing.is_in_date:
        return Today.AS_STATED if row.last_valid_day == last_day else Today.LATER
    return Today.LAPSED if last_day is not None and last_day < today else Today.GONE
