"""Outside evidence: recognised it stands until its day, what is watched here stays open, and it signs nobody off."""

from __future__ import annotations

from datetime import timedelta

import pytest
from sqlalchemy import select

from quizapp.assessment.standing import PersonStanding
from quizapp.content.library import Library
from quizapp.errors import BadInput, NotAllowed, NotFound
from quizapp.services.decision_desk import desk
from quizapp.services.person_standing import standing_of
from quizapp.services.recognise_evidence import OutsideEvidence, recognise_evidence
from quizapp.store.audit import AuditRow
from quizapp.store.evidence import Evidence
from tests.deciding import decide, requirement, with_standard
from tests.small_service import SmallService

WORDS = "Signed list of another service, seen in the original."


@pytest.fixture
def ready(small: SmallService, library: Library) -> SmallService:
    """C4 asks for questions and P02, C8 for P06."""
    wanted = (requirement("C4", knowledge=True, procedures=("P02",)), requirement("C8", procedures=("P06",)))
    return with_standard(small, library, *wanted)


def recognised(
    small: SmallService, library: Library, *, by: str = "ines", of: str = "mira", yes: tuple[str, ...] = ("C4",),
    no: tuple[str, ...] = (), days: int | None = 100, words: str = WORDS,
) -> tuple[str, ...]:  # fmt: skip
    with small.acting(by) as act:
        outside = OutsideEvidence(
            words=words,
            recognised=yes,
            not_recognised=no,
            last_valid_day=None if days is None else act.today + timedelta(days=days),
        )
        return recognise_evidence(act, library, person_id=small.person_id(of), outside=outside)


def missing(small: SmallService, library: Library, *, days: int = 0) -> dict[str, list[str]]:
    with small.acting("cleo", at=small.now + timedelta(days=days)) as act:
        page = desk(act, library, small.person_id("mira"))
    return {one.competency: [part.why for part in one.parts if not part.is_present] for one in page.readiness}


def test_it_carries_the_parts_until_its_last_day_and_signs_nobody_off(ready: SmallService, library: Library) -> None:
    recognised(ready, library)
    assert missing(ready, library)["C4"] == []
    assert missing(ready, library, days=100)["C4"] == []
    assert all("held until" in why for why in missing(ready, library, days=101)["C4"])
    with ready.acting("mira") as act:
        stands = standing_of(act, library, act.actor.person_id).report.standing
    assert stands is PersonStanding.NOT_YET_SIGNED_OFF


def test_the_one_who_recognised_does_not_decide_alone(ready: SmallService, library: Library) -> None:
    recognised(ready, library, by="ines")
    with pytest.raises(NotAllowed, match="only assessor"):
        decide(ready, library, by="ines", competencies=("C4",))
    decide(ready, library, by="cleo", competencies=("C4",))


def test_not_recognised_it_speaks_neither_for_nor_against(ready: SmallService, library: Library) -> None:
    before = missing(ready, library)["C8"]
    recognised(ready, library, yes=(), no=("C8",), days=None)
    after = missing(ready, library)["C8"]
    assert before == ["no evidence yet"]
    assert "not shown" not in " ".join(after)
    with ready.database.reading() as session:
        (row,) = session.scalars(select(Evidence))
        events = session.scalars(select(AuditRow.event).order_by(AuditRow.seq)).all()
    assert row.summary == f"Outside evidence, not recognised: {WORDS}"
    assert events[-1] == "evidence_refused"


def test_each_is_told_in_the_audit_trail(ready: SmallService, library: Library) -> None:
    recognised(ready, library, yes=("C4",), no=("C8",))
    with ready.database.reading() as session:
        events = session.scalars(select(AuditRow.event).order_by(AuditRow.seq)).all()
    assert events[-2:] == ["evidence_recognised", "evidence_refused"]


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"yes": ()}, "recognised"),
        ({"yes": ("C99",)}, "recognised"),
        ({"no": ("C4",)}, "not_recognised"),
        ({"words": "short"}, "words"),
        ({"days": None}, "last_valid_day"),
        ({"days": -1}, "last_valid_day"),
        ({"days": 400}, "last_valid_day"),
    ],
)
def test_what_does_not_fit_is_named(
    ready: SmallService, library: Library, changes: dict[str, object], field: str
) -> None:
    with pytest.raises(BadInput) as refusal:
        recognised(ready, library, **changes)  # type: ignore[arg-type]
    assert refusal.value.field == field


def test_only_educators_of_the_base_recognise_and_nobody_their_own(ready: SmallService, library: Library) -> None:
    for name in ("mira", "tor", "leif", "ada"):
        with pytest.raises(NotAllowed):
            recognised(ready, library, by=name, of="una")
    with pytest.raises(NotAllowed):
        recognised(ready, library, of="ines")
    with pytest.raises(NotFound):
        recognised(ready, library, of="petra")
