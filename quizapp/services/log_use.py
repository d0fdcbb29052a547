"""A clinician logs a real use of the device in plain choices: exposure, read by nothing that decides on anybody."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from sqlalchemy import func, select

from quizapp.assessment.audit_events import AuditEvent
from quizapp.assessment.patient_identifiers import suspicions
from quizapp.assessment.permissions import Right
from quizapp.assessment.real_use import UseDuration, UseFault, UseOutcome, UseSetting
from quizapp.assessment.roles import Role, bases_for
from quizapp.content.library import Library
from quizapp.errors import BadInput, Conflict, NotFound
from quizapp.services.act import Act
from quizapp.services.audit_trail import record
from quizapp.services.devices_in_service import revisions_in_service
from quizapp.services.require_right import require_right
from quizapp.store.people import Person, RescueBase
from quizapp.store.use_log import UseLogged

LONGEST_NOTE = 300
OLDEST_DAYS = 90
COUNTED_DAYS = 365
NEWEST = 100
FEWEST_PEOPLE_COUNTED = 3


@dataclass(frozen=True, kw_only=True)
class UseEntered:
    """What is logged. `device` is code and revision; `no_name_is_in_it`: the person looked for names in the note."""

    used_on: date
    device: tuple[str, int]
    setting: UseSetting
    duration: UseDuration
    outcome: UseOutcome
    faults: Sequence[UseFault] = ()
    note: str = ""
    no_name_is_in_it: bool = False


def devices_to_log(act: Act, library: Library) -> list[tuple[str, int]]:
    """Return the device revisions a use can be logged for: those in service at one's base first, then the others."""
    base_id = act.session.get_one(Person, act.actor.person_id).base_id
    here = list(revisions_in_service(act, [base_id])[base_id])
    return here + [key for one in library.profiles if (key := (one.code, one.revision)) not in here]


def log_use(act: Act, library: Library, entered: UseEntered) -> str:
    """Log one's own use and return the entry's id; raises BadInput naming the field.

    A note that looks as if it told who the patient was is refused and kept nowhere.
    """
    require_right(act, Right.LOG_USE)
    _check(act, library, entered)
    row = UseLogged(
        id=act.randomness.new_id(),
        person_id=act.actor.person_id,
        base_id=act.session.get_one(Person, act.actor.person_id).base_id,
        used_on=entered.used_on,
        profile_code=entered.device[0],
        profile_revision=entered.device[1],
        setting=entered.setting.value,
        duration=entered.duration.value,
        outcome=entered.outcome.value,
        faults=[one.value for one in UseFault if one in entered.faults],
        note=" ".join(entered.note.split()),
        logged_at=act.now,
        taken_back_at=None,
    )
    act.session.add(row)
    record(act, AuditEvent.USE_LOGGED, "use_logged", row.id, person_id=act.actor.person_id,
           thing=f"{row.profile_code} revision {row.profile_revision}")  # fmt: skip
    return row.id


def _check(act: Act, library: Library, entered: UseEntered) -> None:
    if not act.today - timedelta(days=OLDEST_DAYS) <= entered.used_on <= act.today:
        raise BadInput(f"Log a use of the last {OLDEST_DAYS} days, today included.", field="used_on")
    if entered.device not in devices_to_log(act, library):
        raise BadInput("Choose one of the devices.", field="device")
    if entered.outcome.needs_fault and not entered.faults:
        raise BadInput("Choose what the trouble was, or that it ran as planned.", field="faults")
    if entered.outcome is UseOutcome.AS_PLANNED and entered.faults:
        raise BadInput("It cannot have run as planned with a fault. Choose what happened.", field="outcome")
    if len(entered.note) > LONGEST_NOTE or not " ".join(entered.note.split()).isprintable():
        raise BadInput(f"Write at most {LONGEST_NOTE} characters that can be printed.", field="note")
    _refuse_identifiers(entered)


def _refuse_identifiers(entered: UseEntered) -> None:
    found = suspicions(entered.note)
    certain = next((one for one in found if one.is_certain), None)
    if certain is not None:
        raise BadInput(
            f"“{certain.words}” looks like {certain.looks_like}. Nothing was logged and the note is kept nowhere. "
            "Take out whatever could tell who the patient was, then log it.",
            field="note",
        )
    if found and not entered.no_name_is_in_it:
        raise BadInput(
            f"“{found[0].words}” could be {found[0].looks_like}. Nothing was logged yet. Take it out, or say below "
            "that it names nobody.",
            field="note",
        )


