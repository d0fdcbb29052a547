"""`quizapp audit`: its three outcomes, what it prints, and that checking changes nothing."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from sqlalchemy import select, text

from quizapp.cli import main
from quizapp.cli.check_audit import main as check_alone
from quizapp.content.library import Library
from quizapp.store.audit import Signature
from tests.commanded_service import act_times, commanded, file_of, seal_all
from tests.deciding import decide, show, with_standard
from tests.small_service import SmallService

Capture = pytest.CaptureFixture[str]


@pytest.fixture
def small_here(small: SmallService, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> SmallService:
    commanded(small, tmp_path, monkeypatch)
    seal_all(small)
    act_times(small, 6)
    return small


def verified(capsys: Capture, *more: str) -> tuple[int, str]:
    status = main(["audit", "verify", *more])
    return status, capsys.readouterr().out


def tamper(small: SmallService, statement: str) -> None:
    with small.database.writing() as session:
        session.execute(text(statement))


def test_a_whole_trail(small_here: SmallService, capsys: Capture) -> None:
    status, said = verified(capsys, "--records")
    assert status == 0
    assert said.startswith("The audit trail is whole: 7 rows, the last is row 7, head ")
    assert "records compared" in said
    status, said = verified(capsys, "--json", "--from", "4")
    assert status == 0
    found = json.loads(said)
    assert (found["whole"], found["rows"], found["head_seq"], found["records"]) == (True, 4, 7, None)


def test_a_changed_record_is_the_first_bad_row(small_here: SmallService, capsys: Capture) -> None:
    tamper(small_here, "UPDATE person SET name = 'Somebody' WHERE name = 'Mira'")
    assert verified(capsys)[0] == 0
    status, said = verified(capsys, "--records")
    assert status == 1
    assert said.startswith("First bad row: 7, record differs. person 6d697261")
    status, said = verified(capsys, "--records", "--json")
    assert status == 1
    assert [one["kind"] for one in json.loads(said)["faults"]] == ["record_differs"]


def test_many_faults_are_counted(small_here: SmallService, capsys: Capture) -> None:
    tamper(small_here, "UPDATE record_seal SET salt = ''")
    status, said = verified(capsys, "--records")
    assert status == 1
    assert "more; --json lists them all" in said


def test_anchors_are_kept_and_checked(small_here: SmallService, tmp_path: Path, capsys: Capture) -> None:
    anchors = tmp_path / "anchors"
    for _time in range(2):
        assert main(["audit", "anchor", "--append", str(anchors)]) == 0
        printed = capsys.readouterr()
        assert "proves nothing to outsiders" in printed.err
        act_times(small_here, 2)
    lines = anchors.read_text(encoding="utf-8").splitlines()
    assert [json.loads(line)["seq"] for line in lines] == [7, 10]
    assert printed.out.splitlines() == lines[-1:]
    status, said = verified(capsys, "--anchors", str(anchors))
    assert status == 0
    assert "Last anchor that fits: row 10." in said
    anchors.write_text("\n".join(lines).replace('"seq":7', '"seq":8'), encoding="utf-8")
    status, said = verified(capsys, "--anchors", str(anchors))
    assert status == 1
    assert said.startswith("First bad row: 8, anchor mismatch")
    assert "signature bad" in said


def test_what_cannot_be_read(
    small_here: SmallService, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: Capture
) -> None:
    (tmp_path / "odd").write_text("no anchor\n", encoding="utf-8")
    for more in (["--anchors", str(tmp_path / "odd")], ["--anchors", str(tmp_path / "none")],
                 ["--from", "99"], ["--from", "2", "--records"]):  # fmt: skip
        status, said = verified(capsys, *more)
        assert (status, said.startswith("Cannot be read: ")) == (2, True), more
    (tmp_path / "broken.db").write_bytes(b"no database" * 1000)
    for name in ("nowhere.db", "broken.db"):
        monkeypatch.setenv("QUIZAPP_DATABASE", f"sqlite:///{tmp_path / name}")
        status, said = verified(capsys, "--json")
        assert status == 2
        assert json.loads(said)["cannot_read"]
    assert not (tmp_path / "nowhere.db").exists()


def test_checking_changes_nothing(
    small_sqlite: SmallService, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: Capture
) -> None:
    commanded(small_sqlite, tmp_path, monkeypatch)
    act_times(small_sqlite, 3)
    small_sqlite.database.close()
    before = file_of(small_sqlite).read_bytes()
    assert verified(capsys, "--records")[0] == 1
    assert file_of(small_sqlite).read_bytes() == before


def test_an_export_is_checked_alone(small_here: SmallService, tmp_path: Path, capsys: Capture) -> None:
    export = tmp_path / "trail.jsonl"
    assert main(["audit", "export", str(export)]) == 0
    assert "8 rows written" in capsys.readouterr().out
    assert check_alone([str(export)]) == 0
    assert (tmp_path / "check_audit.py").is_file()
    assert export.stat().st_mode & 0o777 == 0o600
    assert main(["audit", "export", str(export)]) == 1
    assert "is there already" in capsys.readouterr().err
    assert main(["audit", "export", str(tmp_path / "no" / "trail")]) == 1


def test_a_persons_acts_are_told_and_the_look_is_an_act(small_here: SmallService, capsys: Capture) -> None:
    assert main(["audit", "show", "--person", "T-mira"]) == 0
    printed = capsys.readouterr()
    assert len(printed.out.splitlines()) == 6
    assert "Ada changed the entry of Mira: profession." in printed.out
    assert main(["audit", "show", "--person", "T-mira"]) == 0
    assert "The service itself looked at the record of Mira." in capsys.readouterr().out
    assert main(["audit", "show", "--person", "nobody"]) == 1
    assert "Nobody has the staff number" in capsys.readouterr().err


@pytest.mark.parametrize("words", [["--from", "0"], ["--from", "x"], ["--from", "1" * 20]])
def test_odd_row_numbers_are_not_understood(words: list[str], capsys: Capture) -> None:
    with pytest.raises(SystemExit) as caught:
        main(["audit", "verify", *words])
    assert caught.value.code == 2
    assert "no row number" in capsys.readouterr().err


def test_one_signature_is_verified_by_its_receipt(small_here: SmallService, library: Library, capsys: Capture) -> None:
    with_standard(small_here, library)
    show(small_here, "C5")
    decide(small_here, library, competencies=("C5",))
    with small_here.database.reading() as session:
        receipt = session.scalars(select(Signature.signature_hash)).one()[:16]
    status, said = verified(capsys, "--receipt", receipt)
    assert status == 0
    assert said.startswith("Ines, T-ines, as educator: decides, 2026-03-02T09:00:00+00:00 (Europe/London).")
    assert said.count("fits: ") == 4
    tamper(small_here, "UPDATE record_seal SET salt = '' WHERE record_table = 'decision'")
    status, said = verified(capsys, "--receipt", receipt)
    assert status == 1
    assert "DOES NOT FIT: the audit trail" in said
    assert verified(capsys, "--receipt", "0" * 16)[0] == 2
