"""Reads question_bank/device_profiles: one file per revision of a device, named code-revision.toml."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path

from quizapp.content.front_matter import Document, parse_toml_file, suggest
from quizapp.errors import ContentFault
from quizapp.ventilation.device_profile import DeviceProfile, from_mapping
from quizapp.ventilation.profile_checks import ProfileError

FOLDER = "question_bank/device_profiles"


@dataclass(frozen=True, kw_only=True)
class ProfileFile:
    """A device profile with the hash and path of the file it came from."""

    profile: DeviceProfile
    content_hash: str
    path: str


def read_profiles(folder: Path) -> tuple[dict[str, ProfileFile], list[ContentFault]]:
    """Return the profiles by slug, such as tv-a-1, and every fault of every file."""
    profiles: dict[str, ProfileFile] = {}
    faults: list[ContentFault] = []
    for path in sorted((folder / FOLDER).glob("*.toml")):
        document = parse_toml_file(folder, path)
        profile, found = _read_one(document)
        faults += found
        if profile is None:
            continue
        if path.stem != profile.slug:
            faults.append(document.fault(f"the file is named {path.name}; it must be {profile.slug}.toml", "code"))
        profiles[profile.slug] = ProfileFile(profile=profile, content_hash=document.content_hash, path=document.path)
    if not profiles and not faults:
        faults.append(
            ContentFault(path=FOLDER, line=0, message="holds no device profile; add one, such as tv-a-1.toml")
        )
    return profiles, faults


def _read_one(document: Document) -> tuple[DeviceProfile | None, list[ContentFault]]:
    if document.faults:
        return None, list(document.faults)
    try:
        return from_mapping(_plain(document.header)), []
    except ProfileError as error:
        known = list(DeviceProfile.__dataclass_fields__)
        return None, [
            document.fault(
                f"{fault.field}: {fault.message}" + ("" if fault.field in known else suggest(fault.field, known)),
                fault.field,
            )
            for fault in error.faults
        ]


def _plain(header: Mapping[str, object]) -> dict[str, object]:
    return {name: float(value) if isinstance(value, Decimal) else value for name, value in header.items()}
