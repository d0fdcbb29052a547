"""Reads one content file: TOML front matter between two +++ lines, then a Markdown body.

A file that cannot be read yields a document with faults, never an exception, so that one check names every fault.
"""

from __future__ import annotations

import difflib
import hashlib
import re
import tomllib
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from decimal import Decimal
from pathlib import Path
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails

from quizapp.content.key_lines import Place, key_lines, nearest_line
from quizapp.content.plain_text import UnreadableTextError, read_text
from quizapp.errors import ContentFault

FENCE = "+++"

_AT_LINE = re.compile(r"\s*\(at line (\d+), column (\d+)\)$")
_AT_END = re.compile(r"\s*\(at end of document\)$")
_WORDS = {
    "missing": "this field is required and is not there",
    "bool_type": "must be true or false",
    "string_type": "must be text between quotes",
    "date_type": "must be a date such as 2027-03-31, without quotes",
    "list_type": "must be a list between square brackets",
    "tuple_type": "must be a list between square brackets",
    "dict_type": "must be a table of names and values",
    "model_type": "must be a table of names and values",
}

Header = TypeVar("Header", bound=BaseModel)


@dataclass(frozen=True, kw_only=True)
class Document:
    """One content file as read: header values, body, their lines, the hash and the faults found so far.

    `path` is relative to the content folder, with forward slashes. `content_hash` is the SHA-256 of the
    file's bytes after a leading byte order mark was taken off and line ends were made LF.
    """

    path: str
    header: Mapping[str, Any] = field(default_factory=dict)
    body: str = ""
    body_line: int = 0
    content_hash: str = ""
    lines: Mapping[Place, int] = field(default_factory=dict)
    faults: tuple[ContentFault, ...] = ()

    def line_of(self, *place: str | int) -> int:
        """Return the line of a key such as ("wrong_idea", 0, "formula"), or of what encloses it."""
        return nearest_line(dict(self.lines), place)

    def fault(self, message: str, *place: str | int, level: str = "error") -> ContentFault:
        """Make a fault of this file at the line of the key; without a key it concerns the whole file."""
        return ContentFault(path=self.path, line=self.line_of(*place), message=message, level=level)

    def fault_in_body(self, message: str, body_line: int, level: str = "error") -> ContentFault:
        """Make a fault at a line of the body, counted from 1 at the body's first line."""
        return ContentFault(path=self.path, line=self.body_line + body_line - 1, message=message, level=level)


def read_document(folder: Path, path: Path) -> Document:
    """Read one file below the content folder; whatever is wrong with it stands in `faults`."""
    name = path.relative_to(folder).as_posix()
    if path.is_symlink() or not path.resolve().is_relative_to(folder.resolve()):
        return _broken(name, 0, "is a link; write the file itself into the content folder")
    try:
        raw = path.read_bytes()
    except OSError as error:
        return _broken(name, 0, f"cannot be opened ({error.strerror}); check that it exists and may be read")
    return parse_document(name, raw)


def parse_document(path: str, raw: bytes) -> Document:
    """Take the bytes of one file with front matter apart; whatever is wrong stands in `faults`."""
    try:
        text = read_text(raw)
    except UnreadableTextError as error:
        return _broken(path, error.line, str(error))
    lines = text.split("\n")
    if lines[0].rstrip() != FENCE:
        return _broken(path, 1, f"the first line must be {FENCE}, which opens the front matter")
    closing = next((at for at, line in enumerate(lines[1:], start=1) if line.rstrip() == FENCE), 0)
    if not closing:
        return _broken(path, 1, f"the front matter is never closed; add a line {FENCE} after its last field")
    document = parse_toml(path, "\n".join(["", *lines[1:closing]]))
    body = "\n".join(lines[closing + 1 :])
    return replace(document, body=body, body_line=closing + 2, content_hash=content_hash(raw))


def parse_toml_file(folder: Path, path: Path) -> Document:
    """Read a file that is TOML throughout, such as a device profile or the list of competencies."""
    name = path.relative_to(folder).as_posix()
    try:
        raw = path.read_bytes()
        text = read_text(raw)
    except OSError as error:
        return _broken(name, 0, f"cannot be opened ({error.strerror}); check that it exists and may be read")
    except UnreadableTextError as error:
        return _broken(name, error.line, str(error))
    return replace(parse_toml(name, text), content_hash=content_hash(raw))


