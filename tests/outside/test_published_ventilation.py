"""Every check value of the table that is marked a test case, computed by the product within its tolerance."""

import csv
from pathlib import Path

import pytest
from ventilation_checks import CHECKS, HELD, SPOKEN_STATES

TABLE = Path(__file__).with_name("check_values_ventilation.csv")


def rows():
    with TABLE.open(encoding="utf-8", newline="") as table:
        return list(csv.DictReader(table))


TEST_CASES = [row for row in rows() if row["use"] == "test case"]


def spoken(row):
    return f"{row['id']}: {row['inputs']} [{row['basis']}: {row['source']}]"


@pytest.mark.parametrize("row", TEST_CASES, ids=spoken)
def test_the_product_gives_the_published_value(row):
    given = CHECKS[row["id"]]()
    if row["unit"] == "state":
        assert given is SPOKEN_STATES[row["answer"]]
    else:
        assert given == pytest.approx(float(row["answer"]), abs=float(row["tolerance"]))


@pytest.mark.parametrize("row", [row for row in rows() if row["id"] in HELD], ids=spoken)
def test_nominal_contents_are_those_of_the_table(row):
    assert HELD[row["id"]]() == float(row["answer"])


def test_no_test_case_is_left_without_a_check_and_no_check_without_its_row():
    assert {row["id"] for row in TEST_CASES} == set(CHECKS)


def test_every_row_is_a_test_case_or_reference_data_with_a_source_named():
    assert {row["use"] for row in rows()} == {"test case", "reference data"}
    assert all(row["basis"] and row["source"] for row in rows())


def test_the_table_is_the_whole_table():
    assert len(TEST_CASES) == 80
    assert len({row["id"] for row in rows()}) == len(rows())
