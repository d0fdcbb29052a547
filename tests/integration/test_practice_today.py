"""Practice for today: critical and faded first, five minutes, why these, and nothing where nothing is due."""

from __future__ import annotations

from datetime import timedelta

import pytest
from sqlalchemy import select, update

from quizapp.assessment.competence_settings import MODEL_VERSION, Track, fade_model
from quizapp.content.library import Library
from quizapp.psychometrics.competence import Belief, learned, trained, untrained
from quizapp.psychometrics.fade_model import TAUGHT
from quizapp.psychometrics.item_response import WeighedAnswer
from quizapp.services.practice_choices import practice_choices
from quizapp.services.practice_today import PracticeToday, practice_today
from quizapp.services.standards import Requirement
from quizapp.store.competence import CompetenceStateRow
from tests.deciding import with_standard
from tests.small_service import SmallService

CODES = ("C1", "C2", "C3", "C4", "C5", "C6", "C7", "C8", "C9", "C10")
CRITICAL = {"C3", "C8"}


def requirement(code: str) -> Requirement:
    return Requirement(
        competency=code, is_critical=code in CRITICAL, validity_months=12, practice_months=6, needs_knowledge=True,
        procedures=("P06",) if code == "C8" else (),
    )  # fmt: skip


@pytest.fixture
def ready(small: SmallService, library: Library) -> SmallService:
    return with_standard(small, library, *(requirement(code) for code in CODES))


def believed(code: str, track: Track, right: int) -> Belief:
    """What eight answers make of somebody taught, `right` of them right."""
    answer = {"slope": 1.3, "difficulty": 0.0, "guess_fraction": 0.0, "weight": 1.0}
    answers = [WeighedAnswer(**answer, credit_fraction=float(number < right)) for number in range(8)]
    return learned(trained(untrained(fade_model(code, track)), TAUGHT), answers)


def known(small: SmallService, rights: dict[str, int], *, track: Track = Track.KNOWLEDGE, days_ago: int = 3) -> None:
    with small.acting("ines") as act:
        for code, right in rights.items():
            belief = believed(code, track, right)
            act.session.add(
                CompetenceStateRow(
                    person_id=small.person_id("mira"), competency=code, track=track.value, mass=belief.to_bytes(),
                    mean=belief.mean, sd=belief.sd, last_day=(small.now - timedelta(days=days_ago)).date(),
                    is_taught=True, evidence_count=8, model_version=MODEL_VERSION, updated_at=act.now,
                )
            )  # fmt: skip


def today(small: SmallService, library: Library, name: str = "mira") -> PracticeToday:
    with small.acting(name) as act:
        return practice_today(act, library)


def test_a_newcomer_practises_critical_competencies_first(ready: SmallService, library: Library) -> None:
    plan = today(ready, library)
    assert [one.competency for one in plan.items][:2] == ["C3", "C8"]
    assert [one.question_count for one in plan.items] == [1, 1, 1]
    assert plan.minutes == 5
    assert plan.items[0].why == "No answer of yours on it yet, so nothing is known."
    assert plan.hands == ()


def test_what_has_faded_is_practised_the_critical_one_first(ready: SmallService, library: Library) -> None:
    known(ready, dict.fromkeys(CODES, 8) | {"C5": 1, "C8": 4})
    plan = today(ready, library)
    assert [one.competency for one in plan.items] == ["C8", "C5"]
    assert [one.question_count for one in plan.items] == [2, 1]
    assert [one.is_critical for one in plan.items] == [True, False]
    assert "Last met this month" in plan.items[0].why


def test_nothing_is_due_where_everything_is_kept(ready: SmallService, library: Library) -> None:
    known(ready, dict.fromkeys(CODES, 8))
    plan = today(ready, library)
    assert (plan.items, plan.hands, plan.is_for_clinician) == ((), (), True)


def test_what_was_not_met_for_the_practice_interval_is_due(ready: SmallService, library: Library) -> None:
    known(ready, dict.fromkeys(CODES, 8))
    with ready.database.writing() as session:
        session.execute(
            update(CompetenceStateRow)
            .where(CompetenceStateRow.competency == "C7")
            .values(
                last_day=(ready.now - timedelta(days=200)).date(), mass=believed("C7", Track.KNOWLEDGE, 8).to_bytes()
            )
        )
    plan = today(ready, library)
    assert [(one.competency, one.question_count) for one in plan.items] == [("C7", 3)]
    assert plan.items[0].why.startswith("Last met 6 months ago")


def test_faded_hands_are_led_to_a_rehearsal_and_an_assessor(ready: SmallService, library: Library) -> None:
    known(ready, dict.fromkeys(CODES, 8))
    known(ready, {"C8": 4, "C2": 1}, track=Track.PERFORMANCE)
    plan = today(ready, library)
    assert [(one.procedure, one.competency, one.is_critical) for one in plan.hands] == [("P06", "C8", True)]


def test_nobody_but_clinicians_is_told_what_to_practise(ready: SmallService, library: Library) -> None:
    plan = today(ready, library, "leif")
    assert (plan.items, plan.is_for_clinician) == ((), False)


def test_only_what_can_be_asked_here_is_proposed(ready: SmallService, library: Library) -> None:
    with ready.acting("mira") as act:
        askable = {one.code for one in practice_choices(act, library)}
    assert {one.competency for one in today(ready, library).items} <= askable


def test_looking_changes_nothing(ready: SmallService, library: Library) -> None:
    known(ready, {"C8": 5})
    today(ready, library)
    with ready.database.reading() as session:
        (row,) = session.scalars(select(CompetenceStateRow))
    assert row.evidence_count == 8
