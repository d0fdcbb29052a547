"""A procedure as the trade checks it: steps, the few pairs whose order is real, critical marks, time limits.

Immutable and complete, so that an observation can keep the very list it was made with.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, replace
from datetime import date
from enum import StrEnum
from functools import cached_property

from quizapp.assessment.partial_order import Pair, PartialOrder, partial_order
from quizapp.ventilation.device_profile import DeviceProfile

SUGGESTED_CUT_FRACTION = 0.80
"""Share of the non-critical steps to be shown; ours, for a clinical lead to accept or change."""


class LimitBasis(StrEnum):
    """What a time limit rests on; only a recorded local standard may decide."""

    STANDARD = "standard"
    TEACHING_TARGET = "teaching target"


@dataclass(frozen=True, kw_only=True)
class ProfileCondition:
    """A step that exists only on devices whose profile says this in this field, alone or in a list."""

    field: str
    value: str

    def holds_for(self, profile: DeviceProfile) -> bool:
        """Whether the device profile says so."""
        said = getattr(profile, self.field)
        return self.value in said if isinstance(said, tuple) else self.value == str(said)


@dataclass(frozen=True, kw_only=True)
class Step:
    """One step; `conditional` steps exist only when the scenario card presents them ("if called for")."""

    letter: str
    text: str
    critical: bool = False
    conditional: bool = False
    weight: float = 1.0
    only_with: ProfileCondition | None = None


@dataclass(frozen=True, kw_only=True)
class BeforePair:
    """One real dependency: `first` must be done before `then`, and `why` says so in one clause."""

    first: str
    then: str
    why: str
    weight: float = 1.0
    restated: bool = False

    @property
    def letters(self) -> Pair:
        """The two letters, first one first."""
        return self.first, self.then


@dataclass(frozen=True, kw_only=True)
class TimeLimit:
    """A limit on the time from the earliest of some steps (none: from the start) to the latest of others."""

    key: str
    text: str
    from_steps: tuple[str, ...]
    to_steps: tuple[str, ...]
    basis: LimitBasis
    source: str
    at_most_s: float | None = None
    at_least_s: float | None = None
    recorded_by: str = ""
    recorded_on: date | None = None


@dataclass(frozen=True, kw_only=True)
class Variant:
    """One local style of the procedure; it drops some pairs of the list as shipped."""

    name: str
    text: str
    shipped: bool
    drops: tuple[Pair, ...]
    valid_orders: int


@dataclass(frozen=True, kw_only=True)
class Procedure:
    """One checklist file, read and checked; steps that hang on the device are still in it (see `for_profile`)."""

    code: str
    title: str
    version: int
    when: str
    competencies: tuple[str, ...]
    minutes: int
    cut_fraction: float
    owner: str
    review_by: date
    sources: tuple[str, ...]
    steps: tuple[Step, ...]
    pairs: tuple[BeforePair, ...]
    critical_pairs: tuple[Pair, ...]
    limits: tuple[TimeLimit, ...]
    timing_notes: tuple[str, ...]
    cautions: tuple[str, ...]
    variants: tuple[Variant, ...]
    valid_orders: int
    valid_orders_on_every_device: int
    body: str
    content_hash: str
    authors: tuple[str, ...] = ()
    is_fault_response: bool = False

    @cached_property
    def letters(self) -> tuple[str, ...]:
        """The letters of the steps in the order they are listed."""
        return tuple(step.letter for step in self.steps)

    @cached_property
    def order(self) -> PartialOrder:
        """The real order of the steps."""
        return partial_order(self.letters, (pair.letters for pair in self.pairs))

    @cached_property
    def pair_weights(self) -> dict[Pair, float]:
        """Weights of the pairs stated; a pair that only follows weighs 1."""
        return {pair.letters: pair.weight for pair in self.pairs}

    @cached_property
    def conditional_letters(self) -> frozenset[str]:
        """The steps the scenario card has to settle before an observation starts."""
        return frozenset(step.letter for step in self.steps if step.conditional)

    def step(self, letter: str) -> Step:
        """The step with this letter; raises KeyError when there is none."""
        for step in self.steps:
            if step.letter == letter:
                return step
        raise KeyError(letter)


def for_profile(procedure: Procedure, profile: DeviceProfile) -> Procedure:
    """The procedure as it stands for one device: without the steps this device does not have."""
    absent = {step.letter for step in procedure.steps if step.only_with and not step.only_with.holds_for(profile)}
    return without_steps(procedure, absent)


def without_steps(procedure: Procedure, absent: Collection[str]) -> Procedure:
    """The procedure without some steps; their pairs and time limits go with them, other pairs stay."""
    if not absent:
        return procedure
    gone = set(absent)
    return replace(
        procedure,
        steps=tuple(step for step in procedure.steps if step.letter not in gone),
        pairs=tuple(pair for pair in procedure.pairs if not gone & {pair.first, pair.then}),
        critical_pairs=tuple(pair for pair in procedure.critical_pairs if not gone & set(pair)),
        limits=tuple(limit for limit in procedure.limits if not gone & {*limit.from_steps, *limit.to_steps}),
    )


def in_variant(procedure: Procedure, name: str) -> Procedure:
    """The procedure in one of its local styles; raises KeyError for a style it does not have."""
    for variant in procedure.variants:
        if variant.name == name:
            dropped = set(variant.drops)
            pairs = tuple(pair for pair in procedure.pairs if pair.letters not in dropped)
            implied = partial_order(procedure.letters, (pair.letters for pair in pairs)).closure
            return replace(
                procedure,
                pairs=pairs,
                critical_pairs=tuple(pair for pair in procedure.critical_pairs if pair in implied),
                valid_orders=variant.valid_orders,
                variants=tuple(replace(each, shipped=each is variant) for each in procedure.variants),
            )
    raise KeyError(name)
