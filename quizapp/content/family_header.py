"""The fields of a family's front matter, one strict model per table; question_bank/README.md explains them."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Annotated, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, StringConstraints

NAME = r"^[a-z][a-z0-9_]{0,39}$"
SLUG = r"^[a-z][a-z0-9-]{1,39}$"


def _number(value: object) -> object:
    return Decimal(value) if isinstance(value, int) and not isinstance(value, bool) else value


def _formula(value: object) -> object:
    if isinstance(value, bool):
        raise ValueError('must be a number or a formula between quotes, such as "2 * peak"')
    return str(value) if isinstance(value, int | Decimal) else value


def _condition(value: object) -> object:
    return ("1 == 1" if value else "1 == 0") if isinstance(value, bool) else value


def _one_or_more(value: object) -> object:
    return [value] if isinstance(value, str) else value


Number = Annotated[Decimal, BeforeValidator(_number)]
FormulaText = Annotated[str, BeforeValidator(_formula)]
Condition = Annotated[str, BeforeValidator(_condition)]
Sentence = Annotated[str, StringConstraints(min_length=1, max_length=600, strip_whitespace=True)]
Slug = Annotated[str, StringConstraints(pattern=SLUG)]
StaffNumber = Annotated[str, StringConstraints(min_length=1, max_length=40, strip_whitespace=True)]
Name = Annotated[str, StringConstraints(pattern=NAME)]


class Table(BaseModel):
    """Base of all tables: no unknown field, no guessed type."""

    model_config = ConfigDict(extra="forbid", strict=True, populate_by_name=True)


class DrawTable(Table):
    """[draw.NAME]: from, to and step, or choose with optional words."""

    low: FormulaText | None = Field(default=None, alias="from")
    high: FormulaText | None = Field(default=None, alias="to")
    step: Number | None = None
    choose: list[FormulaText] | None = None
    words: list[Sentence] = []
    unit: str = ""
    unusual: Sentence = ""


class LetTable(Table):
    """[let.NAME]: a formula that is rounded and may be printed, or that picks one of the words."""

    formula: FormulaText
    decimals: int | None = Field(default=None, ge=0, le=6)
    words: list[Sentence] = []


class KeyTable(Table):
    """[key] and [second]: one number to be entered."""

    label: Sentence
    formula: FormulaText
    unit: str | None = None
    units: list[str] | None = None
    unit_label: str = ""
    tolerance: Number | None = None
    tolerance_percent: Number | None = None
    decimals: int = Field(ge=0, le=6)
    range: list[FormulaText] = Field(min_length=2, max_length=2)
    safety: Literal["too high", "too low"] | None = None


class WrongIdeaTable(Table):
    """[[wrong_idea]]: a misconception with its number and its sentence."""

    name: Slug
    formula: FormulaText
    says: Sentence
    blank: Literal["key", "second"] = "key"


class FigureTable(Table):
    """[[figure]]: what is drawn, with which numbers and words, and the text alternative."""

    instrument: Name
    alt: Sentence
    numbers: dict[str, FormulaText | list[FormulaText]] = {}
    words: dict[str, str] = {}
    when: Condition | None = None


class OptionTable(Table):
    """[[option]] and [[case.option]]: one option of a choice."""

    name: Slug
    text: Sentence
    says: Sentence
    key: Condition = "1 == 0"
    wrong_idea: Slug | None = None
    credit: FormulaText | None = None
    when: Condition | None = None


class CaseTable(Table):
    """[[case]]: one of several situations."""

    name: Name
    text: Annotated[str, StringConstraints(max_length=2000, strip_whitespace=True)] = ""
    numbers: dict[Name, Number] = {}
    words: dict[Name, Sentence] = {}
    option: list[OptionTable] = []


class StepTable(Table):
    """[[step]]: one step to be put in order."""

    name: Slug
    text: Sentence
    after: list[Slug] = []
    because: str = ""


class FeedbackTable(Table):
    """[feedback]: the sentence to keep, and the working with the person's own numbers."""

    keep: Sentence
    worked: str = ""


class FamilyHeader(Table):
    """The whole front matter of a family."""

    code: Annotated[str, StringConstraints(pattern=r"^[A-Z]{1,3}[0-9]{2,3}$")]
    title: Sentence
    kind: Literal["numeric", "reading", "choice", "order"]
    purpose: Literal["diagnostic", "fluency", "decision"]
    use: Literal["open", "practice", "assessment"] = "open"
    competencies: list[str] = Field(min_length=1)
    group: Slug
    owner: Sentence
    authors: list[StaffNumber] = []
    review_by: date
    sources: list[str] = Field(min_length=1)
    just_competent_share: Number | None = None
    requires: Condition | None = None
    where: Annotated[list[Condition], BeforeValidator(_one_or_more)] = []
    settings: list[Sentence] = []
    draw: dict[Name, DrawTable] = {}
    let: dict[Name, FormulaText | LetTable] = {}
    key: KeyTable | None = None
    second: KeyTable | None = None
    wrong_idea: list[WrongIdeaTable] = []
    figure: list[FigureTable] = []
    case: list[CaseTable] = []
    option: list[OptionTable] = []
    options_shown: int | None = Field(default=None, ge=2, le=8)
    options_in_order: bool = False
    step: list[StepTable] = []
    feedback: FeedbackTable
