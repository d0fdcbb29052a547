"""The fields of a checklist file's front matter, with what each may hold; what joins them is checked elsewhere."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Annotated

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field

from quizapp.assessment.procedures import SUGGESTED_CUT_FRACTION


def _whole_number_too(value: object) -> object:
    return Decimal(value) if type(value) is int else value


Text = Annotated[str, Field(min_length=1, max_length=400, pattern=r"^\S(.*\S)?$")]
Letter = Annotated[str, Field(pattern=r"^[a-z]$")]
Number = Annotated[Decimal, BeforeValidator(_whole_number_too)]
Seconds = Annotated[Number, Field(gt=0, le=86_400)]
Weight = Annotated[Number, Field(gt=0, le=100)]
PairOfLetters = Annotated[list[Letter], Field(min_length=2, max_length=2)]


class _Table(BaseModel):
    model_config = ConfigDict(strict=True, extra="forbid", frozen=True)


class OnlyWithHeader(_Table):
    """Only devices whose profile says `value` in `field` have the step."""

    field: Text
    value: Text


class StepHeader(_Table):
    """One step."""

    letter: Letter
    text: Text
    critical: bool = False
    if_called_for: bool = False
    weight: Weight = Decimal(1)
    only_with: OnlyWithHeader | None = None


class PairHeader(_Table):
    """`first` before `then`, because `why`; `restated` says that it also follows from others, on purpose."""

    first: Letter
    then: Letter
    why: Text
    weight: Weight = Decimal(1)
    restated: bool = False


class LimitHeader(_Table):
    """One time limit; `from_steps` empty means from the start of the observation."""

    key: Annotated[str, Field(pattern=r"^[a-z][a-z0-9-]{1,40}$")]
    text: Text
    from_steps: list[Letter] = Field(default_factory=list)
    to_steps: Annotated[list[Letter], Field(min_length=1)]
    basis: str
    source: Text
    at_most_s: Seconds | None = None
    at_least_s: Seconds | None = None
    recorded_by: str = ""
    recorded_on: date | None = None


class VariantHeader(_Table):
    """One local style; exactly one is shipped and drops nothing, the others drop some of the pairs."""

    name: Text
    text: Text
    shipped: bool = False
    drops: list[PairOfLetters] = Field(default_factory=list)
    valid_orders: Annotated[int, Field(gt=0)]


class ProcedureHeader(_Table):
    """The whole front matter of a checklist file."""

    code: Annotated[str, Field(pattern=r"^P[0-9]{2}$")]
    title: Text
    version: Annotated[int, Field(ge=1)]
    when: Text
    competencies: Annotated[list[Annotated[str, Field(pattern=r"^C[0-9]{1,2}$")]], Field(min_length=1)]
    minutes: Annotated[int, Field(ge=1, le=120)]
    is_fault_response: bool = False
    cut_fraction: Annotated[Number, Field(gt=0, le=1)] = Decimal(str(SUGGESTED_CUT_FRACTION))
    owner: Text
    authors: list[Text] = Field(default_factory=list)
    review_by: date
    sources: Annotated[list[Text], Field(min_length=1)]
    valid_orders: Annotated[int, Field(gt=0)]
    valid_orders_on_every_device: Annotated[int, Field(gt=0)] | None = None
    critical_pairs: list[PairOfLetters] = Field(default_factory=list)
    timing_notes: list[Text] = Field(default_factory=list)
    cautions: Annotated[list[Text], Field(min_length=1)]
    steps: Annotated[list[StepHeader], Field(min_length=2, max_length=26)]
    pairs: list[PairHeader] = Field(default_factory=list)
    limits: list[LimitHeader] = Field(default_factory=list)
    variants: list[VariantHeader] = Field(default_factory=list)
