"""How numbers are written into drawings: coordinates without needless digits, numerals with a true minus sign."""

from __future__ import annotations

ORDINALS = ("no", "first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth")


def coordinate(value: float) -> str:
    """Write a coordinate with at most two decimals and no trailing zeros."""
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def numeral(value: float) -> str:
    """Write a scale's numeral: 10, 0.5, or a true minus sign before it."""
    text = coordinate(abs(value))
    return f"−{text}" if value < 0 and text != "0" else text


def spoken(value: float) -> str:
    """Say a scale's numeral: "minus 10"."""
    return f"minus {coordinate(-value)}" if value < 0 else coordinate(value)


def ordinal(number: int) -> str:
    """Say a small number as first, second, third; beyond nine as 10th."""
    return ORDINALS[number] if number < len(ORDINALS) else f"{number}th"
