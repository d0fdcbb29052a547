"""What others wrote and we carry: every such file is listed with version, licence and hash, and none is changed."""

from __future__ import annotations

import hashlib
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
LISTS = (ROOT / "quizapp/web/static/vendored.toml", ROOT / "tests/browser/vendor/vendored.toml")
FIELDS = {"path", "name", "version", "licence", "source", "sha256"}
# Where files of others may stand; everything in there must be on the list beside it.
FOLDERS = {LISTS[0]: ("css/vendor", "fonts"), LISTS[1]: (".",)}


def entries(listing: Path) -> list[dict[str, str]]:
    """The files of one list."""
    found: list[dict[str, str]] = tomllib.loads(listing.read_text(encoding="utf-8"))["file"]
    return found


def wrong_hashes(listing: Path) -> list[str]:
    """Listed files whose content is not what was listed."""
    return [
        entry["path"]
        for entry in entries(listing)
        if hashlib.sha256((listing.parent / entry["path"]).read_bytes()).hexdigest() != entry["sha256"]
    ]


@pytest.mark.parametrize("listing", LISTS, ids=lambda path: str(path.relative_to(ROOT)))
def test_every_listed_file_is_unchanged(listing: Path) -> None:
    assert wrong_hashes(listing) == []


@pytest.mark.parametrize("listing", LISTS, ids=lambda path: str(path.relative_to(ROOT)))
def test_every_entry_is_complete(listing: Path) -> None:
    assert [entry["path"] for entry in entries(listing) if set(entry) != FIELDS or not all(entry.values())] == []


@pytest.mark.parametrize("listing", LISTS, ids=lambda path: str(path.relative_to(ROOT)))
def test_no_file_of_others_is_missing_from_the_list(listing: Path) -> None:
    there = {
        path.relative_to(listing.parent).as_posix()
        for folder in FOLDERS[listing]
        for path in (listing.parent / folder).rglob("*")
        if path.is_file() and path != listing
    }
    assert there == {entry["path"] for entry in entries(listing)}


def test_a_changed_file_is_seen(tmp_path: Path) -> None:
    (tmp_path / "a.css").write_text("p{}")
    listing = tmp_path / "vendored.toml"
    listing.write_text(f'[[file]]\npath = "a.css"\nsha256 = "{hashlib.sha256(b"q{}").hexdigest()}"\n')
    assert wrong_hashes(listing) == ["a.css"]
