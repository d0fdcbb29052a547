"""Style, layout and types, checked by ruff and mypy with the settings in pyproject.toml."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

COMMANDS = {
    "style": ["ruff", "check", "."],
    "layout": ["ruff", "format", "--check", "."],
    "types": ["mypy"],
    "types of the set-up script": ["mypy", "--strict", "dev.py"],
}


def run(checkout: Path, command: list[str]) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", *command], cwd=checkout, capture_output=True, text=True, check=False, timeout=600
    )


@pytest.mark.parametrize("name", COMMANDS)
def test_is_clean(checkout: Path, name: str) -> None:
    done = run(checkout, COMMANDS[name])
    assert done.returncode == 0, done.stdout + done.stderr


@pytest.mark.parametrize(
    ("command", "source"),
    [
        (["ruff", "check", "--no-cache"], "import os\n"),
        (["ruff", "format", "--check"], "x = {  1 }\n"),
        (["mypy", "--strict"], "def untyped(x):\n    return x\n"),
    ],
)
def test_each_check_sees_a_fault(checkout: Path, tmp_path: Path, command: list[str], source: str) -> None:
    faulty = tmp_path / "faulty.py"
    faulty.write_text(source)
    done = run(checkout, [*command, str(faulty)])
    assert done.returncode == 1, done.stdout + done.stderr
