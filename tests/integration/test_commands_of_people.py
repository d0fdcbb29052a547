"""The commands do the same acts as the pages and leave the same trace."""

from __future__ import annotations

import re
import socket
import subprocess
import sys
import time
from pathlib import Path
from urllib.request import urlopen

import pytest
from sqlalchemy import func, select

from quizapp.cli import main
from quizapp.services.passwords import token_hash
from quizapp.store.accounts import AccountInvitation
from quizapp.store.audit import AuditRow
from quizapp.store.database import Database
from quizapp.store.decisions import Decision
from quizapp.store.import_drafts import ImportDraft
from quizapp.store.people import Person

FOUND = [
    "found", "--name", "Low Fell Rescue", "--zone", "Europe/London", "--base", "LF:Low Fell:road",
    "--administrator", "A-1:Ada Stone:ada", "--administrator", "A-2:Bea Moss:bea",
]  # fmt: skip
ROSTER = "staff_number,name,profession,base,joined_on\nN-1,Nils Berg,doctor,LF,2026-01-05\n"
SIGN_OFFS = (
    "staff_number,competency,signed_on,last_valid_day,profile,revision,recognised_reason\n"
    "N-1,C5,2025-06-01,2026-06-01,TV-A,1,Signed in the paper log of last year\n"
)


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("QUIZAPP_DATA", str(tmp_path))
    for name in ("QUIZAPP_DATABASE", "QUIZAPP_HOSTS", "QUIZAPP_PLAIN_HTTP"):
        monkeypatch.delenv(name, raising=False)
    return tmp_path


@pytest.fixture
def founded(folder: Path, capsys: pytest.CaptureFixture[str]) -> Path:
    assert main(FOUND) == 0
    capsys.readouterr()
    return folder


def written(folder: Path, name: str, text: str) -> str:
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return str(path)


def count(folder: Path, table: type) -> int:
    database = Database(f"sqlite:///{folder / 'quizapp.db'}")
    with database.reading() as session:
        found = session.scalar(select(func.count()).select_from(table)) or 0
    database.close()
    return found


def test_founding_prints_two_codes_that_are_kept_as_hashes(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(FOUND) == 0
    codes = re.findall(r"(?:[0-9a-f]{4}-){7}[0-9a-f]{4}", capsys.readouterr().out)
    assert len(codes) == 2
    database = Database(f"sqlite:///{folder / 'quizapp.db'}")
    with database.reading() as session:
        kept = set(session.scalars(select(AccountInvitation.code_hash)))
    database.close()
    assert kept == {token_hash(code.replace("-", "")) for code in codes}


def test_a_second_founding_is_refused(founded: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(FOUND) == 1
    assert "founded here already" in capsys.readouterr().err
    assert count(founded, Person) == 2


@pytest.mark.parametrize("base", ["LF", "LF:Low Fell", "LF::road", "LF:Low:Fell:road"])
def test_a_base_in_another_shape_is_refused(folder: Path, capsys: pytest.CaptureFixture[str], base: str) -> None:
    arguments = [*FOUND[:6], base, *FOUND[7:]]
    assert main(arguments) == 1
    assert "three parts" in capsys.readouterr().err


def test_a_roster_is_checked_and_taken_over(founded: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = written(founded, "r.csv", ROSTER)
    assert main(["people", "import", file, "--dry-run", "--as", "ada"]) == 0
    assert "1 would be added" in capsys.readouterr().out
    assert count(founded, Person) == 2
    assert main(["people", "import", file, "--as", "ada"]) == 0
    assert (count(founded, Person), count(founded, AuditRow)) == (3, 6)
    assert main(["people", "import", file, "--as", "ada"]) == 0
    assert "0 were added, 0 were changed, 1 are the same" in capsys.readouterr().out


@pytest.mark.parametrize("dry_run", [True, False])
def test_faults_are_printed_with_their_rows(founded: Path, capsys: pytest.CaptureFixture[str], dry_run: bool) -> None:
    file = written(founded, "r.csv", ROSTER.replace("LF", "XX").replace("01-05", "13-05"))
    assert main(["people", "import", file, "--as", "ada", *(["--dry-run"] if dry_run else [])]) == 1
    out = capsys.readouterr().out
    assert "r.csv:2: error: base:" in out
    assert "r.csv:2: error: joined_on:" in out
    assert "2 faults: the file cannot be taken over. Nothing was changed." in out
    assert count(founded, Person) == 2


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["people", "import", "nowhere.csv", "--as", "ada"], "cannot be read"),
        (["people", "import", __file__, "--as", "nobody"], "no active account"),
        (["people", "invite", "X-9", "--as", "ada"], "Nobody has the staff number"),
        (["people", "invite", "A-1", "--as", "ada"], "Nobody may start a reset of their own password"),
    ],
)
def test_what_cannot_be_done_is_said(
    founded: Path, capsys: pytest.CaptureFixture[str], arguments: list[str], words: str
) -> None:
    assert main(arguments) == 1
    assert words in capsys.readouterr().err


