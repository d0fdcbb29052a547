"""A family: one question design, as an author's file declares it. Questions are drawn from it.

Nothing here is computed; formulas are parsed already, texts still hold their names in braces.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from enum import StrEnum
from functools import cached_property
from typing import TYPE_CHECKING

from quizapp.assessment.formula import Formula
from quizapp.assessment.placeholders import Text, decimals_of

if TYPE_CHECKING:
    from quizapp.assessment.questions import Drawn
    from quizapp.ventilation.device_profile import DeviceProfile

MOST_DECIMALS = 6


class FamilyKind(StrEnum):
    """How a family is answered: a number, a number read from a figure, one option, or an order of steps."""

    NUMERIC = "numeric"
    READING = "reading"
    CHOICE = "choice"
    ORDER = "order"


class Purpose(StrEnum):
    """What a family is for; only diagnostic and decision families count for sign-off."""

    DIAGNOSTIC = "diagnostic"
    FLUENCY = "fluency"
    DECISION = "decision"


class Use(StrEnum):
    """Where a family may be met; open ones in both, since their numbers change."""

    OPEN = "open"
    PRACTICE = "practice"
    ASSESSMENT = "assessment"


class Danger(StrEnum):
    """The direction in which a wrong answer could hurt somebody."""

    TOO_HIGH = "too high"
    TOO_LOW = "too low"


@dataclass(frozen=True, kw_only=True)
class RangeDraw:
    """A number drawn evenly from low, low + step, ... up to high; `unusual` says why, where it leaves what is usual."""

    name: str
    low: Formula
    high: Formula
    step: Decimal
    unit: str = ""
    unusual: str = ""

    @cached_property
    def is_fixed(self) -> bool:
        """Whether both ends are the same in every draw and on every device."""
        return not self.low.names and not self.high.names

    @cached_property
    def fixed_count(self) -> tuple[Decimal, int]:
        """The low end and how many values there are; only where both ends are fixed. Raises FormulaFault."""
        low = self.low.number({})
        return low, self.count(low, self.high.number({}))

    @cached_property
    def fixed_decimals(self) -> int:
        """With how many decimals the values are printed; only where both ends are fixed."""
        return self.decimals(self.fixed_count[0])

    def count(self, low: Decimal, high: Decimal) -> int:
        """Return how many values lie from low to high, none if high is below low."""
        return int((high - low) // self.step) + 1 if high >= low else 0

    def decimals(self, low: Decimal) -> int:
        """Return with how many decimals the values are printed, as many as low end and step need."""
        return min(MOST_DECIMALS, max(decimals_of(low), decimals_of(self.step)))


@dataclass(frozen=True, kw_only=True)
class ListDraw:
    """A number drawn evenly from a list; `words`, if any, are printed in place of the numbers."""

    name: str
    values: tuple[Formula, ...]
    words: tuple[str, ...] = ()
    unit: str = ""
    unusual: str = ""


@dataclass(frozen=True, kw_only=True)
class Derived:
    """A value worked out from those before it.

    With `decimals` it is rounded to what is printed, so that the person and the key use the same number. With
    `words` it is a whole number and words[number] is printed.
    """

    name: str
    formula: Formula
    decimals: int | None = None
    words: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True)
class CaseDesign:
    """One of several situations of a family, drawn evenly: its text, numbers and words."""

    name: str
    text: Text
    numbers: Mapping[str, Decimal]
    words: Mapping[str, str]
    options: tuple[OptionDesign, ...] = ()


@dataclass(frozen=True, kw_only=True)
class BlankDesign:
    """One number to be entered: its key, units (the first is the key's), tolerance and stated range."""

    name: str
    label: str
    formula: Formula
    units: tuple[str, ...]
    unit_label: str
    tolerance: Decimal | None
    tolerance_percent: Decimal | None
    decimals: int
    low: Formula
    high: Formula
    danger: Danger | None = None


@dataclass(frozen=True, kw_only=True)
class WrongIdea:
    """A named misconception with its own formula for one blank and one sentence of feedback."""

    name: str
    blank: str
    formula: Formula
    says: Text

    @cached_property
    def borrows(self) -> tuple[str, ...]:
        """The names its formula takes from another device's profile."""
        return tuple(name for name in self.formula.names if name.startswith("other_profile."))


@dataclass(frozen=True, kw_only=True)
class FigureDesign:
    """A figure drawn from the question's own numbers; `when` says for which draws, `alt` describes what is drawn."""

    instrument: str
    numbers: Mapping[str, tuple[Formula, ...]]
    words: Mapping[str, Text]
    alt: Text
    when: Formula | None = None


@dataclass(frozen=True, kw_only=True)
class OptionDesign:
    """One option of a choice: the condition under which it is the key, and what choosing it shows."""

    name: str
    text: Text
    is_key: Formula
    says: Text
    wrong_idea: str = ""
    credit: Formula | None = None
    when: Formula | None = None


@dataclass(frozen=True, kw_only=True)
class StepDesign:
    """One step to be put in order, after the steps named; `because` says why that order is real."""

    name: str
    text: Text
    after: tuple[str, ...] = ()
    because: str = ""


@dataclass(frozen=True, kw_only=True)
class Family:
    """One question design; siblings share a `group`. `content_hash` is that of its file.

    `authors`: the staff numbers of those who wrote it, none for what came with the tool.
    """

    code: str
    title: str
    kind: FamilyKind
    purpose: Purpose
    use: Use
    competencies: tuple[str, ...]
    group: str
    owner: str
    review_by: date
    sources: tuple[str, ...]
    content_hash: str
    path: str
    stem: Text
    keep: Text
    worked: Text
    authors: tuple[str, ...] = ()
    settings: tuple[Text, ...] = ()
    just_competent_share: Decimal | None = None
    requires: Formula | None = None
    where: tuple[Formula, ...] = ()
    cases: tuple[CaseDesign, ...] = ()
    draws: tuple[RangeDraw | ListDraw, ...] = ()
    derived: tuple[Derived, ...] = ()
    blanks: tuple[BlankDesign, ...] = ()
    wrong_ideas: tuple[WrongIdea, ...] = ()
    figures: tuple[FigureDesign, ...] = ()
    options: tuple[OptionDesign, ...] = ()
    options_shown: int | None = None
    options_in_order: bool = False
    steps: tuple[StepDesign, ...] = ()

    @property
    def counts_for_sign_off(self) -> bool:
        """Whether answers may count as evidence (the content must be accepted as well)."""
        return self.purpose is not Purpose.FLUENCY

    @cached_property
    def tables(self) -> dict[DeviceProfile | None, tuple[tuple[Drawn, ...], ...]]:
        """What its draws can give with each device, kept once it is worked out (see draw_tables)."""
        return {}

    @cached_property
    def other_profile_fields(self) -> frozenset[str]:
        """The fields of another device's profile that a wrong idea of this family borrows."""
        names = (name for idea in self.wrong_ideas for name in idea.borrows)
        return frozenset(name.removeprefix("other_profile.") for name in names)
