"""What tests of rehearsals and observations share: the real checklists, a device in service, taps made on a phone."""

from __future__ import annotations

import functools
import uuid
from collections.abc import Collection
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any

from quizapp.assessment.observation_events import EventKind
from quizapp.assessment.observation_setting import ObservationSetting
from quizapp.assessment.observation_state import StepMark
from quizapp.content.library import Library
from quizapp.content.procedures import read_procedures
from quizapp.content.profiles import read_profiles
from quizapp.services.act import Act
from quizapp.services.lock_observation import lock_observation
from quizapp.services.open_observation import Watched, open_observation
from quizapp.services.record_observation_events import record_observation_events
from quizapp.services.sign_observation import prepare_observation, sign_observation
from quizapp.store.accepted_content import ContentAcceptance, ContentWithdrawal
from quizapp.store.decisions import Decision, StandingEvent
from quizapp.store.devices import DeviceInService
from quizapp.store.standards import Standard, StandardRequirement
from tests.small_service import PASSWORD, SmallService

CHECKOUT = Path(__file__).resolve().parents[1]
LONG_RECORDED = timedelta(days=90)
"""Devices and standards were on record long before the tests begin, so that a past minute knows of them."""
P06_IN_ORDER = "abcdefghij"


@functools.cache
def checklists() -> Library:
    """The procedures and device profiles of the checkout, without any question."""
    procedures, _ = read_procedures(CHECKOUT)
    profiles, _ = read_profiles(CHECKOUT)
    return Library(
        folder=CHECKOUT,
        families={},
        profile_files=profiles,
        competencies={},
        procedures={procedure.code: procedure for procedure in procedures},
        sources={},
    )


def everybody_is_current(act: Act, *, person_id: str, competencies: Collection[str]) -> bool:
    return True


def nobody_is_current(act: Act, *, person_id: str, competencies: Collection[str]) -> bool:
    return False


def put_in_service(small: SmallService, *, base_id: str = "", until_day: date | None = None) -> None:
    """TV-A revision 1 in the packs of a base."""
    with small.acting("leif") as act:
        act.session.add(
            DeviceInService(
                id=act.randomness.new_id(),
                base_id=base_id or small.base_id,
                profile_code="TV-A",
                profile_revision=1,
                from_day=date(2025, 1, 1),
                until_day=until_day,
                recorded_by=act.actor.person_id,
                recorded_at=act.now - LONG_RECORDED,
            )
        )


def accept(small: SmallService, code: str) -> str:
    """The clinical lead accepts a procedure as it stands; returns the id of the acceptance."""
    with small.acting("cleo") as act:
        row = ContentAcceptance(
            id=act.randomness.new_id(),
            kind="procedure",
            code=code,
            content_hash=checklists().procedure(code).content_hash,
            accepted_by=act.actor.person_id,
            accepted_at=act.now,
            local_changes="",
            withdrawn_at=None,
        )
        act.session.add(row)
        return row.id


def withdraw(small: SmallService, code: str, *, step: str = "") -> None:
    """An educator withdraws a procedure, or one step of it."""
    with small.acting("ines") as act:
        act.session.add(
            ContentWithdrawal(
                id=act.randomness.new_id(),
                kind="procedure",
                code=code,
                content_hash=checklists().procedure(code).content_hash,
                step=step,
                reason="made up",
                withdrawn_by=act.actor.person_id,
                withdrawn_at=act.now,
                lifted_by=None,
                lifted_at=None,
            )
        )


def require(small: SmallService, *competencies: str) -> None:
    """A standard that asks for these competencies."""
    with small.acting("ines") as act:
        standard = Standard(
            id=act.randomness.new_id(), version=1, name="made up", starts_on=date(2025, 1, 1), reason="made up",
            agreed_by="made up", recorded_by=act.actor.person_id, recorded_at=act.now - LONG_RECORDED,
        )  # fmt: skip
        act.session.add(standard)
        act.session.flush()
        for code in competencies:
            act.session.add(
                StandardRequirement(
                    id=act.randomness.new_id(), standard_id=standard.id, competency=code, is_critical=True,
                    validity_months=12, practice_months=3, evidence_months=12, needs_knowledge=False, procedures=[],
                    observed_here=[],
                )
            )  # fmt: skip


