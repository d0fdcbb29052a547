"""What tests of fair paths share: a standard, people signed off, evidence that was not shown, a path opened."""

from __future__ import annotations

from datetime import date, timedelta

from quizapp.assessment.fair_paths import PathKind, StepName
from quizapp.assessment.sign_off import EvidenceOutcome
from quizapp.content.library import Library
from quizapp.services.fair_paths import PathWanted, StepWanted, open_path, record_step
from tests.deciding import show, with_standard
from tests.observing import sign_off
from tests.small_service import SmallService

REASON = "We talked about it on the phone today."


def walking(small: SmallService, library: Library) -> SmallService:
    """C5 and C8 are required; Tor and Una are current, Mira is not."""
    with_standard(small, library)
    for name in ("tor", "una"):
        for code in ("C5", "C8"):
            sign_off(small, name, code)
    return small


def failed_twice(small: SmallService, *, assessor: str = "tor") -> None:
    """P06 was not shown nine and five days ago, under the eyes of one assessor."""
    for days_ago in (9, 5):
        show(small, "C8", assessor=assessor, outcome=EvidenceOutcome.NOT_SHOWN, days_ago=days_ago)


def opened(
    small: SmallService,
    kind: PathKind = PathKind.NOT_SHOWN_TWICE,
    *,
    by: str = "ines",
    of: str = "mira",
    about: str = "P06",
    until_day: date | None = None,
) -> str:
    wanted = PathWanted(
        kind=kind,
        about=about,
        reason=REASON,
        until_day=until_day or small.now.date() + timedelta(days=90),
    )
    with small.acting(by) as act:
        return open_path(act, person_id=small.person_id(of), wanted=wanted)


def stepped(
    small: SmallService, library: Library, path_id: str, step: StepName, *, by: str = "ines", named: str = ""
) -> str:
    wanted = StepWanted(
        step=step,
        done_on=small.now.date(),
        words="What was done is written here.",
        named_id=small.person_id(named) if named else "",
    )
    with small.acting(by) as act:
        return record_step(act, library, path_id=path_id, wanted=wanted)
