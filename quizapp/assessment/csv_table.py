"""Reads a table from the bytes of a CSV file, strictly: every fault is named with its row, nothing is guessed."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from quizapp.assessment.csv_cells import rearm
from quizapp.errors import ContentFault

DELIMITERS = (",", ";", "\t")
DELIMITER_WORDS = {",": "comma", ";": "semicolon", "\t": "tab"}
MOST_ROWS = 100_000
MOST_FAULTS = 100
OTHER_FILES = {b"PK\x03\x04": "a zipped file or spreadsheet", b"\xd0\xcf\x11\xe0": "a spreadsheet", b"%PDF": "a PDF"}
UTF16 = (b"\xff\xfe", b"\xfe\xff")


@dataclass(frozen=True, kw_only=True)
class Columns:
    """The column names a file must have, and those it may have."""

    required: tuple[str, ...]
    optional: tuple[str, ...] = ()

    @property
    def known(self) -> tuple[str, ...]:
        """All of them."""
        return self.required + self.optional


@dataclass(frozen=True, kw_only=True)
class Row:
    """One row: the line of the file on which it begins, and the text under each column, outer spaces dropped."""

    line: int
    cells: Mapping[str, str]


@dataclass(frozen=True, kw_only=True)
class Table:
    """The rows that could be read, every fault, and how the file was separated."""

    rows: tuple[Row, ...] = ()
    faults: tuple[ContentFault, ...] = ()
    delimiter: str = ","


class Faults:
    """Collects faults and warnings of one file, at most 100 of each, and counts the rest."""

    def __init__(self, path: str) -> None:
        self.path = path
        self._kept: dict[str, list[ContentFault]] = {"error": [], "warning": []}
        self._more = {"error": 0, "warning": 0}

    def add(self, line: int, message: str, *, level: str = "error") -> None:
        """Keep one fault of a line (0: the whole file)."""
        if len(self._kept[level]) < MOST_FAULTS:
            self._kept[level].append(ContentFault(path=self.path, line=line, message=message, level=level))
        else:
            self._more[level] += 1

    @property
    def all(self) -> tuple[ContentFault, ...]:
        """The faults in the order of the rows, each kind with a last line for those not shown."""
        shown = sorted([*self._kept["error"], *self._kept["warning"]])
        for level, count in self._more.items():
            if count:
                message = f"and {count} more like these; the first {MOST_FAULTS} are shown"
                shown.append(ContentFault(path=self.path, line=shown[-1].line, message=message, level=level))
        return tuple(shown)

    @property
    def has_errors(self) -> bool:
        """Whether anything refuses the file."""
        return bool(self._kept["error"])


def read_table(content: bytes, columns: Columns, *, path: str) -> Table:
    """Read a CSV file in UTF-8 (with or without byte order mark) or UTF-16 with one.

    The separator (comma, semicolon or tab) is the one with which the header matches. A table with faults has every
    fault of its form; rows that could be read come along, so that their contents can be checked in the same run.
    Source: RFC 4180 for quoting.
    """
    faults = Faults(path)
    text = _decode(content, faults)
    if text is None:
        return Table(faults=faults.all)
    delimiter, header = _header(text, columns, faults)
    if header is None:
        return Table(faults=faults.all, delimiter=delimiter)
    rows = tuple(_rows(text, delimiter, header, faults))
    if not rows and not faults.all:
        faults.add(1, "there is a header but no row below it")
    return Table(rows=rows, faults=faults.all, delimiter=delimiter)


def _decode(content: bytes, faults: Faults) -> str | None:
    for magic, what in OTHER_FILES.items():
        if content.startswith(magic):
            faults.add(0, f"this is {what}, not a CSV file; save the sheet as CSV in UTF-8 and take that file")
            return None
    encoding = "utf-16" if content.startswith(UTF16) else "utf-8-sig"
    try:
        text = content.decode(encoding)
    except UnicodeDecodeError as fault:
        line = content[: fault.start].count(b"\n") + 1
        faults.add(line, f"byte {fault.start} is not {encoding[:6].upper().rstrip('-')}; save the file as CSV in UTF-8")
        return None
    if "\x00" in text:
        faults.add(text[: text.index("\x00")].count("\n") + 1, "the file holds a NUL character; save it again as CSV")
        return None
    if not text.strip():
        faults.add(0, "the file is empty")
        return None
    return text


def _header(text: str, columns: Columns, faults: Faults) -> tuple[str, tuple[str, ...] | None]:
    readings = {delimiter: _first_row(text, delimiter) for delimiter in DELIMITERS}
    delimiter = max(DELIMITERS, key=lambda one: len(set(readings[one]) & set(columns.known)))
    header = readings[delimiter]
    for name in sorted({name for name in header if header.count(name) > 1}):
        faults.add(1, f'the column "{name}" stands there twice')
    for name in columns.required:
        if name not in header:
            faults.add(1, f'the column "{name}" is missing; needed are {", ".join(columns.required)}')
    for name in header:
        if name not in columns.known:
            faults.add(1, f'the column "{name[:40]}" is not known; known are {", ".join(columns.known)}')
    return delimiter, None if faults.all else tuple(header)


def _first_row(text: str, delimiter: str) -> list[str]:
    try:
        row = next(csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True), [])
    except csv.Error:
        return []
    return ["_".join(cell.split()).casefold() for cell in row]


def _rows(text: str, delimiter: str, header: Sequence[str], faults: Faults) -> Iterator[Row]:
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    next(reader)
    count, line = 0, reader.line_num + 1
    try:
        for cells in reader:
            here, line = line, reader.line_num + 1
            if not any(cell.strip() for cell in cells):
                continue
            count += 1
            if count > MOST_ROWS:
                faults.add(here, f"more than {MOST_ROWS} rows; split the file")
                return
            if len(cells) != len(header):
                faults.add(here, f"this row has {len(cells)} cells, the header has {len(header)}")
                continue
            yield Row(line=here, cells={name: rearm(cell.strip()) for name, cell in zip(header, cells, strict=True)})
    except csv.Error as fault:
        faults.add(line, f"from here on the file cannot be read ({fault}); look for a quotation mark without its pair")
