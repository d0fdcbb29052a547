"""Cells a spreadsheet would run."""

from __future__ import annotations

import csv
import io

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quizapp.assessment.csv_cells import TRIGGERS, disarm, rearm

HOSTILE = st.text(st.sampled_from("=+-@\t\r\n'＝＋－＠ a1\u00a0"), max_size=8) | st.text(max_size=12)


@given(HOSTILE)
def test_what_goes_out_comes_back(cell):
    assert rearm(disarm(cell)) == cell


@given(HOSTILE)
def test_no_cell_begins_with_a_trigger_even_behind_spaces(cell):
    written = disarm(cell)
    assert written.lstrip(" \u00a0\u3000")[:1] not in TRIGGERS


@given(st.lists(st.lists(HOSTILE.filter(lambda cell: "\x00" not in cell), min_size=2, max_size=2), max_size=5))
def test_a_whole_file_round_trips(rows):
    out = io.StringIO(newline="")
    csv.writer(out, quoting=csv.QUOTE_ALL).writerows([[disarm(cell) for cell in row] for row in rows])
    back = csv.reader(io.StringIO(out.getvalue(), newline=""), strict=True)
    assert [[rearm(cell) for cell in row] for row in back] == rows


@pytest.mark.parametrize("cell", ["Ada", "", "2026-03-14", "'tis", "a=b", "O'Mara"])
def test_harmless_cells_stay_as_they_are(cell):
    assert disarm(cell) == cell


@pytest.mark.parametrize("cell", ['=HYPERLINK("x")', "+1", "-2", "@a", "\tx", "\rx", "＝1", "'=1", " =1"])
def test_dangerous_cells_are_marked_as_text(cell):
    assert disarm(cell) == "'" + cell
