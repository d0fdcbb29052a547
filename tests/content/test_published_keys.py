"""Key formulas of families at the numbers of published and computed check values; each row names its source."""

import csv
from decimal import Decimal
from functools import cache

import pytest
from CoolProp.CoolProp import PropsSI

from quizapp.assessment.drawing import number
from quizapp.content.library import Library, read_library
from tests.sample_families import CHECKOUT

#: family, numbers as the family names them, id of the check value whose answer the key must give, in the key's unit
PUBLISHED = (
    ("N07", {"inflation": "1", "expiration": "3"}, "CV015", 1),
    ("N03", {"volume": "500", "rate": "14"}, "CV200", 1),
    ("N04", {"volume": "500", "dead": "150", "rate": "14"}, "CV199", 1),
    ("N12", {"flow": "60", "inflation": "0.5"}, "CV021", 1000),
    ("N17", {"volume": "500", "peak": "25", "baseline": "5"}, "CV042", 1),
    ("N22", {"resistance": "5", "compliance": "50"}, "CV027", 1),
    ("N24", {"trapped": "278.958", "compliance": "95"}, "CV031", 1),
    ("N34", {"fraction": "0.28"}, "CV138", 1),
    ("N34", {"fraction": "0.35"}, "CV139", 1),
    ("N35", {"oxygen": "10", "air": "30"}, "CV146", 0.01),
    ("N36", {"total": "12", "fraction": "0.5"}, "CV148", 1),
    ("N38", {"fraction": "0.21", "barometric": "760", "carbon": "40"}, "CV173", 1),
    ("N41", {"kilopascal": "4.0"}, "CV212", 1),
    ("N42", {"rate": "4", "now": "60", "target": "40"}, "CV209", 1),
)


@cache
def library() -> Library:
    return read_library(CHECKOUT)


@cache
def check_values() -> dict[str, dict[str, str]]:
    path = CHECKOUT / "tests" / "outside" / "check_values_ventilation.csv"
    with path.open(encoding="utf-8", newline="") as table:
        return {row["id"]: row for row in csv.DictReader(table)}


def key_at(code: str, given: dict[str, str], blank: int = 0) -> Decimal:
    """Work out a family's steps and key at given numbers."""
    family = library().families[code]
    values = {name: Decimal(value) for name, value in given.items()}
    for step in family.derived:
        value = number(step.name, step.formula, dict(values))
        values[step.name] = value if step.decimals is None else round(value, step.decimals)
    return number(code, family.blanks[blank].formula, dict(values))


@pytest.mark.parametrize(
    ("code", "given", "check", "unit"), PUBLISHED, ids=[f"{code}-{check}" for code, _, check, _ in PUBLISHED]
)
def test_a_key_formula_gives_the_published_value(code: str, given: dict[str, str], check: str, unit: float) -> None:
    """`unit` turns the unit of the check value into the unit of the key."""
    row = check_values()[check]
    found = float(key_at(code, given))
    assert found == pytest.approx(float(row["answer"]) * unit, abs=float(row["tolerance"]) * unit), row["source"]


def test_expiration_of_twelve_breaths_at_one_to_two() -> None:
    """Twelve a minute at 1:2: 1.67 s of inflation and 3.33 s of expiration (CV018, textbook example from memory)."""
    assert float(key_at("N09", {"rate": "12", "parts": "2"})) == pytest.approx(5 - 1.6667, abs=0.01)


def test_what_is_left_after_whole_time_constants() -> None:
    """63, 95 and 99 % out after one, three and five time constants (CV022, CV024, CV026)."""
    for count, check in ((1, "CV022"), (3, "CV024"), (5, "CV026")):
        row = check_values()[check]
        left = float(key_at("N23", {"expiration": str(count), "tau": "1"}))
        assert 100 - left == pytest.approx(float(row["answer"]), abs=float(row["tolerance"]))


def test_alveolar_ventilation_that_gives_the_arterial_value_of_the_table() -> None:
    """200 mL/min of carbon dioxide at 4.2 L/min of alveolar ventilation: 41.1 mmHg (CV207)."""
    row = check_values()["CV207"]
    assert float(key_at("N44", {"output": "200", "target": row["answer"]})) == pytest.approx(4.2, abs=0.01)


def test_litres_saved_are_the_rest_of_what_a_mix_draws() -> None:
    """12 L/min at 0.5 draws 4.4051 L/min (CV148), and the rest is saved (one step is printed rounded)."""
    drawn = float(check_values()["CV148"]["answer"])
    assert float(key_at("N37", {"total": "12", "fraction": "0.5", "leg": "10"})) == pytest.approx(
        10 * (12 - drawn), abs=0.5
    )


@pytest.mark.parametrize(("sex", "inches", "check"), [("45.5", 66, "CV155"), ("50", 66, "CV158"), ("50", 72, "CV160")])
def test_predicted_weight_of_the_card(sex: str, inches: int, check: str) -> None:
    """The card counts in inches; 0.91 kg a centimetre and 2.3 kg an inch differ by less than 0.2 kg."""
    row = check_values()[check]
    height = str(Decimal(inches) * Decimal("2.54"))
    assert float(key_at("N01", {"sex": sex, "height": height})) == pytest.approx(float(row["answer"]), abs=0.2)


def test_usable_litres_follow_the_published_worked_example() -> None:
    """US size D, 2000 psi less 200 at 0.16 L/psi: 288 L (CV091). The same equation, in the factor's unit."""
    row = check_values()["CV091"]
    found = key_at("N26", {"water": "0.16", "pressure": "2000", "reserve": "200"})
    assert float(found) == pytest.approx(float(row["answer"]), abs=float(row["tolerance"]))


def test_the_cold_cylinder_stays_near_the_real_gas() -> None:
    """Every cold cylinder asked about lies within its tolerance of real oxygen from an outside library (CoolProp)."""
    profile = library().profiles[0]
    for seed in range(60):
        question = library().draw("N32", profile, seed)
        drawn = {each.name: float(each.value) for each in question.drawn}
        pascal = (drawn["pressure"] + 1.01325) * 1e5
        density = PropsSI("D", "P", pascal, "T", drawn["warm"] + 273.15, "Oxygen")
        real = PropsSI("P", "D", density, "T", drawn["cold"] + 273.15, "Oxygen") / 1e5 - 1.01325
        assert float(question.blanks[0].key) == pytest.approx(real, abs=3.1)
