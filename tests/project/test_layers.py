"""An arrow is "may import" and nothing points up: the contracts in pyproject.toml, run by import-linter."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

CONTRACT = """
[importlinter]
root_package = house
include_external_packages = True

[importlinter:contract:layers]
name = nothing points up
type = layers
layers =
    house.upper
    house.lower
"""


def lint_imports(folder: Path, *arguments: str) -> subprocess.CompletedProcess[str]:
    program = Path(sys.executable).with_name("lint-imports")
    return subprocess.run(
        [program, "--no-cache", *arguments], cwd=folder, capture_output=True, text=True, check=False, timeout=120
    )


def test_imports_keep_to_the_layers(checkout: Path) -> None:
    done = lint_imports(checkout)
    assert done.returncode == 0, done.stdout + done.stderr


def test_the_check_sees_an_import_that_points_up(tmp_path: Path) -> None:
    house = tmp_path / "house"
    house.mkdir()
    (house / "__init__.py").write_text("")
    (house / "upper.py").write_text("")
    (house / "lower.py").write_text("import house.upper\n")
    (tmp_path / "contract.ini").write_text(CONTRACT)
    done = lint_imports(tmp_path, "--config", "contract.ini")
    assert done.returncode == 1
    assert "house.lower -> house.upper" in done.stdout
