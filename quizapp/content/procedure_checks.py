"""What has to hold between the fields of a checklist file; each check returns faults with the line they stand on."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import fields
from pathlib import PurePosixPath

from quizapp.assessment.partial_order import (
    Pair,
    UncountableOrderError,
    count_valid_orders,
    cycle_in_words,
    find_cycle,
    partial_order,
    redundant_pairs,
)
from quizapp.assessment.procedures import LimitBasis, ProfileCondition
from quizapp.content.front_matter import Document, suggest
from quizapp.content.procedure_header import LimitHeader, ProcedureHeader
from quizapp.errors import ContentFault
from quizapp.ventilation.device_profile import DeviceProfile

MARKS = ("CP", "MODEL", "ARITH", "from memory")
"""Written among the sources where there is none to look up: common practice, our model, arithmetic, recalled."""

_PROFILE_FIELDS = frozenset(field.name for field in fields(DeviceProfile))


def letter_faults(document: Document, header: ProcedureHeader) -> list[ContentFault]:
    """Letters used twice, letters that name no step, pairs stated twice or of a step with itself."""
    faults = _used_twice(document, "steps", [step.letter for step in header.steps], "letter")
    letters = {step.letter for step in header.steps}
    for name, index, field, letter in _letters_named(header):
        if letter not in letters:
            message = f"{letter} is not the letter of a step here (the steps are {', '.join(sorted(letters))})"
            faults.append(document.fault(message, name, index, field))
    seen: set[Pair] = set()
    for index, pair in enumerate(header.pairs):
        if pair.first == pair.then:
            faults.append(document.fault(f"{pair.first} cannot come before itself", "pairs", index, "then"))
        if (pair.first, pair.then) in seen:
            faults.append(document.fault(f"{pair.first} before {pair.then} is stated twice; keep one", "pairs", index))
        seen.add((pair.first, pair.then))
    return faults


def rest_faults(
    document: Document,
    header: ProcedureHeader,
    known_competencies: Collection[str] | None,
    known_sources: Collection[str] | None,
    known_profiles: Collection[DeviceProfile] | None = None,
) -> list[ContentFault]:
    """The file's name, codes of competencies and sources, steps that hang on a device, time limits, variants."""
    faults = []
    if not PurePosixPath(document.path).name.startswith(f"{header.code.lower()}-"):
        faults.append(document.fault(f"the file's name has to start with {header.code.lower()}-", "code"))
    faults += _unknown(document, "competencies", header.competencies, known_competencies)
    faults += _unknown(document, "sources", [name for name in header.sources if name not in MARKS], known_sources)
    faults += _device_faults(document, header, known_profiles)
    faults += _used_twice(document, "limits", [limit.key for limit in header.limits], "key")
    for index, limit in enumerate(header.limits):
        faults += _limit_faults(document, limit, index)
    return [*faults, *_variant_faults(document, header)]


def _device_faults(
    document: Document, header: ProcedureHeader, known_profiles: Collection[DeviceProfile] | None
) -> list[ContentFault]:
    """Steps for a field no profile has, and steps nobody can ever reach because no device is like that."""
    faults = []
    for index, step in enumerate(header.steps):
        if step.only_with is None:
            continue
        field, value = step.only_with.field, step.only_with.value
        condition = ProfileCondition(field=field, value=value)
        if field not in _PROFILE_FIELDS:
            message = f'a device profile has no field "{field}"{suggest(field, _PROFILE_FIELDS)}'
            faults.append(document.fault(message, "steps", index, "only_with"))
        elif known_profiles and not any(condition.holds_for(profile) for profile in known_profiles):
            message = (
                f'step {step.letter} is out of reach: no device profile of this folder says "{value}" in {field}; '
                "change only_with, or add the profile"
            )
            faults.append(document.fault(message, "steps", index, "only_with"))
    return faults


def order_faults(document: Document, header: ProcedureHeader) -> list[ContentFault]:
    """A circle in the pairs, pairs that follow from others (a warning), critical pairs that do not hold, counts."""
    letters = [step.letter for step in header.steps]
    pairs = [(pair.first, pair.then) for pair in header.pairs]
    cycle = find_cycle(letters, pairs)
    if cycle:
        return [document.fault(cycle_in_words(cycle), "pairs", pairs.index((cycle[-1], cycle[0])))]
    order = partial_order(letters, pairs)
    faults = [
        document.fault(
            f"{first} before {then} does not follow from the pairs, so it cannot be critical; add the pair",
            "critical_pairs",
        )
        for first, then in header.critical_pairs
        if (first, then) not in order.closure
    ]
    return [*faults, *_redundancy_warnings(document, header), *_count_faults(document, header)]


def _redundancy_warnings(document: Document, header: ProcedureHeader) -> list[ContentFault]:
    letters = [step.letter for step in header.steps]
    pairs = [(pair.first, pair.then) for pair in header.pairs]
    sometimes = [step.letter for step in header.steps if step.only_with]
    redundant = redundant_pairs(partial_order(letters, pairs), not_everywhere=sometimes)
    warnings = []
    for index, pair in enumerate(header.pairs):
        chain = redundant.get((pair.first, pair.then))
        if chain and not pair.restated:
            message = (
                f"{pair.first} before {pair.then} follows from {' before '.join(chain)}; "
                "leave it out, or write restated = true where its own reason should be told"
            )
            warnings.append(document.fault(message, "pairs", index, level="warning"))
        if pair.restated and not chain:
            message = f"{pair.first} before {pair.then} follows from no other pairs; leave restated out"
            warnings.append(document.fault(message, "pairs", index, "restated", level="warning"))
    return warnings


