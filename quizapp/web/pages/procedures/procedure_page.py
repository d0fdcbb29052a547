"""What the pages of a procedure show: steps, what must come before what, limits, and the map of it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from quizapp.assessment.procedures import BeforePair, LimitBasis, Procedure
from quizapp.web.components import OrderMap, order_map

NARROW_SPACE = "\u202f"
LETTERS_A_LINE = 40
MOST_LINES_AT_FULL_SIZE = 18


@dataclass(frozen=True, kw_only=True)
class StepRow:
    """One step; `after` names the letters that must be done before it."""

    key: str
    text: str
    is_critical: bool
    is_conditional: bool
    after: str


@dataclass(frozen=True, kw_only=True)
class StepGroup:
    """Steps under one heading of the sheet."""

    heading: str
    note: str
    steps: tuple[StepRow, ...]


@dataclass(frozen=True, kw_only=True)
class PairRow:
    """One real dependency in words."""

    first: str
    first_text: str
    then: str
    then_text: str
    why: str
    is_critical: bool


@dataclass(frozen=True, kw_only=True)
class LimitRow:
    """One time limit and what it rests on."""

    text: str
    decides: bool
    basis: str


def step_rows(procedure: Procedure) -> tuple[StepRow, ...]:
    """Return the steps in the order they are listed."""
    return tuple(
        StepRow(
            key=step.letter,
            text=step.text,
            is_critical=step.critical,
            is_conditional=step.conditional,
            after=", ".join(sorted(pair.first for pair in _direct(procedure) if pair.then == step.letter)),
        )
        for step in procedure.steps
    )


def step_groups(procedure: Procedure) -> tuple[StepGroup, ...]:
    """Return the steps of the sheet: those always called for, then those only some scenarios present."""
    rows = step_rows(procedure)
    always = tuple(row for row in rows if not row.is_conditional)
    sometimes = tuple(row for row in rows if row.is_conditional)
    groups = [
        StepGroup(heading="Each time", note="only the order in its column is real, the rest is free", steps=always)
    ]
    if sometimes:
        groups.append(StepGroup(heading="Only if called for", note="settled before the start", steps=sometimes))
    return tuple(groups)


def pair_rows(procedure: Procedure) -> tuple[PairRow, ...]:
    """Return every stated dependency, those that decide alone first."""
    rows = [
        PairRow(
            first=pair.first,
            first_text=procedure.step(pair.first).text,
            then=pair.then,
            then_text=procedure.step(pair.then).text,
            why=pair.why,
            is_critical=pair.letters in procedure.critical_pairs,
        )
        for pair in procedure.pairs
    ]
    return tuple(sorted(rows, key=lambda row: not row.is_critical))


def limit_rows(procedure: Procedure) -> tuple[LimitRow, ...]:
    """Return every time limit; only a recorded local standard decides."""
    return tuple(
        LimitRow(
            text=limit.text,
            decides=limit.basis is LimitBasis.STANDARD,
            basis="a recorded local standard, so it decides"
            if limit.basis is LimitBasis.STANDARD
            else "a teaching target, shown and never decisive",
        )
        for limit in procedure.limits
    )


def map_of(procedure: Procedure) -> OrderMap:
    """Return the drawing of what must come before what."""
    critical = {step.letter for step in procedure.steps if step.critical}
    return order_map(procedure.letters, {pair.letters for pair in _direct(procedure)}, critical)


def named_sources(codes: Sequence[str], sources: Mapping[str, str]) -> tuple[tuple[str, str], ...]:
    """Return each source's code with its title, where the list of sources has one."""
    return tuple((code, sources.get(code, "")) for code in codes)


def needs_small_letters(procedure: Procedure) -> bool:
    """Tell whether the steps take more lines than one sheet of A4 holds at full size."""
    lines = sum(1 + len(step.text) // LETTERS_A_LINE for step in procedure.steps)
    return lines > MOST_LINES_AT_FULL_SIZE


def grouped(number: int) -> str:
    """Write a whole number in groups of three digits."""
    return f"{number:,}".replace(",", NARROW_SPACE)


def _direct(procedure: Procedure) -> tuple[BeforePair, ...]:
    """The pairs without those that also follow from others."""
    return tuple(pair for pair in procedure.pairs if not pair.restated)
