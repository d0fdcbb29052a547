"""Evidence and estimate in one transaction: each track learns from its own; what is kept equals what is told again."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import numpy as np
import pytest
from sqlalchemy import select, update

from quizapp.assessment.audit_events import AuditEvent
from quizapp.assessment.competence_settings import MODEL_VERSION, Track
from quizapp.assessment.observation_state import StepMark
from quizapp.content.library import Library
from quizapp.errors import BadInput
from quizapp.psychometrics.competence import Belief
from quizapp.services.competence_calibration import calibration_of_service
from quizapp.services.competence_of import Estimate, competence_of
from quizapp.services.rebuild_competence import Rebuilt, people_in_parts, rebuild_competence
from quizapp.services.submit_sitting import submit_sitting
from quizapp.store.audit import AuditRow
from quizapp.store.competence import CompetencePrediction, CompetenceStateRow
from quizapp.store.decisions import Decision
from quizapp.store.evidence import Evidence
from tests.knowledge_forms import answer, begun, composed, handed_in, practice, questions, right_text
from tests.observing import Phone, locked, opened, performed, put_in_service, sent, sign_off, signed
from tests.small_service import ZONE, SmallService


@pytest.fixture
def ready(small: SmallService) -> SmallService:
    put_in_service(small)
    return small


def rows(small: SmallService) -> dict[tuple[str, str], CompetenceStateRow]:
    with small.database.reading() as session:
        return {(row.competency, row.track): row for row in session.scalars(select(CompetenceStateRow))}


def estimates(small: SmallService, **asked: Any) -> dict[tuple[str, str], Estimate]:
    mira = small.person_id("mira")
    with small.acting("ines") as act:
        return {(one.competency, one.track.value): one for one in competence_of(act, [mira], **asked).get(mira, [])}


def rebuilt(small: SmallService) -> Rebuilt:
    with small.database.writing() as session:
        (part,) = people_in_parts(session)
        return rebuild_competence(session, small.now, ZONE, part)


def form_answered(small: SmallService, library: Library, *, wrong: int = 0) -> str:
    sitting_id = begun(small, library, composed(small, library))
    for one in questions(small, sitting_id):
        answer(small, sitting_id, one.position, "0.001" if one.position <= wrong else right_text(one.question))
    handed_in(small, sitting_id)
    return sitting_id


def watched_on(small: SmallService, day: int, *, order: str = "abcdefghij") -> str:
    """Open, fill in and lock a sheet of P06 so many days later; steps outside `order` are marked not done."""
    was = small.now
    small.now = was + timedelta(days=day)
    observation_id = opened(small)
    phone = Phone(small.now, device_id=f"phone-{observation_id[-8:]}")
    phone.start()
    for place, step in enumerate(order, 1):
        phone.mark(step, after_s=3 * place)
    for step in sorted(set("abcdefghij") - set(order)):
        phone.mark(step, StepMark.NOT_DONE, after_s=60)
    assert set(sent(small, observation_id, phone.made)) == {"saved"}
    locked(small, observation_id)
    small.now = was
    return observation_id


def test_a_form_handed_in_moves_the_knowledge_of_what_it_asked_and_nothing_else(
    small: SmallService, library: Library
) -> None:
    form_answered(small, library)
    found = rows(small)
    assert sorted(found) == [("C3", "knowledge"), ("C5", "knowledge")]
    assert [found["C5", "knowledge"].evidence_count, found["C3", "knowledge"].evidence_count] == [2, 1]
    assert all(row.is_taught and row.model_version == MODEL_VERSION for row in found.values())
    shown = estimates(small)
    assert shown["C5", "knowledge"].chance_fraction > shown["C3", "knowledge"].chance_fraction > 0.749


def test_a_wrong_answer_lowers_what_a_right_one_raises(small_sqlite: SmallService, library: Library) -> None:
    form_answered(small_sqlite, library, wrong=3)
    assert all(one.chance_fraction < 0.749 for one in estimates(small_sqlite).values())


def test_practice_counts_half_on_the_knowledge_track_and_teaches_nobody(small: SmallService, library: Library) -> None:
    sitting_id = practice(small, library, "N46")
    (one,) = questions(small, sitting_id)
    answer(small, sitting_id, 1, right_text(one.question))
    assert rows(small) == {}
    handed_in(small, sitting_id)
    ((place, row),) = rows(small).items()
    assert place == (one.competency, "knowledge")
    assert (row.is_taught, row.evidence_count) == (False, 1)
    assert estimates(small)[place].chance_fraction < 0.2


def test_a_signed_observation_moves_the_performance_of_each_competency(ready: SmallService) -> None:
    observation_id = opened(ready, procedure_code="P02")
    performed(ready, observation_id, "abcdef")
    locked(ready, observation_id)
    assert rows(ready) == {}
    signed(ready, observation_id)
    assert sorted(rows(ready)) == [("C4", "performance"), ("C5", "performance")]


def test_perfect_answers_never_move_the_performance_track(ready: SmallService, library: Library) -> None:
    signed(ready, watched_on(ready, 0, order="abc"))
    before = rows(ready)["C8", "performance"]
    form_answered(ready, library)
    for family in ("N46", "N31"):
        sitting_id = practice(ready, library, family)
        for one in questions(ready, sitting_id):
            answer(ready, sitting_id, one.position, right_text(one.question))
        handed_in(ready, sitting_id)
    after = rows(ready)["C8", "performance"]
    assert (after.mass, after.updated_at) == (before.mass, before.updated_at)
    assert [place for place in rows(ready) if place[1] == "performance"] == [("C8", "performance")]


def test_prompted_steps_weigh_half_and_steps_not_seen_nothing(ready: SmallService) -> None:
    observation_id = opened(ready)
    phone = Phone(ready.now)
    phone.start()
    for place, step in enumerate("abcdefghij", 1):
        phone.mark(step, StepMark.NOT_SEEN if step == "j" else StepMark.DONE, after_s=3 * place)
    assert set(sent(ready, observation_id, phone.made)) == {"saved"}
    locked(ready, observation_id)
    signed(ready, observation_id)
    assert rows(ready)["C8", "performance"].evidence_count == 9


def test_what_was_kept_day_by_day_equals_the_history_told_again(ready: SmallService, library: Library) -> None:
    form_answered(ready, library, wrong=1)
    for day, order in ((0, "abcdefghij"), (0, "abcde"), (40, "afbcdeghij"), (200, "abcdefghi")):
        signed(ready, watched_on(ready, day, order=order))
    before = rows(ready)
    assert rebuilt(ready) == Rebuilt(people=10, states=3, differed=0)
    with ready.database.writing() as session:
        for row in session.scalars(select(CompetenceStateRow)):
            session.delete(row)
    assert rebuilt(ready).differed == 3
    for place, row in rows(ready).items():
        told, kept = Belief.from_bytes(row.mass), Belief.from_bytes(before[place].mass)
        assert np.max(np.abs(told.mass - kept.mass)) <= 1e-9
        assert (row.last_day, row.evidence_count) == (before[place].last_day, before[place].evidence_count)


def test_an_observation_signed_late_takes_its_place_in_the_history(ready: SmallService) -> None:
    first, second = watched_on(ready, 0, order="abcde"), watched_on(ready, 30)
    signed(ready, second)
    signed(ready, first)
    row = rows(ready)["C8", "performance"]
    assert row.last_day == (ready.now + timedelta(days=30)).date()
    assert rebuilt(ready).differed == 0


def test_a_state_of_another_model_counts_as_absent_until_it_is_told_again(ready: SmallService) -> None:
    signed(ready, watched_on(ready, 0))
    with ready.database.writing() as session:
        session.execute(
            update(CompetenceStateRow)
            .where(CompetenceStateRow.competency == "C8")
            .values(model_version=MODEL_VERSION + 1)
        )
    assert estimates(ready) == {}
    signed(ready, watched_on(ready, 10))
    assert rows(ready)["C8", "performance"].evidence_count == 20
    assert rebuilt(ready).differed == 0


def test_a_state_without_evidence_goes(ready: SmallService) -> None:
    signed(ready, watched_on(ready, 0))
    with ready.database.writing() as session:
        row = session.scalars(select(CompetenceStateRow)).one()
        session.add(
            CompetenceStateRow(
                person_id=row.person_id, competency="C1", track="knowledge", mass=row.mass, mean=row.mean, sd=row.sd,
                last_day=row.last_day, is_taught=True, evidence_count=1, model_version=1, updated_at=row.updated_at,
            )
        )  # fmt: skip
    assert rebuilt(ready).differed == 1
    assert list(rows(ready)) == [("C8", "performance")]


def test_the_rebuild_leaves_a_row_on_the_audit_trail(ready: SmallService) -> None:
    signed(ready, watched_on(ready, 0))
    rebuilt(ready)
    with ready.database.reading() as session:
        newest = session.scalars(select(AuditRow).order_by(AuditRow.seq.desc())).first()
    assert newest is not None
    assert newest.event == AuditEvent.COMPETENCE_REBUILT


def test_the_chance_is_foretold_when_the_sheet_is_opened_and_never_changed(ready: SmallService) -> None:
    observation_id = watched_on(ready, 0)
    with ready.database.reading() as session:
        (foretold,) = session.scalars(select(CompetencePrediction))
        assert session.scalars(select(Evidence)).all() == []
    assert (foretold.source_id, foretold.competency, foretold.track) == (observation_id, "C8", "performance")
    assert foretold.chance_fraction == pytest.approx(0.749, abs=0.001)
    assert foretold.gap_days is None
    signed(ready, observation_id)
    signed(ready, watched_on(ready, 50, order="abc"))
    rebuilt(ready)
    with ready.database.reading() as session:
        first, second = session.scalars(select(CompetencePrediction).order_by(CompetencePrediction.predicted_at))
        assert (first.chance_fraction, first.predicted_at) == (foretold.chance_fraction, foretold.predicted_at)
        assert second.gap_days == 50
        assert (
            second.chance_fraction
            < estimates(ready, on=ready.now.date() + timedelta(days=50))["C8", "performance"].chance_fraction
            or second.chance_fraction != first.chance_fraction
        )


def test_a_form_foretells_each_competency_when_it_is_begun(small: SmallService, library: Library) -> None:
    sitting_id = begun(small, library, composed(small, library))
    with small.database.reading() as session:
        found = list(session.scalars(select(CompetencePrediction).order_by(CompetencePrediction.competency)))
    assert [(one.competency, one.track, one.source_id) for one in found] == [
        ("C3", "knowledge", sitting_id), ("C5", "knowledge", sitting_id),
    ]  # fmt: skip


def test_an_estimate_is_asked_only_from_the_last_evidence_on(ready: SmallService) -> None:
    signed(ready, watched_on(ready, 30))
    with pytest.raises(BadInput, match="would look back"):
        estimates(ready)
    last = ready.now.date() + timedelta(days=30)
    on_the_day = estimates(ready, on=last)["C8", "performance"]
    a_year_on = estimates(ready, on=last + timedelta(days=365))["C8", "performance"]
    assert on_the_day.chance_fraction > 0.85 > a_year_on.chance_fraction
    assert a_year_on.chance_fraction == on_the_day.chance_after(365)
    assert a_year_on.band[1] - a_year_on.band[0] > on_the_day.band[1] - on_the_day.band[0]


def test_the_day_under_a_threshold_is_the_first_day_whose_chance_lies_under_it(ready: SmallService) -> None:
    signed(ready, watched_on(ready, 0))
    one = estimates(ready)["C8", "performance"]
    day = one.falls_under(0.8)
    assert day is not None
    after = (day - one.day).days
    assert one.chance_after(after) < 0.8 <= one.chance_after(after - 1)
    assert one.falls_under(0.01) is None
    later = estimates(ready, on=day + timedelta(days=100))["C8", "performance"]
    assert later.falls_under(0.8) == later.day


def test_outcomes_stand_beside_what_was_foretold_and_a_few_calibrate_nothing(ready: SmallService) -> None:
    signed(ready, watched_on(ready, 0))
    signed(ready, watched_on(ready, 100, order="afbcdeghij"))
    watched_on(ready, 120)
    with ready.database.reading() as session:
        hands = calibration_of_service(session)[Track.PERFORMANCE]
    assert (hands.outcome_count, hands.not_shown_count, hands.is_calibrated) == (2, 1, False)
    assert hands.overall is not None
    assert hands.overall.count == 2
    assert [figures.count if figures else 0 for _words, figures in hands.by_gap] == [0, 1, 0]


def test_evidence_and_estimate_are_undone_together(ready: SmallService, library: Library) -> None:
    sitting_id = begun(ready, library, composed(ready, library))
    for one in questions(ready, sitting_id):
        answer(ready, sitting_id, one.position, right_text(one.question))
    with ready.acting("mira") as act:
        submit_sitting(act, sitting_id)
        assert len(act.session.scalars(select(CompetenceStateRow)).all()) == 2
        act.session.rollback()
    assert rows(ready) == {}
    handed_in(ready, sitting_id)
    assert len(rows(ready)) == 2


def test_no_estimate_changes_a_decision(ready: SmallService) -> None:
    sign_off(ready, "mira", "C8")

    def decisions() -> list[tuple[Any, ...]]:
        with ready.database.reading() as session:
            return [tuple(row) for row in session.execute(select(*Decision.__table__.columns).order_by(Decision.id))]

    before = decisions()
    signed(ready, watched_on(ready, 0, order="abc"))
    signed(ready, watched_on(ready, 1, order="ab"))
    rebuilt(ready)
    assert decisions() == before
