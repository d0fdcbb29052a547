"""Every value a draw can take with its printed form, worked out once for a family and a device."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal

from quizapp.assessment.families import Family, ListDraw, RangeDraw
from quizapp.assessment.formula import FormulaFault, Held
from quizapp.assessment.formula_arithmetic import CONTEXT
from quizapp.assessment.placeholders import print_exact, print_number
from quizapp.assessment.questions import Drawn
from quizapp.ventilation.device_profile import DeviceProfile

MOST_KEPT = 1000
OWN_DEVICE = "profile."


def draw_tables(family: Family, known: Mapping[str, Held]) -> tuple[tuple[Drawn, ...], ...]:
    """Return for each draw, in the order written, all it can give; empty for one that has to be worked out each time.

    That is one that hangs on what was drawn before it or on another device, has very many values, or is at fault.
    """
    held = known.get("profile")
    profile = held if isinstance(held, DeviceProfile) else None
    if profile not in family.tables:
        family.tables[profile] = tuple(_table(design, known) for design in family.draws)
    return family.tables[profile]


def _table(design: RangeDraw | ListDraw, known: Mapping[str, Held]) -> tuple[Drawn, ...]:
    bounds = design.values if isinstance(design, ListDraw) else (design.low, design.high)
    if not all(name.startswith(OWN_DEVICE) for bound in bounds for name in bound.names):
        return ()
    try:
        if isinstance(design, ListDraw):
            values = [item.number(known) for item in design.values]
            printed = list(design.words) or [print_exact(value) for value in values]
        else:
            values = _range(design, design.low.number(known), design.high.number(known))
            printed = [print_number(value, design.decimals(values[0])) for value in values]
    except FormulaFault:
        return ()
    return tuple(
        Drawn(name=design.name, value=value, printed=text, unit=design.unit)
        for value, text in zip(values, printed, strict=True)
    )


def _range(design: RangeDraw, low: Decimal, high: Decimal) -> list[Decimal]:
    count = design.count(low, high)
    if not 1 <= count <= MOST_KEPT:
        return []
    return [CONTEXT.add(low, CONTEXT.multiply(design.step, Decimal(place))) for place in range(count)]
