"""Cylinder sizes as the trade prints them. The same letter names different cylinders in the two systems.

Nominal contents marked "table" were seen in published tables (emergency-medicine and critical-care transport papers,
US Army Medical Department subcourse MD0542); "from memory" were recalled, as were all water capacities.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class SizeSystem(StrEnum):
    """Whose letters are meant: a letter without its system says nothing."""

    UK = "UK"
    US = "US"


class Basis(StrEnum):
    """Where a nominal figure comes from."""

    TABLE = "table"
    FROM_MEMORY = "from memory"


@dataclass(frozen=True, kw_only=True)
class BarCylinder:
    """A size read in bar: nominal contents in L, full gauge in bar, water capacity in L."""

    letter: str
    nominal_l: float
    full_bar: float
    water_l: float
    basis: Basis


@dataclass(frozen=True, kw_only=True)
class PsiCylinder:
    """A size read in psi: the factor in L/psi turns a gauge reading into contents."""

    letter: str
    factor_l_psi: float
    basis: Basis


_BAR_ROWS = (
    ("C", 170, 137, 1.2, Basis.FROM_MEMORY),
    ("D", 340, 137, 2.3, Basis.TABLE),
    ("CD", 460, 230, 2.0, Basis.TABLE),
    ("E", 680, 137, 4.7, Basis.FROM_MEMORY),
    ("F", 1360, 137, 9.4, Basis.TABLE),
    ("HX", 2300, 230, 10.0, Basis.TABLE),
    ("G", 3400, 137, 23.6, Basis.FROM_MEMORY),
    ("J", 6800, 137, 47.2, Basis.FROM_MEMORY),
)
_PSI_ROWS = (("D", 0.16), ("E", 0.28), ("G", 2.41), ("H", 3.14), ("K", 3.14), ("M", 1.56))

UK_CYLINDERS: dict[str, BarCylinder] = {
    letter: BarCylinder(letter=letter, nominal_l=nominal, full_bar=full, water_l=water, basis=basis)
    for letter, nominal, full, water, basis in _BAR_ROWS
}
US_CYLINDERS: dict[str, PsiCylinder] = {
    letter: PsiCylinder(letter=letter, factor_l_psi=factor, basis=Basis.TABLE) for letter, factor in _PSI_ROWS
}


def uk_cylinder(letter: str) -> BarCylinder:
    """Give the UK size of a letter; raises ValueError naming the sizes known."""
    try:
        return UK_CYLINDERS[letter]
    except KeyError:
        raise ValueError(f"{letter!r} is not a UK size known here: {', '.join(UK_CYLINDERS)}") from None


def us_cylinder(letter: str) -> PsiCylinder:
    """Give the US size of a letter; raises ValueError naming the sizes known."""
    try:
        return US_CYLINDERS[letter]
    except KeyError:
        raise ValueError(f"{letter!r} is not a US size known here: {', '.join(US_CYLINDERS)}") from None


def systems_using(letter: str) -> tuple[SizeSystem, ...]:
    """Give the systems in which a letter names a cylinder; two systems mean two different cylinders."""
    known = ((SizeSystem.UK, UK_CYLINDERS), (SizeSystem.US, US_CYLINDERS))
    return tuple(system for system, sizes in known if letter in sizes)
