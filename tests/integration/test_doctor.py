"""`quizapp doctor`: a sentence for each thing; each fault it looks for is made once and seen."""

from __future__ import annotations

import os
import shutil
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import NamedTuple

import pytest
from sqlalchemy import text

from quizapp.cli import main
from quizapp.services.examine_installation import examine_database
from quizapp.store.database import POSTGRES_SETTINGS, SQLITE_PRAGMAS
from tests.commanded_service import act_times, commanded
from tests.sample_families import make_content_folder
from tests.small_service import SmallService

Capture = pytest.CaptureFixture[str]


class Usage(NamedTuple):
    total: int
    used: int
    free: int


def prepare(folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Give the service little content, a secret and room, and tell it its name."""
    (folder / "secret").touch(mode=0o600)
    (folder / "secret").write_text("only-for-tests-" * 3, encoding="utf-8")
    monkeypatch.setenv("QUIZAPP_CONTENT", str(make_content_folder(tmp_path / "content")))
    monkeypatch.setenv("QUIZAPP_HOSTS", "quizapp.example")
    monkeypatch.setattr(shutil, "disk_usage", lambda _place: Usage(100 * 1024**3, 0, 50 * 1024**3))


@pytest.fixture
def data(small: SmallService, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The data folder of an installation in which all is well."""
    folder = commanded(small, tmp_path, monkeypatch)
    prepare(folder, tmp_path, monkeypatch)
    small.now = datetime.now(UTC) - timedelta(minutes=1)
    act_times(small, 3)
    if small.database.is_sqlite:
        assert main(["backup", str(tmp_path / "kept.db")]) == 0
    return folder


def doctored(capsys: Capture) -> tuple[int, str]:
    capsys.readouterr()
    status = main(["doctor"])
    return status, capsys.readouterr().out


def not_well(capsys: Capture) -> str:
    """The one sentence about what is not well."""
    status, said = doctored(capsys)
    lines = [line for line in said.splitlines() if line.startswith("NOT WELL")]
    assert (status, len(lines)) == (1, 1), said
    return lines[0]


def test_a_sound_installation_is_well(data: Path, capsys: Capture) -> None:
    status, said = doctored(capsys)
    assert (status, "NOT WELL" in said) == (0, False), said
    assert len(said.splitlines()) >= 8


def test_settings_that_refuse_the_start(data: Path, monkeypatch: pytest.MonkeyPatch, capsys: Capture) -> None:
    monkeypatch.setenv("QUIZAPP_HOSTS", "")
    assert "QUIZAPP_HOSTS: name the host names" in not_well(capsys)


def test_a_secret_that_others_may_read(data: Path, capsys: Capture) -> None:
    (data / "secret").chmod(0o644)
    assert "(mode 644)" in not_well(capsys)


def test_a_disk_nearly_full(data: Path, monkeypatch: pytest.MonkeyPatch, capsys: Capture) -> None:
    for usage in (Usage(2 * 1024**3, 0, 1024**3 - 1), Usage(100 * 1024**3, 0, 9 * 1024**3)):
        monkeypatch.setattr(shutil, "disk_usage", lambda _place, usage=usage: usage)
        status, said = doctored(capsys)
        assert status == 1
        assert "NOT WELL  Only" in said


def test_faulty_content(data: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: Capture) -> None:
    monkeypatch.setenv("QUIZAPP_CONTENT", str(make_content_folder(tmp_path / "faulty", n99="nothing")))
    assert "Run: quizapp content check" in not_well(capsys)


def test_an_older_schema(data: Path, small: SmallService, capsys: Capture) -> None:
    with small.database.writing() as session:
        session.execute(text("UPDATE alembic_version SET version_num = '0001'"))
    assert "Run: quizapp migrate" in not_well(capsys)


def test_a_head_that_does_not_fit(data: Path, small: SmallService, capsys: Capture) -> None:
    with small.database.writing() as session:
        session.execute(text("UPDATE audit_head SET seq = seq - 1"))
    assert "quizapp audit verify --records" in not_well(capsys)


def test_a_clock_that_went_back(small: SmallService, data: Path) -> None:
    said = [one.said for one in examine_database(small.database, small.now - timedelta(days=1)) if not one.is_well]
    assert said
    assert said[0].startswith("The clock went back")


def test_a_setting_of_a_connection_that_is_not_kept(
    data: Path, small: SmallService, monkeypatch: pytest.MonkeyPatch, capsys: Capture
) -> None:
    """NORMAL instead of FULL loses acknowledged answers at a power cut; it must be seen."""
    from quizapp.services import examine_installation
    from quizapp.store import database

    wrong = {**SQLITE_PRAGMAS, "synchronous": "NORMAL"}
    monkeypatch.setattr(database, "SQLITE_PRAGMAS", wrong)
    monkeypatch.setattr(database, "POSTGRES_SETTINGS", {**POSTGRES_SETTINGS, "synchronous_commit": "off"})
    assert examine_installation.SQLITE_PRAGMAS["synchronous"] == "FULL"
    assert "synchronous" in not_well(capsys)


def test_backups_that_are_missing_or_old(
    small_sqlite: SmallService, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    commanded(small_sqlite, tmp_path, monkeypatch)
    now = datetime.now(UTC)
    small_sqlite.now = now - timedelta(minutes=1)
    act_times(small_sqlite, 1)
    assert [one.said for one in examine_database(small_sqlite.database, now) if not one.is_well] == [
        "No backup was taken yet. Run: quizapp backup FOLDER"
    ]
    assert main(["backup", str(tmp_path / "kept.db")]) == 0
    later = now + timedelta(hours=26)
    (old,) = [one.said for one in examine_database(small_sqlite.database, later) if not one.is_well]
    assert "more than a day ago" in old


def test_a_damaged_or_missing_file(
    small_sqlite: SmallService, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: Capture
) -> None:
    folder = commanded(small_sqlite, tmp_path, monkeypatch)
    prepare(folder, tmp_path, monkeypatch)
    monkeypatch.setenv("QUIZAPP_DATABASE", f"sqlite:///{tmp_path / 'none.db'}")
    assert "There is no database" in not_well(capsys)
    assert not (tmp_path / "none.db").exists()
    (tmp_path / "none.db").write_bytes(os.urandom(8192))
    assert "The database cannot be used" in not_well(capsys)
