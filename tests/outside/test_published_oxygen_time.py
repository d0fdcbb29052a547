"""The key of the oxygen-time family against sums worked by hand from published cylinder rules."""

from dataclasses import replace
from decimal import Decimal

import pytest

from quizapp.assessment.drawing import BlankValue, Numbers, work_out
from quizapp.content.library import read_library
from tests.sample_families import CHECKOUT

FAMILY = read_library(CHECKOUT).family("N27")


def worked(water: str, pressure: str, reserve: str, flow: str, minute_volume: str) -> BlankValue:
    drawn = {"water": water, "pressure": pressure, "reserve": reserve, "flow": flow, "minute_volume": minute_volume}
    values = {name: Decimal(value) for name, value in drawn.items()}
    usable = FAMILY.derived[0].formula.number(values)
    (blank,) = work_out(replace(FAMILY, derived=()), Numbers(values={**values, "usable": usable}, case=None))
    return blank


def test_the_small_cylinder() -> None:
    """2 L, 137 bar, reserve 20 bar, 12 L/min: 19.5 min (constructed by hand from contents = water volume x bar;
    that contents follow pressure: Lutman & Petros, Emerg Med J 2006;23:703)."""
    blank = worked("2", "137", "20", "12", "6")
    ideas = {idea.idea.name: idea.value for idea in blank.ideas}
    assert blank.key == Decimal("19.5")
    assert ideas["hours"] == Decimal("0.325")
    assert ideas["no-reserve"].quantize(Decimal("0.0001")) == Decimal("22.8333")
    assert ideas["reserve-added"].quantize(Decimal("0.0001")) == Decimal("26.1667")
    assert ideas["minute-volume"] == Decimal(39)


@pytest.mark.parametrize(("gauge_psi", "litres"), [("2000", "320"), ("1000", "160")])
def test_the_american_rule_for_a_d_cylinder(gauge_psi: str, litres: str) -> None:
    """Size D holds 0.16 L per psi (US Army Medical Department subcourse MD0542), which is a water volume of 2.32 L."""
    bar = Decimal(gauge_psi) * Decimal("0.0689476")
    water = Decimal("0.16") / Decimal("0.0689476")
    blank = worked(str(water), str(bar), "0", "10", "6")
    assert abs(blank.key - Decimal(litres) / 10) < Decimal("0.001")


def test_too_long_is_the_dangerous_direction() -> None:
    assert FAMILY.blanks[0].danger == "too high"
