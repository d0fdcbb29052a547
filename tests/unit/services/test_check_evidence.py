"""The script that goes with evidence: run alone by plain Python it says what is intact, and finds every change."""

from __future__ import annotations

import json
import random
import subprocess
import sys
from pathlib import Path

import pytest

from quizapp.services import check_evidence
from quizapp.services.check_evidence import SIGNATURE_FILE, SIGNED, faults_of
from quizapp.services.take_away_signature import public_key, signature_file

SECRET = "a secret only for these tests " * 2


@pytest.fixture
def files() -> dict[str, bytes]:
    made = {name: f"what stands in {name}\n".encode() for name in SIGNED}
    made["check_evidence.py"] = Path(check_evidence.__file__).read_bytes()
    said = {"service": "Thornmere Isles Rescue", "code": "K7F2-9QXM-3HTD"}
    return {**made, SIGNATURE_FILE: signature_file(SECRET, made, said=said)}


def run(folder: Path, files: dict[str, bytes]) -> tuple[int, str]:
    for name, content in files.items():
        (folder / name).write_bytes(content)
    done = subprocess.run(
        [sys.executable, "-I", "-S", "check_evidence.py"], cwd=folder, capture_output=True, text=True, check=False
    )
    assert done.stderr == ""
    return done.returncode, done.stdout


def test_alone_it_says_that_all_is_intact(tmp_path: Path, files: dict[str, bytes]) -> None:
    status, said = run(tmp_path, files)
    assert status == 0
    assert f"signature fits the key {public_key(SECRET)[:16]}" in said
    assert "enter the code K7F2-9QXM-3HTD" in said


@pytest.mark.parametrize("name", [name for name in SIGNED if name != "check_evidence.py"])
def test_each_changed_file_is_named(tmp_path: Path, files: dict[str, bytes], name: str) -> None:
    status, said = run(tmp_path, {**files, name: files[name] + b" "})
    assert status == 1
    assert f"{name} was changed." in said


def test_missing_and_foreign_files_are_named(files: dict[str, bytes]) -> None:
    without = {name: content for name, content in files.items() if name != "evidence.html"}
    assert faults_of(without) == ["evidence.html is missing."]
    assert faults_of({**files, "extra.txt": b""}) == ["extra.txt was not part of it."]
    assert "cannot be read" in faults_of({**files, SIGNATURE_FILE: b"{"})[0]


def test_any_changed_byte_anywhere_is_found(files: dict[str, bytes]) -> None:
    chance = random.Random(1)
    for _ in range(300):
        name = chance.choice(list(files))
        changed = bytearray(files[name])
        changed[chance.randrange(len(changed))] ^= 1 << chance.randrange(8)
        assert faults_of({**files, name: bytes(changed)}), name


def test_hashes_written_anew_without_the_key_do_not_fit(files: dict[str, bytes]) -> None:
    seal = json.loads(files[SIGNATURE_FILE])
    forged = {**files, "evidence.json": b"{}"}
    other = signature_file("another secret " * 4, {name: forged[name] for name in SIGNED}, said={})
    seal["signed"]["files"] = json.loads(other)["signed"]["files"]
    assert faults_of({**forged, SIGNATURE_FILE: json.dumps(seal).encode()}) == [
        "signature.json: the signature does not fit; what it says was changed."
    ]


def test_a_folder_that_is_not_there(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert check_evidence.main([str(tmp_path / "nowhere")]) == 2
    assert "Cannot be read" in capsys.readouterr().out
