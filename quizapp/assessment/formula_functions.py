"""The functions a formula may call: the plain ones here, the ones of the ventilation model from their own list.

Decimal's own exp, ln and sqrt round correctly to 28 digits on every machine; functions of the model compute in
binary and are rounded to six significant digits, so that the same seed gives the same question everywhere.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal

from quizapp.assessment import formula_arithmetic as arithmetic
from quizapp.assessment.formula_arithmetic import CONTEXT, FormulaFault
from quizapp.assessment.model_functions import MODEL_FUNCTIONS, ModelFunction
from quizapp.ventilation.device_profile import DeviceProfile

SIGNIFICANT_DIGITS = 6
MOST_ARGUMENTS = 8
MOST_DECIMALS = 6


@dataclass(frozen=True, kw_only=True)
class Function:
    """A function with how many arguments it takes."""

    run: Callable[..., Decimal]
    fewest: int
    most: int
    of_what: str = ""
    needs_profile: bool = False

    @property
    def takes(self) -> str:
        """Say the number of arguments in words."""
        count = str(self.fewest) if self.fewest == self.most else f"{self.fewest} to {self.most}"
        return f"{count} number{'s' if self.most > 1 else ''}" + (f": {self.of_what}" if self.of_what else "")


def call(
    name: str, function: Function, numbers: Sequence[Decimal], profile: DeviceProfile | None, column: int
) -> Decimal:
    """Call a listed function; whatever it cannot work out becomes a FormulaFault that names it."""
    try:
        return arithmetic.bounded(function.run(profile, *numbers) if profile else function.run(*numbers))
    except FormulaFault as fault:
        raise FormulaFault(f"{name} {fault}", column) from None
    except (ValueError, ArithmeticError) as error:
        raise FormulaFault(f"{name} refuses these numbers: {error}", column) from None


def _round(value: Decimal, decimals: Decimal = Decimal(0)) -> Decimal:
    if decimals != decimals.to_integral_value() or not 0 <= decimals <= MOST_DECIMALS:
        raise FormulaFault(f"rounds to 0 to {MOST_DECIMALS} decimals, not {decimals}")
    return arithmetic.round_half_up(value, int(decimals))


def _exp(value: Decimal) -> Decimal:
    if abs(value) > 34:
        raise FormulaFault("takes numbers from -34 to 34")
    return CONTEXT.exp(value)


def _ln(value: Decimal) -> Decimal:
    if value <= 0:
        raise FormulaFault("takes numbers above zero")
    return CONTEXT.ln(value)


def _sqrt(value: Decimal) -> Decimal:
    if value < 0:
        raise FormulaFault("takes zero and numbers above")
    return CONTEXT.sqrt(value)


def _from_model(run: Callable[..., float]) -> Callable[..., Decimal]:
    def in_decimal(*arguments: Decimal | DeviceProfile) -> Decimal:
        result = run(*(float(part) if isinstance(part, Decimal) else part for part in arguments))
        if not math.isfinite(result):
            raise FormulaFault("has no finite result for these numbers")
        return Decimal(f"{result:.{SIGNIFICANT_DIGITS}g}")

    return in_decimal


def _model_function(function: ModelFunction) -> Function:
    return Function(
        run=_from_model(function.run),
        fewest=function.arguments,
        most=function.arguments,
        of_what=function.takes,
        needs_profile=function.needs_profile,
    )


FUNCTIONS: dict[str, Function] = {
    "min": Function(run=min, fewest=2, most=MOST_ARGUMENTS),
    "max": Function(run=max, fewest=2, most=MOST_ARGUMENTS),
    "ceil": Function(run=lambda value: value.to_integral_value(ROUND_CEILING), fewest=1, most=1),
    "floor": Function(run=lambda value: value.to_integral_value(ROUND_FLOOR), fewest=1, most=1),
    "round": Function(run=_round, fewest=1, most=2),
    "abs": Function(run=abs, fewest=1, most=1),
    "exp": Function(run=_exp, fewest=1, most=1),
    "ln": Function(run=_ln, fewest=1, most=1),
    "sqrt": Function(run=_sqrt, fewest=1, most=1),
    **{name: _model_function(function) for name, function in MODEL_FUNCTIONS.items()},
}
