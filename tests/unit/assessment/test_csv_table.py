"""CSV files as people really send them: each reading strict, each fault with its row."""

from __future__ import annotations

import csv
import io

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quizapp.assessment.csv_cells import disarm
from quizapp.assessment.csv_table import MOST_FAULTS, MOST_ROWS, Columns, read_table

COLUMNS = Columns(required=("number", "name"), optional=("note",))


def read(content: bytes | str) -> list[dict[str, str]]:
    table = read_table(content.encode() if isinstance(content, str) else content, COLUMNS, path="f.csv")
    assert table.faults == ()
    return [dict(row.cells) for row in table.rows]


def faults(content: bytes | str) -> list[tuple[int, str]]:
    table = read_table(content.encode() if isinstance(content, str) else content, COLUMNS, path="f.csv")
    return [(fault.line, fault.message) for fault in table.faults]


PLAIN = [{"number": "1", "name": "Bø"}]


@pytest.mark.parametrize(
    "content",
    [
        "number,name\n1,Bø\n".encode(),
        "number,name\r\n1,Bø\r\n".encode(),
        "number,name\r1,Bø".encode(),
        "﻿number,name\n1,Bø".encode(),
        "number;name\n1;Bø\n".encode(),
        "number\tname\n1\tBø\n".encode(),
        'number,name\n"1","Bø"\n'.encode(),
        "number,name\n 1 , Bø \n\n,\n".encode(),
        " Number ,NAME\n1,Bø\n".encode(),
        "number,name\n1,Bø".encode("utf-16"),
        "﻿number;name\n1;Bø".encode("utf-16-be"),
    ],
    ids=lambda content: repr(content[:24]),
)
def test_the_same_table_in_every_form(content: bytes) -> None:
    assert read(content) == PLAIN


def test_the_separator_is_the_one_with_which_the_header_matches() -> None:
    assert read("number;name;note\n1;a,b;c,d\n") == [{"number": "1", "name": "a,b", "note": "c,d"}]


def test_a_quoted_cell_may_hold_lines_and_rows_keep_their_line_numbers() -> None:
    table = read_table(b'number,name,note\n1,a,"x\ny"\n2,b,\n', COLUMNS, path="f.csv")
    assert [(row.line, row.cells["note"]) for row in table.rows] == [(2, "x\ny"), (4, "")]


@pytest.mark.parametrize(
    ("content", "line", "words"),
    [
        (b"", 0, "empty"),
        (b"\n \n", 0, "empty"),
        (b"number,name\n", 1, "no row below"),
        (b"PK\x03\x04rest", 0, "spreadsheet"),
        (b"\xd0\xcf\x11\xe0rest", 0, "spreadsheet"),
        (b"%PDF-1.7", 0, "PDF"),
        (b"number,name\n1,a\n2,B\xf8\n", 3, "byte 19 is not UTF-8"),
        (b"number,name\n1,a\x00b\n", 2, "NUL"),
        (b"number\n1\n", 1, '"name" is missing'),
        (b"number,name,number\n1,a,2\n", 1, "stands there twice"),
        (b"number,name,role\n1,a,assessor\n", 1, '"role" is not known'),
        (b"number|name\n1|a\n", 1, '"number" is missing'),
        (b"number,name\n1,a,b\n", 2, "3 cells, the header has 2"),
        (b"number,name\n1\n", 2, "1 cells, the header has 2"),
        (b'number,name\n1,a\n2,"b\n3,c\n', 3, "quotation mark"),
        (b'number,name\n1,"a"b\n', 2, "quotation mark"),
        (b"number,name\n1," + b"x" * 131_073 + b"\n", 2, "cannot be read"),
    ],
)
def test_what_cannot_be_read_is_named_with_its_line(content: bytes, line: int, words: str) -> None:
    found = faults(content)
    assert any(at == line and words in message for at, message in found), found


def test_every_ragged_row_is_named_and_the_others_are_still_read() -> None:
    table = read_table(b"number,name\n1\n2,b\n3,c,d\n", COLUMNS, path="f.csv")
    assert [fault.line for fault in table.faults] == [2, 4]
    assert [row.line for row in table.rows] == [3]


def test_at_most_a_hundred_faults_are_shown_and_the_rest_counted() -> None:
    found = faults("number,name\n" + "1\n" * (MOST_FAULTS + 7))
    assert len(found) == MOST_FAULTS + 1
    assert "and 7 more" in found[-1][1]


def test_more_rows_than_allowed_are_refused() -> None:
    rows = "1,a\n" * (MOST_ROWS + 1)
    assert any("more than 100000 rows" in message for _, message in faults("number,name\n" + rows))
    assert len(read("number,name\n" + "1,a\n" * MOST_ROWS)) == MOST_ROWS


TEXT = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\x00\r"), max_size=20)


@given(st.lists(st.tuples(TEXT, TEXT), min_size=1, max_size=5), st.sampled_from([",", ";", "\t"]))
def test_what_was_disarmed_and_written_comes_back(rows: list[tuple[str, str]], delimiter: str) -> None:
    """Source for disarming: OWASP ASVS 5.0, 1.2.10; for quoting: RFC 4180, written by the standard library."""
    written = io.StringIO(newline="")
    writer = csv.writer(written, delimiter=delimiter, quoting=csv.QUOTE_ALL)
    writer.writerow(["number", "name"])
    writer.writerows([[disarm(cell.strip()) for cell in row] for row in rows])
    table = read_table(written.getvalue().encode(), COLUMNS, path="f.csv")
    expected = [[cell.strip() for cell in row] for row in rows if any(disarm(cell.strip()).strip() for cell in row)]
    assert [[row.cells["number"], row.cells["name"]] for row in table.rows] == expected