def take_use_back(act: Act, *, use_id: str) -> str:
    """Take one's own entry back: its note is emptied for good, and it counts nowhere. Return its id."""
    row = act.session.get(UseLogged, use_id, with_for_update=True)
    if row is None or row.person_id != act.actor.person_id:
        raise NotFound("There is no such entry of yours.")
    if row.taken_back_at is not None:
        raise Conflict("This entry was taken back already. Nothing was changed.")
    row.note, row.faults, row.taken_back_at = "", [], act.now
    record(act, AuditEvent.USE_TAKEN_BACK, "use_logged", row.id, person_id=act.actor.person_id)
    return row.id


@dataclass(frozen=True, kw_only=True)
class UseLine:
    """One entry as its clinician reads it."""

    id: str
    used_on: date
    device: str
    setting: str
    duration: str
    outcome: str
    faults: tuple[str, ...]
    note: str
    logged_at: datetime


def my_uses(act: Act) -> tuple[UseLine, ...]:
    """Return the actor's own entries that stand, newest first; nobody else reads them one by one."""
    rows = act.session.scalars(
        select(UseLogged)
        .where(UseLogged.person_id == act.actor.person_id, UseLogged.taken_back_at.is_(None))
        .order_by(UseLogged.used_on.desc(), UseLogged.logged_at.desc())
        .limit(NEWEST)
    )
    return tuple(
        UseLine(
            id=row.id,
            used_on=row.used_on,
            device=f"{row.profile_code} revision {row.profile_revision}",
            setting=UseSetting(row.setting).words,
            duration=UseDuration(row.duration).words,
            outcome=UseOutcome(row.outcome).words,
            faults=tuple(UseFault(one).words for one in row.faults),
            note=row.note,
            logged_at=row.logged_at,
        )
        for row in rows
    )


@dataclass(frozen=True, kw_only=True)
class UseCounts:
    """What was logged at some bases in a year, without names. Not `is_enough`: so few people that counts name them."""

    uses: int
    people: int
    is_enough: bool
    by_base: tuple[tuple[str, int], ...] = ()
    by_device: tuple[tuple[str, int], ...] = ()
    by_setting: tuple[tuple[str, int], ...] = ()
    by_outcome: tuple[tuple[str, int], ...] = ()
    by_fault: tuple[tuple[str, int], ...] = ()


def use_counts(act: Act) -> UseCounts:
    """Return the counts of the last year at the bases where the actor is educator; raises NotAllowed for others."""
    require_right(act, Right.SEE_STATISTICS)
    reach = bases_for(act.actor.roles_held, Role.EDUCATOR, act.today)
    stands = (UseLogged.taken_back_at.is_(None), UseLogged.used_on > act.today - timedelta(days=COUNTED_DAYS))
    wanted = select(UseLogged, RescueBase.name).join(RescueBase, RescueBase.id == UseLogged.base_id).where(*stands)
    people = select(func.count(func.distinct(UseLogged.person_id))).where(*stands)
    if not reach.whole_service:
        wanted = wanted.where(UseLogged.base_id.in_(reach.base_ids))
        people = people.where(UseLogged.base_id.in_(reach.base_ids))
    rows, who = act.session.execute(wanted).all(), act.session.scalar(people) or 0
    if who < FEWEST_PEOPLE_COUNTED:
        return UseCounts(uses=len(rows), people=who, is_enough=False)
    return UseCounts(
        uses=len(rows),
        people=who,
        is_enough=True,
        by_base=_counted([name for _, name in rows]),
        by_device=_counted([f"{row.profile_code} revision {row.profile_revision}" for row, _ in rows]),
        by_setting=_counted([UseSetting(row.setting).words for row, _ in rows]),
        by_outcome=_counted([UseOutcome(row.outcome).words for row, _ in rows]),
        by_fault=_counted([UseFault(one).words for row, _ in rows for one in row.faults]),
    )


def _counted(words: Sequence[str]) -> tuple[tuple[str, int], ...]:
    return tuple(sorted(Counter(words).items(), key=lambda pair: (-pair[1], pair[0])))
