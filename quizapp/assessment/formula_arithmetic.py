"""The arithmetic of formulas in one fixed decimal context of 28 digits, the same on every machine."""

from __future__ import annotations

import ast
from collections.abc import Callable
from decimal import ROUND_HALF_EVEN, ROUND_HALF_UP, Context, Decimal, DivisionByZero, InvalidOperation, Overflow

CONTEXT = Context(
    prec=28, rounding=ROUND_HALF_EVEN, Emin=-999, Emax=999, traps=[InvalidOperation, DivisionByZero, Overflow]
)
LARGEST_EXPONENT = 15
LARGEST_POWER = 12
PLACES = tuple(Decimal(1).scaleb(-decimals) for decimals in range(13))


class FormulaFault(ValueError):
    """A formula that cannot be read or worked out; `column` counts from 1 (0: unknown)."""

    def __init__(self, message: str, column: int = 0) -> None:
        super().__init__(f"{message} (column {column})" if column else message)
        self.column = column


def bounded(value: Decimal) -> Decimal:
    """Return the value without a negative zero; raises FormulaFault unless it is finite and below 10^16."""
    if value and value.is_finite() and value.adjusted() <= LARGEST_EXPONENT:
        return value
    if not value.is_finite() or value:
        raise FormulaFault("gives a number too large to be meant")
    return abs(value)


def add(left: Decimal, right: Decimal) -> Decimal:
    """Return left + right."""
    return bounded(CONTEXT.add(left, right))


def subtract(left: Decimal, right: Decimal) -> Decimal:
    """Return left - right."""
    return bounded(CONTEXT.subtract(left, right))


def multiply(left: Decimal, right: Decimal) -> Decimal:
    """Return left x right."""
    return bounded(CONTEXT.multiply(left, right))


def divide(left: Decimal, right: Decimal) -> Decimal:
    """Return left / right to 28 digits; raises FormulaFault for a division by zero."""
    if not right:
        raise FormulaFault("divides by zero")
    return bounded(CONTEXT.divide(left, right))


def power(base: Decimal, exponent: Decimal) -> Decimal:
    """Return base to a whole power of -12 to 12; raises FormulaFault for others."""
    if exponent != exponent.to_integral_value() or abs(exponent) > LARGEST_POWER:
        raise FormulaFault(
            f"raises to the power {exponent}; whole powers from -{LARGEST_POWER} to {LARGEST_POWER} exist"
        )
    if not base and exponent <= 0:
        raise FormulaFault("raises zero to a power of zero or below")
    return bounded(CONTEXT.power(base, exponent))


def negative(value: Decimal) -> Decimal:
    """Return the value with the other sign."""
    return bounded(CONTEXT.minus(value))


def round_half_up(value: Decimal, decimals: int) -> Decimal:
    """Return the value rounded to 0 to 12 decimals; a half goes away from zero, as people round."""
    return bounded(value.quantize(PLACES[decimals], ROUND_HALF_UP, CONTEXT))


OPERATORS: dict[type, Callable[[Decimal, Decimal], Decimal]] = {
    ast.Add: add,
    ast.Sub: subtract,
    ast.Mult: multiply,
    ast.Div: divide,
    ast.Pow: power,
}
COMPARISONS: dict[type, Callable[[Decimal, Decimal], bool]] = {
    ast.Lt: lambda left, right: left < right,
    ast.LtE: lambda left, right: left <= right,
    ast.Gt: lambda left, right: left > right,
    ast.GtE: lambda left, right: left >= right,
    ast.Eq: lambda left, right: left == right,
    ast.NotEq: lambda left, right: left != right,
}
