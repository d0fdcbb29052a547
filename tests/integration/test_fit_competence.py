"""Numbers of one's own: only by command, only from enough outcomes, judged on other people, and never by themselves."""

from __future__ import annotations

from pathlib import Path

import pytest
from sqlalchemy import delete, select, update
from sqlalchemy.exc import DatabaseError

from quizapp.assessment.audit_events import AuditEvent
from quizapp.assessment.competence_settings import MODEL_VERSION, Track
from quizapp.cli import main
from quizapp.errors import Conflict
from quizapp.services.competence_calibration import calibration_of_service
from quizapp.services.competence_models_in_force import models_in_force
from quizapp.services.competence_of import competence_of
from quizapp.services.fit_competence import fit_competence
from quizapp.services.foretell import foretell
from quizapp.store.audit import AuditRow
from quizapp.store.competence import CompetenceFit, CompetencePrediction, CompetenceStateRow
from quizapp.store.evidence import Evidence
from tests.commanded_service import commanded
from tests.small_service import ZONE, SmallService
from tests.watched_people import watch_many

FIT = ["competence", "fit", "performance"]
Capture = pytest.CaptureFixture[str]


@pytest.fixture
def watched(small_sqlite: SmallService, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> SmallService:
    """Forty people watched three times: 120 outcomes, more than 20 of them not shown."""
    watch_many(small_sqlite, 40)
    commanded(small_sqlite, tmp_path, monkeypatch)
    return small_sqlite


def fits(small: SmallService) -> list[CompetenceFit]:
    with small.database.reading() as session:
        return list(session.scalars(select(CompetenceFit).order_by(CompetenceFit.number)))


def events(small: SmallService) -> list[str]:
    with small.database.reading() as session:
        return list(session.scalars(select(AuditRow.event).order_by(AuditRow.seq)))


def versions(small: SmallService) -> set[int]:
    with small.database.reading() as session:
        return set(session.scalars(select(CompetenceStateRow.model_version)))


def test_a_fit_is_kept_with_how_it_was_judged_and_is_not_in_force(watched: SmallService, capsys: Capture) -> None:
    assert main(FIT) == 0
    (row,) = fits(watched)
    assert (row.number, row.track, row.outcome_count) == (1, "performance", 120)
    assert row.not_shown_count >= 20
    assert 30 < row.judged_count < 90
    assert row.put_in_force_at is None
    said = capsys.readouterr().out
    assert "sets of numbers tried" in said
    assert "It is kept and not in force." in said
    assert events(watched)[-1] == AuditEvent.COMPETENCE_FITTED
    with watched.database.reading() as session:
        assert models_in_force(session).fits == {}


def test_put_in_force_everything_is_told_again_and_new_forecasts_carry_its_number(
    watched: SmallService, capsys: Capture
) -> None:
    assert main(["competence", "rebuild"]) == 0
    assert versions(watched) == {MODEL_VERSION}
    before = chance_of(watched, "c0")
    assert main(FIT) == 0
    assert main(["competence", "put-in-force", "1"]) == 0
    assert "uncalibrated until outcomes after today say more" in capsys.readouterr().out
    (version,) = versions(watched)
    assert version != MODEL_VERSION
    assert chance_of(watched, "c0") != pytest.approx(before, abs=1e-6)
    with watched.acting("tor") as act:
        foretell(
            act, person_id=watched.person_id("c0"), track=Track.PERFORMANCE, competencies=["C8"], source_id="9" * 32
        )
        foretell(act, person_id=watched.person_id("c0"), track=Track.KNOWLEDGE, competencies=["C8"], source_id="8" * 32)
    with watched.database.reading() as session:
        stored = {row.track: row for row in session.scalars(select(CompetencePrediction))}
        assert stored["performance"].model_version == version
        assert stored["knowledge"].model_version == MODEL_VERSION
        assert calibration_of_service(session)[Track.PERFORMANCE].fit_number == 1
    assert stored["performance"].chance_fraction == pytest.approx(chance_of(watched, "c0"))
    assert main(["competence", "take-out", "performance"]) == 0
    assert versions(watched) == {MODEL_VERSION}
    assert chance_of(watched, "c0") == pytest.approx(before, abs=1e-9)
    wanted = {AuditEvent.COMPETENCE_FIT_PUT_IN_FORCE, AuditEvent.COMPETENCE_FIT_TAKEN_OUT}
    assert wanted <= set(events(watched))


def chance_of(small: SmallService, name: str) -> float:
    with small.acting("ines") as act:
        return competence_of(act, [small.person_id(name)])[small.person_id(name)][0].chance_fraction


def test_too_few_outcomes_are_refused_and_nothing_is_kept(watched: SmallService, capsys: Capture) -> None:
    assert main(["competence", "fit", "knowledge"]) == 1
    assert "knowledge: 0 outcomes that others assessed" in capsys.readouterr().err
    with watched.database.writing() as session:
        session.execute(update(Evidence).where(Evidence.kind == "observation").values(outcome="shown"))
    with (
        watched.database.reading() as session,
        pytest.raises(Conflict, match="120 outcomes that others assessed, 0 of"),
    ):
        fit_competence(session, ZONE, Track.PERFORMANCE, told=lambda _cost: None)
    assert fits(watched) == []


def test_a_fit_that_is_no_better_is_not_put_in_force(watched: SmallService, capsys: Capture) -> None:
    assert main(FIT) == 0
    with watched.database.writing() as session:
        session.execute(update(CompetenceFit).where(CompetenceFit.number == 1).values(brier_after=0.9))
    assert main(["competence", "put-in-force", "1"]) == 1
    assert "no better than the published numbers. Nothing was changed." in capsys.readouterr().err
    assert main(["competence", "put-in-force", "2"]) == 1
    assert "There is no fit 2." in capsys.readouterr().err
    assert main(["competence", "take-out", "performance"]) == 1
    assert "the published numbers are in force already" in capsys.readouterr().err
    assert fits(watched)[0].put_in_force_at is None


def test_the_list_says_what_was_in_force_when(watched: SmallService, capsys: Capture) -> None:
    assert main(["competence", "fits"]) == 0
    assert "No fit was made here; the published numbers run." in capsys.readouterr().out
    for command in (FIT, ["competence", "put-in-force", "1"], FIT, ["competence", "put-in-force", "2"]):
        assert main(command) == 0
    capsys.readouterr()
    assert main(["competence", "fits"]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert lines[0].startswith("fit 2, performance")
    assert "in force from" in lines[0]
    assert " to " in lines[4]
    assert main(["competence", "put-in-force", "1"]) == 1


def test_the_database_refuses_to_change_what_was_foretold(watched: SmallService) -> None:
    with watched.acting("tor") as act:
        foretell(
            act, person_id=watched.person_id("c0"), track=Track.PERFORMANCE, competencies=["C8"], source_id="9" * 32
        )
    for change in (update(CompetencePrediction).values(chance_fraction=0.9), delete(CompetencePrediction)):
        with pytest.raises(DatabaseError, match="append-only"), watched.database.writing() as session:
            session.execute(change.where(CompetencePrediction.competency == "C8"))
