"""Packs the files of a take-away into one archive, and reads such an archive back without trusting it."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Mapping

from quizapp.errors import BadInput

LARGEST_FILE = 2_000_000
MOST_FILES = 20
FIRST_DAY = (1980, 1, 1, 0, 0, 0)
NOT_OURS = (
    "This file cannot be read as evidence that was taken away. Nothing was looked up. Send the whole archive, or the "
    "file evidence.json from it."
)


def archive_of(files: Mapping[str, bytes], *, folder: str = "evidence") -> bytes:
    """Return the archive of the files, in one folder; the same files give the same bytes."""
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in files.items():
            archive.writestr(zipfile.ZipInfo(f"{folder}/{name}", FIRST_DAY), content, zipfile.ZIP_DEFLATED)
    return made.getvalue()


def files_in(content: bytes) -> dict[str, bytes]:
    """Return the files of an archive by name, or evidence.json alone; raises BadInput (field "file") for all else.

    No more is unpacked than such an archive can hold, whatever it says of itself.
    """
    if not content.startswith(b"PK"):
        return {"evidence.json": _single(content)}
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as archive:
            places = {name.rpartition("/")[2]: name for name in archive.namelist() if not name.endswith("/")}
            if not len(places) == sum(not name.endswith("/") for name in archive.namelist()) <= MOST_FILES:
                raise BadInput(NOT_OURS, field="file")
            files = {name: _unpacked(archive, place) for name, place in places.items()}
    except (zipfile.BadZipFile, EOFError, OSError, RuntimeError, NotImplementedError, ValueError):
        raise BadInput(NOT_OURS, field="file") from None
    if "evidence.json" not in files:
        raise BadInput(NOT_OURS, field="file")
    return files


def _single(content: bytes) -> bytes:
    if not content.lstrip().startswith(b"{") or len(content) > LARGEST_FILE:
        raise BadInput(NOT_OURS, field="file")
    return content


def _unpacked(archive: zipfile.ZipFile, name: str) -> bytes:
    with archive.open(name) as file:
        content = file.read(LARGEST_FILE + 1)
    if len(content) > LARGEST_FILE:
        raise BadInput(NOT_OURS, field="file")
    return content
