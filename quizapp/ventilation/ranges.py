"""Refuse a quantity outside the range in which a formula means anything, saying the value and the range."""

from __future__ import annotations

import math


class OutOfRangeError(ValueError):
    """A quantity outside the range of a formula; the message names the quantity, its value and the range."""


def above_zero(name: str, value: float, unit: str) -> float:
    """Give `value` back when it is finite and above 0; raises OutOfRangeError otherwise."""
    if not (math.isfinite(value) and value > 0):
        raise OutOfRangeError(f"{name} must be above 0 {unit}, not {value:g}")
    return value


def zero_or_more(name: str, value: float, unit: str) -> float:
    """Give `value` back when it is finite and 0 or more; raises OutOfRangeError otherwise."""
    if not (math.isfinite(value) and value >= 0):
        raise OutOfRangeError(f"{name} must be 0 {unit} or more, not {value:g}")
    return value


def within(name: str, value: float, unit: str, low: float, high: float) -> float:
    """Give `value` back when it lies from `low` to `high`, both included; raises OutOfRangeError otherwise."""
    if not low <= value <= high:
        raise OutOfRangeError(f"{name} must be from {low:g} to {high:g} {unit}, not {value:g}".replace("  ", " "))
    return value


def between(name: str, value: float, unit: str, low: float, high: float) -> float:
    """Give `value` back when it lies above `low` and up to `high`; raises OutOfRangeError otherwise."""
    if not low < value <= high:
        raise OutOfRangeError(f"{name} must be above {low:g} up to {high:g} {unit}, not {value:g}".replace("  ", " "))
    return value
