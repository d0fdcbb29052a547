"""Many clinicians watched at P06 several times, written straight into the store with what the educators would see."""

from __future__ import annotations

import random
from datetime import timedelta

from quizapp.assessment.sign_off import EvidenceKind, EvidenceOutcome
from quizapp.store.evidence import Evidence
from quizapp.store.observations import Observation
from tests.many_people import add_clinicians
from tests.small_service import SmallService

STEPS = "abcdefghij"
DAYS = (0, 120, 300)


def watch_many(small: SmallService, people: int, *, seed: int = 1, days: tuple[int, ...] = DAYS) -> list[str]:
    """Write the sheets of so many people; most show the standard each time, some hardly ever."""
    draw, names = random.Random(seed), add_clinicians(small, people)
    first = small.now - timedelta(days=max(days) + 1)
    with small.database.writing() as session:
        for name in names:
            share = draw.choice((0.55, 0.97, 0.99))
            for day in days:
                marks = {step: "done" if draw.random() < share else "not_done" for step in STEPS}
                sheet = Observation(
                    id=small.randomness.new_id(), person_id=small.person_id(name), assessor_id=small.person_id("tor"),
                    base_id=small.base_id, procedure="P06", content_hash="0" * 64, counts_for_sign_off=True,
                    frozen={"competencies": ["C8"]}, profile_code="TV-A", profile_revision=1, setting="bench",
                    presented=[], assessor_was_current=True, opened_at=first + timedelta(days=day),
                    locked_at=first + timedelta(days=day, minutes=9), global_rating=4,
                    result={"marks": marks, "prompted": []}, signature_id="5" * 32,
                    signed_by=small.person_id("tor"), signer_was_current=True, performance_id=small.randomness.new_id(),
                )  # fmt: skip
                session.add(sheet)
                session.add(_evidence(small, sheet, was_shown="not_done" not in marks.values()))
    return names


def _evidence(small: SmallService, sheet: Observation, *, was_shown: bool) -> Evidence:
    return Evidence(
        id=small.randomness.new_id(), person_id=sheet.person_id, competency="C8", kind=EvidenceKind.OBSERVATION.value,
        source_id=sheet.id, procedure="P06",
        outcome=(EvidenceOutcome.SHOWN if was_shown else EvidenceOutcome.NOT_SHOWN).value,
        summary="made up", counts_for_sign_off=True, profile_code="TV-A", profile_revision=1,
        assessor_id=sheet.assessor_id, details={}, happened_at=sheet.opened_at, recorded_at=sheet.opened_at,
    )  # fmt: skip
