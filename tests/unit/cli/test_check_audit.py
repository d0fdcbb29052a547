"""The stand-alone checker against changed exports: every one is found, no whole one is blamed."""

from __future__ import annotations

import ast
import random
import subprocess
import sys
from pathlib import Path

import pytest

from quizapp.cli import check_audit
from quizapp.cli.check_audit import Fault, check, main
from tests.exported_trail import bodies, changed, file_of, rows_of

WRITTEN = bodies(24)
WHOLE = file_of(rows_of(WRITTEN))
ANCHOR_ROW = 24
ANCHORS = {ANCHOR_ROW: {str(rows_of(WRITTEN)[-1]["hash"])}}
TURNS = 500


def kind_of(export: bytes, anchors: dict[int, set[str]] | None = None) -> str:
    try:
        check(export, anchors or {})
    except Fault as fault:
        return str(fault.args[0])
    return "whole"


def test_ten_thousand_random_single_byte_edits_are_all_found() -> None:
    chance = random.Random(20260302)
    unseen = []
    for _turn in range(10_000):
        export = bytearray(WHOLE)
        place, change = chance.randrange(len(export)), chance.randrange(1, 256)
        export[place] ^= change
        if kind_of(bytes(export)) == "whole":
            unseen.append((place, change))
    assert unseen == []


@pytest.mark.parametrize(
    ("kind", "names"),
    [
        ("delete", {"gap"}),
        ("reorder", {"order"}),
        ("exchange", {"edit"}),
        ("duplicate", {"duplicate"}),
    ],
)
def test_structural_edits_are_found_without_an_anchor(kind: str, names: set[str]) -> None:
    chance = random.Random(4)
    assert {kind_of(file_of(changed(kind, WRITTEN, chance))) for _turn in range(TURNS)} == names


@pytest.mark.parametrize(("kind", "name"), [("cut", "truncated"), ("rewrite", "anchor mismatch")])
def test_only_an_anchor_finds_a_cut_or_rewritten_trail(kind: str, name: str) -> None:
    chance = random.Random(5)
    exports = [file_of(changed(kind, WRITTEN, chance)) for _turn in range(TURNS)]
    assert {kind_of(export) for export in exports} == {"whole"}
    assert {kind_of(export, ANCHORS) for export in exports} == {name}


def test_whole_trails_of_every_length_are_not_blamed() -> None:
    for length in range(200):
        written = bodies(length)
        anchors = {length: {str(rows_of(written)[-1]["hash"])}} if length else {}
        assert check(file_of(rows_of(written)), anchors)[0] == length


def test_a_trail_without_its_last_line_is_cut_off() -> None:
    lines = WHOLE.splitlines(keepends=True)
    assert kind_of(b"".join(lines[:-1])) == "truncated"
    assert kind_of(WHOLE[:-1]) == "truncated"
    assert kind_of(b"") == "truncated"


@pytest.mark.parametrize("change", [(b'","hash"', b'", "hash"'), (b'{"body"', b'{"seq":1,"body"'), (b"}\n", b"}\r\n")])
def test_a_line_written_in_another_way_is_an_edit(change: tuple[bytes, bytes]) -> None:
    assert kind_of(WHOLE.replace(*change, 1)) == "edit"


def test_it_runs_alone_with_its_three_outcomes(tmp_path: Path) -> None:
    export, broken = tmp_path / "trail.jsonl", tmp_path / "broken.jsonl"
    export.write_bytes(WHOLE)
    broken.write_bytes(WHOLE.replace(b"answer_saved", b"answer_lost!", 1))
    outcomes = {}
    for path in (export, broken, tmp_path / "nowhere"):
        command = [sys.executable, "-I", "-S", str(check_audit.__file__), str(path)]
        done = subprocess.run(command, capture_output=True, text=True, check=False, cwd=tmp_path)
        outcomes[path.name] = (done.returncode, done.stdout)
        assert done.stderr == ""
    assert outcomes["trail.jsonl"][0] == 0
    assert "24 rows" in outcomes["trail.jsonl"][1]
    assert outcomes["broken.jsonl"] == (
        1,
        "First bad row: 1, edit. In that place: its hash does not fit what it says.\n",
    )
    assert outcomes["nowhere"][0] == 2


def test_it_imports_nothing_but_the_standard_library() -> None:
    tree = ast.parse(Path(check_audit.__file__).read_text(encoding="utf-8"))
    imported = {name.name for node in ast.walk(tree) if isinstance(node, ast.Import) for name in node.names}
    imported |= {str(node.module) for node in ast.walk(tree) if isinstance(node, ast.ImportFrom)}
    assert {name.partition(".")[0] for name in imported} <= sys.stdlib_module_names


def test_odd_arguments_and_anchors_cannot_be_read(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    export, anchors = tmp_path / "trail.jsonl", tmp_path / "anchors"
    export.write_bytes(WHOLE)
    for text in ("[1]\n", "{}\n", "no json\n"):
        anchors.write_text(text, encoding="utf-8")
        assert main([str(export), "--anchors", str(anchors)]) == 2
    assert main([]) == 2
    assert main([str(export), "--anchor", str(anchors)]) == 2
    capsys.readouterr()