def test_sign_offs_are_checked_and_wait_for_two_people(founded: Path, capsys: pytest.CaptureFixture[str]) -> None:
    main(["people", "import", written(founded, "r.csv", ROSTER), "--as", "ada"])
    command = ["sign-offs", "import", written(founded, "s.csv", SIGN_OFFS), "--as", "ada", "--second"]
    assert main([*command, "ada"]) == 1
    assert main([*command, "bea", "--dry-run"]) == 0
    assert count(founded, Decision) == 0
    assert count(founded, ImportDraft) == 0
    assert main([*command, "bea"]) == 0
    said = capsys.readouterr().out
    assert "1 would be recognised, 0 were recognised before. None counts yet." in said
    assert "ada signs at /people/sign-offs/" in said
    assert "then bea at /recognise/" in said
    assert (count(founded, Decision), count(founded, ImportDraft)) == (0, 1)


def test_one_administrator_invites_the_other(founded: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["people", "invite", "A-2", "--as", "ada"]) == 0
    assert re.search(r"bea  (?:[0-9a-f]{4}-){7}[0-9a-f]{4}  until", capsys.readouterr().out)


def test_commands_wait_for_the_newest_schema(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["people", "invite", "A-1", "--as", "ada"]) == 1
    assert "quizapp migrate" in capsys.readouterr().err
    assert main(["migrate"]) == 0
    assert main(["migrate"]) == 0
    assert main(["people", "invite", "A-1", "--as", "ada"]) == 1
    assert "quizapp found" in capsys.readouterr().err


def test_a_service_with_faulty_content_does_not_start(
    founded: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    (founded / "question_bank" / "device_profiles").mkdir(parents=True)
    (founded / "question_bank" / "device_profiles" / "a-1.toml").write_text("code = 1\n")
    monkeypatch.setenv("QUIZAPP_CONTENT", str(founded))
    monkeypatch.setenv("QUIZAPP_PLAIN_HTTP", "yes")
    assert main(["serve", "--port", "1"]) == 1
    found = capsys.readouterr().err
    assert f"faults in {founded}; nothing is served" in found
    assert "a-1.toml" in found


def test_a_service_without_host_names_does_not_start(founded: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["serve"]) == 1
    assert "QUIZAPP_HOSTS" in capsys.readouterr().err


def test_a_database_that_cannot_be_used_is_named(
    folder: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("QUIZAPP_DATABASE", f"sqlite:///{folder / 'no' / 'such' / 'folder.db'}")
    assert main(["migrate"]) == 1
    assert "cannot be used" in capsys.readouterr().err


def test_serve_says_where_its_content_is_and_answers(founded: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("QUIZAPP_PLAIN_HTTP", "yes")
    with socket.create_server(("127.0.0.1", 0)) as free:
        port = str(free.getsockname()[1])
    server = subprocess.Popen(
        [sys.executable, "-m", "quizapp", "serve", "--port", port], stderr=subprocess.PIPE, text=True
    )
    try:
        assert server.stderr is not None
        said = [server.stderr.readline() for _ in range(4)]
        assert [line.split(":")[0] for line in said] == ["Content", "Database", "Service", "Listening on http"]
        assert "Low Fell Rescue" in said[2]
        time.sleep(0.2)
        with urlopen(f"http://127.0.0.1:{port}/sign-in", timeout=10) as answer:
            assert b"Low Fell Rescue" in answer.read()
    finally:
        server.terminate()
        server.wait(timeout=20)
