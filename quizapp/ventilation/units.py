"""Units of measure with exact factors; stored names are UCUM codes.

Factors: SI brochure and NIST SP 811; the conventional mmHg (133.322387415 Pa) and cmH2O (98.0665 Pa).
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Context, Decimal, localcontext
from enum import StrEnum
from fractions import Fraction


class Dimension(StrEnum):
    """What a unit measures; only units of one dimension convert into each other."""

    PRESSURE = "pressure"
    VOLUME = "volume"
    FLOW = "flow"
    TIME = "time"
    RATE = "rate"
    LENGTH = "length"
    MASS = "mass"
    TEMPERATURE = "temperature"
    SHARE = "share"
    COMPLIANCE = "compliance"
    RESISTANCE = "resistance"
    VOLUME_PER_MASS = "volume per mass"
    VOLUME_PER_PRESSURE = "contents factor"
    COUNT = "count"


@dataclass(frozen=True, kw_only=True)
class Unit:
    """A unit: UCUM code, the label people read, dimension, and value in the dimension's base as factor and offset."""

    code: str
    label: str
    dimension: Dimension
    factor: Fraction
    offset: Fraction = Fraction(0)


class UnknownUnitError(ValueError):
    """A code that is not in the table."""


class IncompatibleUnitsError(ValueError):
    """Two units that do not measure the same kind of quantity."""


_CMH2O = Fraction("98.0665")
_MMHG = Fraction("133.322387415")
_INCH = Fraction("0.0254")
_FOOT = Fraction("0.3048")
_PSI = Fraction("0.45359237") * Fraction("9.80665") / _INCH**2
_LITRE = Fraction(1, 1000)
_CUBIC_FOOT = _FOOT**3
_MINUTE = Fraction(60)

#: code, label, dimension, factor to the base unit (Pa, m3, m3/s, s, 1/s, m, kg, K, 1, m3/Pa, Pa.s/m3, m3/kg)
_ROWS: tuple[tuple[str, str, Dimension, Fraction], ...] = (
    ("cm[H2O]", "cmH2O", Dimension.PRESSURE, _CMH2O),
    ("mm[Hg]", "mmHg", Dimension.PRESSURE, _MMHG),
    ("[in_i'Hg]", "inHg", Dimension.PRESSURE, _MMHG * Fraction("25.4")),
    ("kPa", "kPa", Dimension.PRESSURE, Fraction(1000)),
    ("bar", "bar", Dimension.PRESSURE, Fraction(100_000)),
    ("mbar", "mbar", Dimension.PRESSURE, Fraction(100)),
    ("[psi]", "psi", Dimension.PRESSURE, _PSI),
    ("L", "L", Dimension.VOLUME, _LITRE),
    ("mL", "mL", Dimension.VOLUME, _LITRE / 1000),
    ("[cft_i]", "cu ft", Dimension.VOLUME, _CUBIC_FOOT),
    ("L/min", "L/min", Dimension.FLOW, _LITRE / _MINUTE),
    ("mL/min", "mL/min", Dimension.FLOW, _LITRE / 1000 / _MINUTE),
    ("L/s", "L/s", Dimension.FLOW, _LITRE),
    ("s", "s", Dimension.TIME, Fraction(1)),
    ("min", "min", Dimension.TIME, _MINUTE),
    ("h", "h", Dimension.TIME, _MINUTE * 60),
    ("/min", "/min", Dimension.RATE, 1 / _MINUTE),
    ("m", "m", Dimension.LENGTH, Fraction(1)),
    ("cm", "cm", Dimension.LENGTH, Fraction(1, 100)),
    ("[in_i]", "in", Dimension.LENGTH, _INCH),
    ("[ft_i]", "ft", Dimension.LENGTH, _FOOT),
    ("kg", "kg", Dimension.MASS, Fraction(1)),
    ("[lb_av]", "lb", Dimension.MASS, Fraction("0.45359237")),
    ("K", "K", Dimension.TEMPERATURE, Fraction(1)),
    ("1", "", Dimension.SHARE, Fraction(1)),
    ("%", "%", Dimension.SHARE, Fraction(1, 100)),
    ("L/cm[H2O]", "L/cmH2O", Dimension.COMPLIANCE, _LITRE / _CMH2O),
    ("mL/cm[H2O]", "mL/cmH2O", Dimension.COMPLIANCE, _LITRE / 1000 / _CMH2O),
    ("cm[H2O].s/L", "cmH2O/(L/s)", Dimension.RESISTANCE, _CMH2O / _LITRE),
    ("mL/kg", "mL/kg", Dimension.VOLUME_PER_MASS, _LITRE / 1000),
    ("L/[psi]", "L/psi", Dimension.VOLUME_PER_PRESSURE, _LITRE / _PSI),
    ("L/bar", "L/bar", Dimension.VOLUME_PER_PRESSURE, _LITRE / 100_000),
    ("{cylinder}", "cylinders", Dimension.COUNT, Fraction(1)),
)

_DIGITS = Context(prec=28)

UNITS: dict[str, Unit] = {
    code: Unit(code=code, label=label, dimension=dimension, factor=factor) for code, label, dimension, factor in _ROWS
} | {
    "Cel": Unit(
        code="Cel",
        label="°C",
        dimension=Dimension.TEMPERATURE,
        factor=Fraction(1),
        offset=Fraction("273.15"),
    )
}


def unit(code: str) -> Unit:
    """Give the unit with a UCUM code of the table; raises UnknownUnitError listing nothing but the code."""
    try:
        return UNITS[code]
    except KeyError:
        raise UnknownUnitError(f"{code!r} is not a unit this service knows") from None


def alternatives(code: str) -> tuple[str, ...]:
    """Give the codes of all units that measure the same as `code`, in the order of the table."""
    wanted = unit(code).dimension
    return tuple(other.code for other in UNITS.values() if other.dimension is wanted)


def convert(value: Decimal | int, from_code: str, to_code: str) -> Decimal:
    """Give `value` of one unit in another, exact to 28 significant digits.

    value: a finite Decimal or whole number. Raises UnknownUnitError, IncompatibleUnitsError, or ValueError when
    not finite. Source of the factors: see the module.
    """
    if isinstance(value, Decimal) and not value.is_finite():
        raise ValueError(f"only a finite number can be converted, not {value}")
    source, target = unit(from_code), unit(to_code)
    if source.dimension is not target.dimension:
        raise IncompatibleUnitsError(
            f"{source.label or from_code} measures {source.dimension.value}, "
            f"{target.label or to_code} measures {target.dimension.value}"
        )
    if source is target:
        return _DIGITS.plus(Decimal(value))
    exact = (Fraction(value) * source.factor + source.offset - target.offset) / target.factor
    with localcontext(_DIGITS):
        return Decimal(exact.numerator) / Decimal(exact.denominator)


def convert_number(value: float, from_code: str, to_code: str) -> float:
    """Give a float of one unit in another, for the model's own arithmetic; raises as `convert` does."""
    return float(convert(Decimal(value), from_code, to_code))