def parse_toml(path: str, text: str) -> Document:
    """Read TOML text into a document without a body; numbers with a point become Decimal."""
    try:
        header = tomllib.loads(text, parse_float=Decimal)
    except tomllib.TOMLDecodeError as error:
        return _syntax_fault(path, text, str(error))
    except RecursionError:
        return _broken(path, 1, "brackets are nested too deeply to be read")
    document = Document(path=path, header=header, lines=key_lines(text))
    faults = tuple(
        document.fault(f"{dotted(place)} is {value}, which is not a number; write a finite number", *place)
        for place, value in _leaves(header)
        if isinstance(value, Decimal) and not value.is_finite()
    )
    return replace(document, faults=faults, header={} if faults else header)


def validate(document: Document, model: type[Header]) -> tuple[Header | None, list[ContentFault]]:
    """Check the header against a strict pydantic model; returns the model, or None with every fault and its line."""
    if document.faults:
        return None, list(document.faults)
    try:
        return model.model_validate(dict(document.header)), []
    except ValidationError as error:
        names = _field_names(model)
        return None, [as_fault(document, detail, names) for detail in error.errors(include_url=False)]


def content_hash(raw: bytes) -> str:
    """Return the SHA-256 (64 hex digits) of the bytes without byte order mark and with LF line ends."""
    return hashlib.sha256(raw.removeprefix(b"\xef\xbb\xbf").replace(b"\r\n", b"\n").replace(b"\r", b"\n")).hexdigest()


def suggest(word: str, known: Iterable[str]) -> str:
    """Return ' (did you mean "…"?)' for the nearest known word, or an empty text."""
    nearest = difflib.get_close_matches(word, list(known), n=1, cutoff=0.5)
    return f' (did you mean "{nearest[0]}"?)' if nearest else ""


def dotted(place: Iterable[str | int]) -> str:
    """Write a place the way an author would say it: wrong_idea 2, formula -> "wrong_idea 2 formula"."""
    return " ".join(str(part + 1) if isinstance(part, int) else part for part in place)


def as_fault(document: Document, detail: ErrorDetails, known: Collection[str], within: Place = ()) -> ContentFault:
    """Turn a finding of pydantic into a fault; `within` is the table checked, `known` the names it may use."""
    place = (*within, *(part for part in detail["loc"] if not _is_inner(part)))
    if detail["type"] == "extra_forbidden":
        return document.fault(f'"{place[-1]}" is not a field of this file{suggest(str(place[-1]), known)}', *place)
    words = _WORDS.get(detail["type"], _sentence(detail["msg"]))
    found = detail.get("input")
    shown = (
        f"; found {found!r}" if isinstance(found, str | int | bool | Decimal) and detail["type"] != "missing" else ""
    )
    name = dotted(place)
    return document.fault(f"{name}: {words}{shown}" if name else words, *place)


def _is_inner(part: str | int) -> bool:
    """Whether a part of a place is pydantic's own mark of a validator or of one side of a union."""
    return isinstance(part, str) and ("[" in part or part in {"str", "LetTable"})


def _sentence(message: str) -> str:
    message = message.removeprefix("Value error, ").removeprefix("Assertion failed, ")
    return message[:1].lower() + message[1:]


def _field_names(model: type[BaseModel]) -> set[str]:
    schema = model.model_json_schema()
    parts = [schema, *schema.get("$defs", {}).values()]
    return {name for part in parts for name in part.get("properties", {})}


def _leaves(value: object, place: Place = ()) -> Iterator[tuple[Place, object]]:
    if isinstance(value, dict):
        for key, inner in value.items():
            yield from _leaves(inner, (*place, key))
    elif isinstance(value, list):
        for index, inner in enumerate(value):
            yield from _leaves(inner, (*place, index))
    else:
        yield place, value


def _syntax_fault(path: str, text: str, message: str) -> Document:
    at = _AT_LINE.search(message)
    line = int(at[1]) if at else text.count("\n") + 1
    words = _AT_END.sub(" (at the end of the front matter)", _AT_LINE.sub("", message))
    if "overwrite a value" in words or ("declare" in words and "twice" in words):
        words = "a field is given twice; keep one"
    column = f", column {at[2]}" if at else ""
    return _broken(path, line, f"the front matter cannot be read as TOML{column}: {words}")


def _broken(path: str, line: int, message: str) -> Document:
    return Document(path=path, faults=(ContentFault(path=path, line=line, message=message),))
