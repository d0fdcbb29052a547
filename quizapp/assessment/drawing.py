"""Draws the numbers of a family and decides whether they may be asked, before any text is made."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum
from itertools import combinations
from types import MappingProxyType

from quizapp.assessment.draw_tables import draw_tables
from quizapp.assessment.families import BlankDesign, CaseDesign, Derived, Family, ListDraw, RangeDraw, WrongIdea
from quizapp.assessment.formula import Formula, FormulaFault, Held, Kind, Value
from quizapp.assessment.formula_arithmetic import CONTEXT, round_half_up
from quizapp.assessment.number_stream import NumberStream
from quizapp.assessment.questions import Drawn

MOST_VALUES = 100_000
NONE = Decimal(0)


class DrawFault(ValueError):
    """A family from which no question can be drawn; the message names the field at fault."""


class Refusal(StrEnum):
    """Why drawn numbers are not asked."""

    CONDITION = "the condition of the family does not hold"
    OUT_OF_RANGE = "the key lies outside the stated range"
    COLLISION = "a wrong idea leads to a number within the tolerance of the key"


@dataclass(frozen=True, kw_only=True)
class IdeaValue:
    """The number a wrong idea leads to, with the band in which an answer is taken for it."""

    idea: WrongIdea
    value: Decimal
    tolerance: Decimal

    def matches(self, answer: Decimal) -> bool:
        """Return whether an answer lies in the band, ends included."""
        return abs(answer - self.value) <= self.tolerance


@dataclass(frozen=True, kw_only=True)
class BlankValue:
    """The key of one blank with its resolved tolerance, range and the numbers of its wrong ideas."""

    design: BlankDesign
    key: Decimal
    tolerance: Decimal
    low: Decimal
    high: Decimal
    ideas: tuple[IdeaValue, ...]

    @property
    def collides(self) -> bool:
        """Whether a wrong idea would be marked right."""
        return any(abs(idea.value - self.key) <= self.tolerance for idea in self.ideas)

    @property
    def has_unnamed_pair(self) -> bool:
        """Whether two wrong ideas cannot be told apart by the number they lead to."""
        return any(one.matches(two.value) or two.matches(one.value) for one, two in combinations(self.ideas, 2))


@dataclass(frozen=True, kw_only=True)
class Numbers:
    """Everything drawn and derived, under the names formulas use, the case drawn, and what is printed of the draws.

    `drawn` holds None for a draw that has to be printed by itself.
    """

    values: dict[str, Held]
    case: CaseDesign | None
    drawn: tuple[Drawn | None, ...] = ()


def draw_numbers(family: Family, stream: NumberStream, known: Mapping[str, Held]) -> Numbers:
    """Draw case and numbers in the order written; `known` holds the values of the profile. Raises DrawFault."""
    # A proxy copies itself at once; making a dictionary of it goes through it name by name.
    values = known.copy() if isinstance(known, MappingProxyType) else dict(known)
    case = family.cases[stream.below(len(family.cases))] if family.cases else None
    if case is not None:
        values |= {f"case.{other.name}": other is case for other in family.cases} | dict(case.numbers)
    drawn: list[Drawn | None] = []
    for design, table in zip(family.draws, draw_tables(family, known), strict=True):
        one = table[stream.below(len(table))] if table else None
        values[design.name] = one.value if one else _draw(design, stream, values)
        drawn.append(one)
    for step in family.derived:
        values[step.name] = _derive(step, values)
    return Numbers(values=values, case=case, drawn=tuple(drawn))


def work_out(family: Family, numbers: Numbers) -> tuple[BlankValue, ...]:
    """Return key, tolerance and wrong numbers of each blank. Raises DrawFault naming the formula at fault."""
    return tuple(_blank(family, design, numbers.values) for design in family.blanks)


def condition_holds(family: Family, numbers: Numbers) -> bool:
    """Return whether every `where` of the family holds. Raises DrawFault."""
    return all(truth("where", condition, numbers.values) for condition in family.where)


def refusal(blanks: Iterable[BlankValue]) -> Refusal | None:
    """Return why these numbers are not asked, or None. The collision rule is the only one about wrong ideas."""
    for blank in blanks:
        if not blank.low <= blank.key <= blank.high:
            return Refusal.OUT_OF_RANGE
        if blank.collides:
            return Refusal.COLLISION
    return None


def number(where: str, formula: Formula, values: dict[str, Held]) -> Decimal:
    """Return a formula's number; raises DrawFault that names the field."""
    try:
        return formula.number(values)
    except FormulaFault as fault:
        raise DrawFault(f"{where}: {formula.text} {fault}") from None


def truth(where: str, formula: Formula, values: dict[str, Held]) -> bool:
    """Return whether a condition holds; raises DrawFault that names the field."""
    try:
        return formula.truth(values)
    except FormulaFault as fault:
        raise DrawFault(f"{where}: {formula.text} {fault}") from None


def resolved_tolerance(design: BlankDesign, target: Decimal) -> Decimal:
    """Return the half width of the accepted band: the absolute tolerance or the share of the target, the larger."""
    absolute = design.tolerance or NONE
    if design.tolerance_percent is None:
        return absolute
    return max(absolute, CONTEXT.multiply(abs(target), design.tolerance_percent.scaleb(-2)))


def _draw(design: RangeDraw | ListDraw, stream: NumberStream, values: dict[str, Held]) -> Decimal:
    if isinstance(design, ListDraw):
        chosen = design.values[stream.below(len(design.values))]
        return number(f"draw {design.name}", chosen, values)
    if design.is_fixed:
        low, count = design.fixed_count
    else:
        low = number(f"draw {design.name} from", design.low, values)
        count = design.count(low, number(f"draw {design.name} to", design.high, values))
    if not 1 <= count <= MOST_VALUES:
        raise DrawFault(f"draw {design.name}: from {low} in steps of {design.step} there are {count} values")
    return CONTEXT.add(low, CONTEXT.multiply(design.step, Decimal(stream.below(count))))


def _derive(step: Derived, values: dict[str, Held]) -> Value:
    where = f"let {step.name}"
    if step.formula.kind is Kind.TRUTH:
        return truth(where, step.formula, values)
    value = number(where, step.formula, values)
    if step.words and not (value == int(value) and 0 <= value < len(step.words)):
        raise DrawFault(f"{where}: {value} is not one of the {len(step.words)} words, which count from 0")
    return value if step.decimals is None else round_half_up(value, step.decimals)


def _blank(family: Family, design: BlankDesign, values: dict[str, Held]) -> BlankValue:
    key = number(f"{design.name} formula", design.formula, values)
    ideas = tuple(_idea(design, idea, values) for idea in family.wrong_ideas if _applies(idea, design, values))
    return BlankValue(
        design=design,
        key=key,
        tolerance=resolved_tolerance(design, key),
        low=number(f"{design.name} range", design.low, values),
        high=number(f"{design.name} range", design.high, values),
        ideas=ideas,
    )


def _applies(idea: WrongIdea, design: BlankDesign, values: dict[str, Held]) -> bool:
    return idea.blank == design.name and (not idea.borrows or all(name in values for name in idea.borrows))


def _idea(design: BlankDesign, idea: WrongIdea, values: dict[str, Held]) -> IdeaValue:
    value = number(f"wrong_idea {idea.name}", idea.formula, values)
    return IdeaValue(idea=idea, value=value, tolerance=resolved_tolerance(design, value))
