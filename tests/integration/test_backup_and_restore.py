"""Backups taken while the service works, checked, refused when unfit, and restored with the loss stated."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from sqlalchemy import select, text

from quizapp.cli import main
from quizapp.services.verify_audit import verify_stored_chain
from quizapp.services.verify_records import verify_records
from quizapp.store.accounts import SessionRow
from quizapp.store.audit import AuditRow
from quizapp.store.backup import state_of
from quizapp.store.database import Database, sqlite_file
from tests.commanded_service import act_times, commanded, database_at, file_of, seal_all
from tests.small_service import SmallService
from tests.web_app import signed_in_cookie

Capture = pytest.CaptureFixture[str]


@pytest.fixture
def here(small_sqlite: SmallService, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> SmallService:
    commanded(small_sqlite, tmp_path, monkeypatch)
    seal_all(small_sqlite)
    act_times(small_sqlite, 5)
    return small_sqlite


@pytest.fixture
def backup(here: SmallService, tmp_path: Path, capsys: Capture) -> Path:
    path = tmp_path / "kept.db"
    assert main(["backup", str(path)]) == 0
    assert "Checked: pages, references, counts, audit trail." in capsys.readouterr().out
    return path


def spoil(path: Path, *statements: str) -> None:
    with closing(sqlite3.connect(path, isolation_level=None)) as connection:
        for (name,) in connection.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall():
            connection.execute(f"DROP TRIGGER {name}")
        for statement in statements:
            connection.execute(statement)


def restored(capsys: Capture, *words: str) -> tuple[int, str]:
    status = main(["restore", *words])
    printed = capsys.readouterr()
    return status, printed.out + printed.err


def test_a_backup_is_one_sound_private_file_and_noted(here: SmallService, backup: Path) -> None:
    state = state_of(backup)
    assert state.head.seq == 6
    assert backup.stat().st_mode & 0o777 == 0o600
    assert sorted(path.name for path in backup.parent.glob("kept.db*")) == ["kept.db"]
    with closing(sqlite3.connect(backup)) as connection:
        assert connection.execute("PRAGMA journal_mode").fetchone() == ("delete",)
    with here.database.reading() as session:
        newest = session.scalars(select(AuditRow).order_by(AuditRow.seq.desc())).first()
    assert newest is not None
    assert (newest.event, b"up to row 6" in newest.body) == ("backup_taken", True)


def test_a_folder_gets_a_file_named_after_the_time_and_nothing_is_overwritten(
    here: SmallService, tmp_path: Path, capsys: Capture
) -> None:
    folder = tmp_path / "backups"
    assert main(["backup", f"{folder}/"]) == 0
    (made,) = folder.iterdir()
    assert made.name.startswith("quizapp-2")
    assert main(["backup", str(made)]) == 1
    assert "is there already. Nothing was written." in capsys.readouterr().err
    assert main(["backup", str(folder / "no" / "kept.db")]) == 1


def test_a_backup_of_a_damaged_trail_is_not_kept(here: SmallService, tmp_path: Path, capsys: Capture) -> None:
    spoil(file_of(here), "DELETE FROM audit WHERE seq = 3")
    assert main(["backup", str(tmp_path / "kept.db")]) == 1
    assert "fault (gap). Row 3 is missing" in capsys.readouterr().err
    assert list(tmp_path.glob("kept.db*")) == []


def test_restore_says_the_loss_first_and_changes_nothing(here: SmallService, backup: Path, capsys: Capture) -> None:
    here.now += timedelta(minutes=42)
    act_times(here, 3)
    status, said = restored(capsys, str(backup))
    assert status == 1
    assert "Lost: 4 rows of the audit trail, 42 minutes of work:" in said
    assert "3 x person changed" in said
    assert "Nothing was changed." in said
    with here.database.reading() as session:
        assert len(session.scalars(select(AuditRow.seq)).all()) == 10


def test_restore_needs_the_service_to_be_stopped(here: SmallService, backup: Path, capsys: Capture) -> None:
    with here.database.reading() as session:
        session.execute(text("SELECT count(*) FROM person"))
        status, said = restored(capsys, str(backup), "--yes")
    assert status == 1
    assert "Stop the service, then try again." in said


def test_restore_keeps_the_old_one_ends_sessions_and_is_audited(
    here: SmallService, tmp_path: Path, capsys: Capture
) -> None:
    signed_in_cookie(here, "mira", lambda: here.now)
    backup = tmp_path / "kept.db"
    assert main(["backup", str(backup)]) == 0
    act_times(here, 3)
    here.database.close()
    status, said = restored(capsys, str(backup), "--yes")
    assert status == 0, said
    assert "Lost: 4 rows" in said
    place = file_of(here)
    (kept,) = [path for path in place.parent.glob("*.before-restore-*") if path.suffix != ".db-wal"]
    assert state_of(kept).head.seq == 10
    database = database_at(place)
    with database.reading() as session:
        report = verify_stored_chain(session)
        assert report.faults == ()
        assert "rows 7 to 10 of before are given up" in report.notes[0]
        assert verify_records(session, report.seals)[1] == []
        assert session.scalars(select(SessionRow).where(SessionRow.ended_at.is_(None))).all() == []
        newest = session.scalars(select(AuditRow).order_by(AuditRow.seq.desc())).first()
    database.close()
    assert newest is not None
    assert newest.event == "restored"
    assert b'"old_head":{"hash"' in newest.body


def test_a_lost_or_ruined_database_is_replaced(here: SmallService, backup: Path, capsys: Capture) -> None:
    here.database.close()
    place = file_of(here)
    place.write_bytes(b"ruined" * 5_000)
    status, said = restored(capsys, str(backup), "--yes")
    assert status == 0, said
    assert "What is lost cannot be counted" in said
    assert state_of(place).head.seq == 7
    place.unlink()
    status, said = restored(capsys, str(backup), "--yes")
    assert (status, "Nothing is lost" in said) == (0, True)
    assert state_of(place).head.seq == 7


@pytest.mark.parametrize(
    ("statement", "said"),
    [
        ("UPDATE audit SET actor_id = 'x' WHERE seq = 3", "was tampered with"),
        ("UPDATE person SET name = 'Somebody' WHERE name = 'Mira'", "was tampered with"),
        ("UPDATE audit SET hash = prev WHERE seq = 3", "fault (edit)"),
        ("UPDATE audit_head SET seq = 2", "the head beside it names row 2"),
        ("UPDATE alembic_version SET version_num = '9999'", "Restore it with the program that made it"),
        ("DELETE FROM base", "refers to one of base that is not there"),
        ("DROP TABLE alembic_version", "no schema of this program"),
    ],
)
def test_an_unfit_backup_is_refused_and_nothing_changed(
    here: SmallService, backup: Path, capsys: Capture, statement: str, said: str
) -> None:
    spoil(backup, statement)
    here.database.close()
    before = file_of(here).read_bytes()
    status, printed = restored(capsys, str(backup), "--yes")
    assert status == 1
    assert said in printed
    assert file_of(here).read_bytes() == before


def test_a_file_that_is_no_database_is_refused(here: SmallService, tmp_path: Path, capsys: Capture) -> None:
    (tmp_path / "odd.db").write_bytes(b"no database" * 1000)
    for name in ("odd.db", "none.db"):
        assert restored(capsys, str(tmp_path / name), "--yes")[0] == 1


def test_a_backup_of_another_history_gives_up_everything(here: SmallService, backup: Path, capsys: Capture) -> None:
    place = file_of(here)
    here.database.close()
    place.unlink()
    assert main(["migrate"]) == 0
    assert main(["found", "--name", "Another", "--zone", "Europe/London", "--base", "AAA:A:coast",
                 "--administrator", "A1:One Person:one", "--administrator", "A2:Two Person:two"]) == 0  # fmt: skip
    capsys.readouterr()
    status, said = restored(capsys, str(backup))
    assert status == 1
    assert "Lost: 3 rows" in said


@pytest.mark.postgres
def test_on_postgresql_its_own_means_are_named(
    small: SmallService, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: Capture
) -> None:
    if sqlite_file(small.database.url):
        return
    commanded(small, tmp_path, monkeypatch)
    for words in (["backup", str(tmp_path / "kept.db")], ["restore", str(tmp_path / "kept.db"), "--yes"]):
        assert main(words) == 1
        said = capsys.readouterr().err
        assert "pg_dump" in said
        assert "Nothing was written." in said
    assert not (tmp_path / "kept.db").exists()


def test_times_of_a_backup_are_those_of_its_acts(backup: Path) -> None:
    last = datetime.strptime(state_of(backup).last_at, "%Y-%m-%dT%H:%M:%S.%fZ").replace(tzinfo=UTC)
    assert last == datetime(2026, 3, 2, 9, 0, tzinfo=UTC)


def test_the_database_opened_to_read_refuses_a_change(here: SmallService) -> None:
    database = Database(here.database.url, read_only=True)
    with database.reading() as session, pytest.raises(Exception, match="readonly"):
        session.execute(text("UPDATE person SET name = 'x'"))
    database.close()