def _count_faults(document: Document, header: ProcedureHeader) -> list[ContentFault]:
    every = [step.letter for step in header.steps]
    always = [step.letter for step in header.steps if not step.only_with]
    pairs = {(pair.first, pair.then) for pair in header.pairs}
    stated_everywhere = header.valid_orders_on_every_device
    faults = _count_fault(document, always, pairs, header.valid_orders, ("valid_orders",))
    if (always != every) is not (stated_everywhere is not None):
        message = "valid_orders_on_every_device is needed exactly where a step has only_with; it counts with that step"
        faults.append(document.fault(message, "valid_orders_on_every_device"))
    elif stated_everywhere is not None:
        faults += _count_fault(document, every, pairs, stated_everywhere, ("valid_orders_on_every_device",))
    for index, variant in enumerate(header.variants):
        kept = pairs - {(first, then) for first, then in variant.drops}
        faults += _count_fault(document, always, kept, variant.valid_orders, ("variants", index, "valid_orders"))
    return faults


def _count_fault(
    document: Document, letters: Collection[str], pairs: Iterable[Pair], stated: int, place: tuple[str | int, ...]
) -> list[ContentFault]:
    present = tuple(letters)
    order = partial_order(present, (pair for pair in pairs if set(pair) <= set(present)))
    try:
        counted = count_valid_orders(order)
    except UncountableOrderError as error:
        return [document.fault(str(error), *place)]
    if counted == stated:
        return []
    message = f"{stated} valid orders are stated, but these steps and pairs have {counted}; check the pairs, then it"
    return [document.fault(message, *place)]


def _letters_named(header: ProcedureHeader) -> Iterable[tuple[str, int, str, str]]:
    for index, pair in enumerate(header.pairs):
        yield "pairs", index, "first", pair.first
        yield "pairs", index, "then", pair.then
    for index, letters in enumerate(header.critical_pairs):
        yield from (("critical_pairs", index, "", letter) for letter in letters)
    for index, limit in enumerate(header.limits):
        yield from (("limits", index, "from_steps", letter) for letter in limit.from_steps)
        yield from (("limits", index, "to_steps", letter) for letter in limit.to_steps)
    for index, variant in enumerate(header.variants):
        yield from (("variants", index, "drops", letter) for pair in variant.drops for letter in pair)


def _used_twice(document: Document, name: str, values: list[str], field: str) -> list[ContentFault]:
    return [
        document.fault(f"{field} {value} is used twice; give each of the {name} its own", name, index, field)
        for index, value in enumerate(values)
        if value in values[:index]
    ]


def _unknown(
    document: Document, name: str, values: Collection[str], known: Collection[str] | None
) -> list[ContentFault]:
    return [
        document.fault(f"{value} is not among the {name} this content folder lists{suggest(value, known)}", name)
        for value in values
        if known is not None and value not in known
    ]


def _limit_faults(document: Document, limit: LimitHeader, index: int) -> list[ContentFault]:
    faults = []
    if limit.basis not in set(LimitBasis):
        message = f'basis is "{limit.basis}"; write one of {", ".join(LimitBasis)}'
        faults.append(document.fault(message, "limits", index, "basis"))
    if limit.at_most_s is None and limit.at_least_s is None:
        faults.append(document.fault("a time limit needs at_most_s or at_least_s, in seconds", "limits", index))
    elif limit.at_most_s is not None and limit.at_least_s is not None and limit.at_least_s > limit.at_most_s:
        faults.append(document.fault("at_least_s is larger than at_most_s", "limits", index, "at_least_s"))
    recorded = bool(limit.recorded_by.strip()) and limit.recorded_on is not None
    if limit.basis == LimitBasis.STANDARD and not recorded:
        message = "a standard decides, so say who recorded it and when: recorded_by, recorded_on"
        faults.append(document.fault(message, "limits", index, "basis"))
    if limit.basis == LimitBasis.TEACHING_TARGET and (limit.recorded_by or limit.recorded_on):
        message = 'recorded_by and recorded_on belong to basis = "standard" only'
        faults.append(document.fault(message, "limits", index, "recorded_by"))
    return faults


def _variant_faults(document: Document, header: ProcedureHeader) -> list[ContentFault]:
    faults = _used_twice(document, "variants", [variant.name for variant in header.variants], "name")
    pairs = {(pair.first, pair.then) for pair in header.pairs}
    if header.variants and sum(variant.shipped for variant in header.variants) != 1:
        faults.append(document.fault("exactly one variant has to be shipped = true", "variants"))
    for index, variant in enumerate(header.variants):
        if variant.shipped is bool(variant.drops):
            message = "the shipped variant drops no pair, every other one drops some"
            faults.append(document.fault(message, "variants", index))
        faults += [
            document.fault(f"{first} before {then} is not a stated pair, so it cannot be dropped", "variants", index)
            for first, then in variant.drops
            if (first, then) not in pairs
        ]
    return faults
