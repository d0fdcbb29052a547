"""Cylinder sizes: a letter belongs to its system, and nominal contents follow the gas."""

import pytest

from quizapp.ventilation.cylinders import (
    UK_CYLINDERS,
    US_CYLINDERS,
    SizeSystem,
    systems_using,
    uk_cylinder,
    us_cylinder,
)
from quizapp.ventilation.gas_supply import contents_by_factor_l, contents_l
from quizapp.ventilation.real_oxygen import real_contents_l


@pytest.mark.parametrize("size", UK_CYLINDERS.values(), ids=lambda size: size.letter)
def test_nominal_contents_are_real_gas_at_137_bar_and_the_bedside_rule_at_230(size):
    """Seen in the sizes (CoolProp at 15 C); water capacities from memory."""
    if size.full_bar == 230:
        assert contents_l(size.water_l, size.full_bar) == pytest.approx(size.nominal_l, rel=0.001)
    else:
        assert real_contents_l(size.water_l, size.full_bar, 15) == pytest.approx(size.nominal_l, rel=0.04)
        assert contents_l(size.water_l, size.full_bar) < size.nominal_l


@pytest.mark.parametrize(("letter", "low", "high"), [("D", 300, 425), ("E", 560, 682), ("M", 3000, 3450)])
def test_contents_at_2000_to_2200_psi_by_factor_are_those_printed(letter, low, high):
    """MD0542 and respiratory-care tables; the E factor is rounded down, so 560 L at 2000 psi."""
    factor = us_cylinder(letter).factor_l_psi
    assert low <= contents_by_factor_l(factor, 2000) <= contents_by_factor_l(factor, 2200) <= high


def test_one_letter_two_cylinders():
    assert systems_using("D") == systems_using("E") == (SizeSystem.UK, SizeSystem.US)
    assert systems_using("CD") == (SizeSystem.UK,)
    assert systems_using("M") == (SizeSystem.US,)
    assert systems_using("Q") == ()
    assert contents_by_factor_l(us_cylinder("G").factor_l_psi, 2200) > 1.5 * uk_cylinder("G").nominal_l


@pytest.mark.parametrize(("look_up", "sizes"), [(uk_cylinder, UK_CYLINDERS), (us_cylinder, US_CYLINDERS)])
def test_an_unknown_letter_names_the_sizes_known(look_up, sizes):
    with pytest.raises(ValueError, match=", ".join(sizes)):
        look_up("Q")
