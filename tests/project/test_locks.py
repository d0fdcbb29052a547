"""The lock files: every dependency pinned with hashes, no addresses, and the tests run what the service runs."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest

PIN = re.compile(r"^(?P<name>[a-z0-9][a-z0-9.-]*)(?:\[[\w,-]+\])?==(?P<version>\S+)", re.MULTILINE)
LOCKS = ["runtime", "server", "test"]


def lock_text(checkout: Path, name: str) -> str:
    return (checkout / "requirements" / f"{name}.lock").read_text()


def pins(text: str) -> dict[str, str]:
    return {found["name"]: found["version"] for found in PIN.finditer(text)}


def pins_without_hash(text: str) -> list[str]:
    entries = re.split(r"\n(?=[a-z0-9])", text)
    return [entry.split()[0] for entry in entries if PIN.match(entry) and "--hash=sha256:" not in entry]


@pytest.mark.parametrize("name", LOCKS)
def test_every_pin_has_hashes_and_no_address(checkout: Path, name: str) -> None:
    text = lock_text(checkout, name)
    assert len(pins(text)) > 10
    assert pins_without_hash(text) == []
    assert "://" not in text
    assert "index-url" not in text


@pytest.mark.parametrize("name", ["server", "test"])
def test_the_same_versions_run_in_service_and_in_tests(checkout: Path, name: str) -> None:
    runtime = pins(lock_text(checkout, "runtime"))
    assert runtime.items() <= pins(lock_text(checkout, name)).items()


def test_each_declared_dependency_is_locked(checkout: Path) -> None:
    project = tomllib.loads((checkout / "pyproject.toml").read_text())["project"]
    declared = {re.split(r"[\[><=~! ]", line)[0] for line in project["dependencies"]}
    assert declared <= pins(lock_text(checkout, "runtime")).keys()
    extras = {re.split(r"[\[><=~! ]", line)[0] for lines in project["optional-dependencies"].values() for line in lines}
    assert extras <= pins(lock_text(checkout, "server")).keys()


def test_the_check_sees_a_pin_without_a_hash() -> None:
    assert pins_without_hash("one==1.0 \\\n    --hash=sha256:00\ntwo==2.0\n    # via one\n") == ["two==2.0"]