def sign_off(
    small: SmallService,
    name: str,
    competency: str,
    *,
    until: date = date(2026, 12, 31),
    conditions: str = "",
    days_ago: int = 0,
) -> None:
    """A person is signed off on TV-A revision 1, from the first of March 2025."""
    with small.acting("ines") as act:
        act.session.add(
            Decision(
                id=act.randomness.new_id(), person_id=small.person_id(name), base_id=small.base_id,
                competency=competency, outcome="restricted" if conditions else "competent", origin="decision",
                reason="made up", conditions=conditions or None, valid_from=date(2025, 3, 1), last_valid_day=until,
                profile_code="TV-A", profile_revision=1, evidence_ids=[], decided_by=act.actor.person_id,
                decided_at=act.now - timedelta(days=days_ago),
            )
        )  # fmt: skip


def set_standing(small: SmallService, name: str, kind: str) -> None:
    """A suspension, withdrawal, pause or restriction of the whole person, from today on."""
    with small.acting("ines") as act:
        act.session.add(
            StandingEvent(
                id=act.randomness.new_id(), person_id=small.person_id(name), kind=kind, from_day=act.today,
                until_day=date(2026, 6, 1), reason="made up", recorded_by=act.actor.person_id, recorded_at=act.now,
            )
        )  # fmt: skip


def watched(*presented: str, revision: int = 1) -> Watched:
    return Watched(
        profile_code="TV-A",
        profile_revision=revision,
        setting=ObservationSetting.BENCH,
        presented=frozenset(presented),
    )


def opened(small: SmallService, *presented: str, by: str = "tor", of: str = "mira", **changed: Any) -> str:
    """Open a sheet of P06 and return its id; `changed` overrides what `open_observation` takes."""
    arguments: dict[str, Any] = {
        "library": checklists(),
        "person_id": small.person_id(of),
        "procedure_code": "P06",
        "watched": watched(*presented),
        "is_current": everybody_is_current,
    }
    with small.acting(by) as act:
        return open_observation(act, **{**arguments, **changed})


@dataclass
class Phone:
    """Makes taps as the sheet's script does: own ids, a running number, a steady clock."""

    now: datetime
    device_id: str = "019cae00-phone"
    sequence: int = 0
    made: list[dict[str, Any]] = field(default_factory=list)

    def tap(self, kind: EventKind, *, after_s: float = 0, **said: Any) -> dict[str, Any]:
        self.sequence += 1
        event = {
            "event_id": uuid.uuid5(uuid.NAMESPACE_OID, f"{self.device_id} {self.sequence}").hex,
            "device_id": self.device_id,
            "sequence": self.sequence,
            "device_time": (self.now + timedelta(seconds=after_s)).isoformat(),
            "elapsed_ms": int(after_s * 1000),
            "kind": kind.value,
            **said,
        }
        self.made.append(event)
        return event

    def start(self) -> dict[str, Any]:
        return self.tap(EventKind.START)

    def mark(self, step: str, mark: StepMark = StepMark.DONE, *, after_s: float = 0) -> dict[str, Any]:
        return self.tap(EventKind.MARK, step=step, mark=mark.value, after_s=after_s)


def sent(small: SmallService, observation_id: str, taps: list[Any], *, by: str = "tor") -> list[str]:
    """Send taps and return what became of each."""
    with small.acting(by) as act:
        outcomes = record_observation_events(act, observation_id=observation_id, sent=taps)
    return [outcome.taken.value for outcome in outcomes]


def performed(small: SmallService, observation_id: str, order: str = P06_IN_ORDER) -> Phone:
    """Start, mark every step of `order` done three seconds apart, and send it all."""
    phone = Phone(small.now)
    phone.start()
    for place, step in enumerate(order, 1):
        phone.mark(step, after_s=3 * place)
    assert set(sent(small, observation_id, phone.made)) == {"saved"}
    return phone


def locked(small: SmallService, observation_id: str, *, by: str = "tor", comment: str = "") -> None:
    with small.acting(by) as act:
        lock_observation(
            act, observation_id=observation_id, global_rating=4, person_confirms=True, person_comment=comment
        )


def signed(small: SmallService, observation_id: str, *, by: str = "tor", password: str = PASSWORD) -> tuple[str, ...]:
    """Prepare and sign; returns the ids of the evidence."""
    with small.acting(by) as act:
        intent = prepare_observation(act, observation_id=observation_id, is_current=everybody_is_current)
    with small.acting(by) as act:
        return sign_observation(
            act,
            observation_id=observation_id,
            intent_id=intent.id,
            password=password,
            is_current=everybody_is_current,
        )
