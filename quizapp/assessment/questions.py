"""A question: everything one person was asked, frozen, so that it can be shown and graded again years later."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from quizapp.assessment import frozen_json
from quizapp.assessment.families import Danger, FamilyKind, Purpose, Use

FORMAT = 1


@dataclass(frozen=True, kw_only=True)
class Drawn:
    """One number or word as drawn and as printed."""

    name: str
    value: Decimal
    printed: str
    unit: str


@dataclass(frozen=True, kw_only=True)
class FigureSpec:
    """What to draw: the instrument, its numbers and words, and the text alternative (never the answer)."""

    instrument: str
    numbers: Mapping[str, tuple[Decimal, ...]]
    words: Mapping[str, str]
    alt: str

    def number(self, name: str) -> Decimal:
        """Return a parameter that is a single number; raises KeyError if the figure has no such parameter."""
        return self.numbers[name][0]


@dataclass(frozen=True, kw_only=True)
class Idea:
    """A wrong idea with the number it leads to in this question, and the sentence it is answered with."""

    name: str
    value: Decimal
    tolerance: Decimal
    printed: str
    says: str


@dataclass(frozen=True, kw_only=True)
class Blank:
    """One number to be entered. The key and the tolerance are in the first unit; units are UCUM codes.

    `unit_labels` are what people read, one per unit. `low` and `high` are the stated range of the key.
    """

    name: str
    label: str
    key: Decimal
    key_printed: str
    tolerance: Decimal
    units: tuple[str, ...]
    unit_labels: tuple[str, ...]
    decimals: int
    low: Decimal
    high: Decimal
    danger: Danger | None
    ideas: tuple[Idea, ...]

    @property
    def asks_for_unit(self) -> bool:
        """Whether the unit is chosen from a list instead of shown as a label."""
        return len(self.units) > 1


@dataclass(frozen=True, kw_only=True)
class Option:
    """One option as shown, with what choosing it is worth (0 to 1) and shows; the key is worth 1."""

    name: str
    text: str
    is_key: bool
    credit: Decimal
    wrong_idea: str
    says: str


@dataclass(frozen=True, kw_only=True)
class Step:
    """One step as shown, and the steps that must come before it."""

    name: str
    text: str
    after: tuple[str, ...]
    because: str


@dataclass(frozen=True, kw_only=True)
class Question:
    """A family drawn with numbers for one person. `stem` is Markdown; the other texts are plain.

    `algorithm` and `seed` with the same content and profile give the same question again.
    """

    format: int
    algorithm: int
    seed: int
    family: str
    title: str
    kind: FamilyKind
    purpose: Purpose
    use: Use
    competencies: tuple[str, ...]
    group: str
    content_hash: str
    profile_code: str
    profile_revision: int
    case: str
    stem: str
    drawn: tuple[Drawn, ...]
    figures: tuple[FigureSpec, ...]
    blanks: tuple[Blank, ...]
    options: tuple[Option, ...]
    steps: tuple[Step, ...]
    worked: str
    keep: str

    @property
    def key_option(self) -> Option:
        """The right option of a choice question; raises StopIteration for other kinds."""
        return next(option for option in self.options if option.is_key)

    def asks_the_same_as(self, other: Question) -> bool:
        """Whether both draw the same numbers from the same family."""
        mine = (self.family, self.case, [(drawn.name, drawn.value) for drawn in self.drawn])
        return mine == (other.family, other.case, [(drawn.name, drawn.value) for drawn in other.drawn])

    def to_json(self) -> str:
        """Return canonical JSON; equal questions give equal texts."""
        return frozen_json.to_json(self)

    def to_plain(self) -> dict[str, Any]:
        """Return the plain form for a JSON column."""
        plain: dict[str, Any] = frozen_json.to_plain(self)
        return plain

    @classmethod
    def from_json(cls, text: str) -> Question:
        """Read a question back exactly; raises ValueError naming the field that does not fit."""
        return frozen_json.from_json(cls, text)

    @classmethod
    def from_plain(cls, plain: object) -> Question:
        """Read a question back from a JSON column; raises ValueError naming the field that does not fit."""
        return frozen_json.from_plain(cls, plain)
