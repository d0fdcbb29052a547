"""What formulas and texts may say about a device: the fields of its profile as exact numbers, truths and words."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields
from decimal import Decimal
from enum import StrEnum
from functools import lru_cache
from types import MappingProxyType
from typing import Any, get_type_hints

from quizapp.assessment.families import Family
from quizapp.assessment.formula import FormulaFault, Held, Value
from quizapp.assessment.placeholders import print_exact
from quizapp.ventilation.device_profile import DeviceProfile

KEPT = 64
"""The same few devices are asked about again and again; what is said about them does not change."""

_HINTS: dict[str, Any] = get_type_hints(DeviceProfile)


def _kinds(name: str) -> tuple[list[str], list[str]]:
    hint = _HINTS[name]
    if hint is bool:
        return [], [name]
    if isinstance(hint, type) and issubclass(hint, StrEnum):
        return [], [f"{name}_is_{member.value}" for member in hint]
    return ([name], []) if hint in (int, float, float | None) else ([], [])


PROFILE_NUMBERS: frozenset[str] = frozenset(number for name in _HINTS for number in _kinds(name)[0])
PROFILE_TRUTHS: frozenset[str] = frozenset(truth for name in _HINTS for truth in _kinds(name)[1])
PROFILE_WORDS: frozenset[str] = PROFILE_NUMBERS | {"code", "name", "label", "driving_gas"}


@lru_cache(maxsize=KEPT)
def profile_values(profile: DeviceProfile, prefix: str = "profile") -> Mapping[str, Value]:
    """Return the profile's numbers and truths under names such as profile.relief_cmh2o.

    Fields without a value are left out. A field with a fixed set of values gives one truth per value, such as
    profile.baseline_law_is_ratio.
    """
    values: dict[str, Value] = {}
    for field in fields(profile):
        value, hint = getattr(profile, field.name), _HINTS[field.name]
        name = f"{prefix}.{field.name}"
        if isinstance(value, StrEnum):
            values |= {f"{name}_is_{member.value}": value is member for member in hint}
        elif isinstance(value, bool):
            values[name] = value
        elif isinstance(value, int | float):
            values[name] = Decimal(repr(value)).normalize()
    return MappingProxyType(values)


@lru_cache(maxsize=KEPT)
def known_values(profile: DeviceProfile, other: DeviceProfile | None) -> Mapping[str, Held]:
    """Return all that formulas know before anything is drawn: the device, its values, and those of another device."""
    borrowed = profile_values(other, "other_profile") if other else {}
    return MappingProxyType({"profile": profile, **profile_values(profile), **borrowed})


@lru_cache(maxsize=KEPT)
def profile_words(profile: DeviceProfile) -> Mapping[str, str]:
    """Return what texts may print about the profile, such as {profile.label} or {profile.relief_cmh2o}."""
    numbers = profile_values(profile)
    words = {name: print_exact(value) for name, value in numbers.items() if isinstance(value, Decimal)}
    for name in ("code", "name", "label", "driving_gas"):
        words[f"profile.{name}"] = str(getattr(profile, name))
    return MappingProxyType(words)


def suits(family: Family, profile: DeviceProfile) -> bool:
    """Return whether the family can be asked about this device (its `requires` holds)."""
    if family.requires is None:
        return True
    try:
        return family.requires.truth(profile_values(profile))
    except FormulaFault:
        return False


def other_profile_for(
    family: Family, profile: DeviceProfile, profiles: tuple[DeviceProfile, ...]
) -> DeviceProfile | None:
    """Return the first other profile whose borrowed fields exist and differ; None leaves such ideas out."""
    if not family.other_profile_fields:
        return None
    own = profile_values(profile)
    for other in sorted(profiles, key=lambda known: (known.code, known.revision)):
        values = profile_values(other)
        names = [f"profile.{field}" for field in family.other_profile_fields]
        if other != profile and all(name in values and values[name] != own.get(name) for name in names):
            return other
    return None
