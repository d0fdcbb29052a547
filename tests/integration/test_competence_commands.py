"""`quizapp competence`: the states made anew from the records, and the forecasts beside their outcomes."""

from __future__ import annotations

from pathlib import Path

import pytest
from sqlalchemy import delete, select

from quizapp.cli import main
from quizapp.store.competence import CompetenceStateRow
from quizapp.store.people import Service
from tests.commanded_service import commanded
from tests.observing import locked, opened, performed, put_in_service, signed
from tests.small_service import SmallService


@pytest.fixture
def watched(small_sqlite: SmallService, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> SmallService:
    """Mira was watched at P06 and it was signed."""
    put_in_service(small_sqlite)
    observation_id = opened(small_sqlite)
    performed(small_sqlite, observation_id)
    locked(small_sqlite, observation_id)
    signed(small_sqlite, observation_id)
    commanded(small_sqlite, tmp_path, monkeypatch)
    return small_sqlite


def test_a_rebuild_says_how_far_it_is_and_what_differed(
    watched: SmallService, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["competence", "rebuild"]) == 0
    assert capsys.readouterr().out.splitlines() == [
        "10 of 10 people",
        "1 state told again; 0 were not as their history tells and were put right.",
    ]
    with watched.database.writing() as session:
        session.execute(delete(CompetenceStateRow).where(CompetenceStateRow.competency == "C8"))
    assert main(["competence", "rebuild"]) == 0
    assert "1 state told again; 1 was not as its history tells" in capsys.readouterr().out
    with watched.database.reading() as session:
        assert session.scalars(select(CompetenceStateRow.competency)).all() == ["C8"]


def test_the_calibration_says_that_there_is_none_yet(watched: SmallService, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["competence", "calibration"]) == 0
    lines = capsys.readouterr().out.splitlines()
    knowledge = "knowledge, published numbers: 0 outcomes that others assessed, 0 of them not shown (uncalibrated:"
    assert lines[0].startswith(knowledge)
    assert lines[1].startswith("performance, published numbers: 1 outcome that others assessed")
    assert "n 1, Brier 0.0" in lines[2]


def test_without_a_service_nothing_is_done(watched: SmallService, capsys: pytest.CaptureFixture[str]) -> None:
    with watched.database.writing() as session:
        session.execute(delete(Service).where(Service.name != ""))
    assert main(["competence", "rebuild"]) == 1
    assert "No service was founded here yet. Nothing was changed." in capsys.readouterr().err
