"""Finds the line of each key in a TOML text, because the reader of TOML itself reports values without places.

A small scanner: it follows table headers, keys, strings and brackets, and never judges whether the text is right.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field

Place = tuple[str | int, ...]

_HEADER = re.compile(r"^\s*(\[\[?)\s*([^\[\]]+?)\s*\]\]?\s*(?:#.*)?$")
_KEY = re.compile(r"""^\s*((?:[A-Za-z0-9_-]+|"[^"]*"|'[^']*')(?:\s*\.\s*(?:[A-Za-z0-9_-]+|"[^"]*"|'[^']*'))*)\s*=""")
_TRIPLE = ('"""', "'''")


def key_lines(toml_text: str) -> dict[Place, int]:
    """Map each key's place, such as ("wrong_idea", 1, "formula"), to its line, counted from 1."""
    scan = _Scan()
    for number, line in enumerate(toml_text.split("\n"), start=1):
        scan.take(line, number)
    return scan.lines


def nearest_line(lines: dict[Place, int], place: Place) -> int:
    """Return the line of the place, or of the nearest key that encloses it; 0 where none is known."""
    for length in range(len(place), 0, -1):
        if place[:length] in lines:
            return lines[place[:length]]
    return 0


@dataclass
class _Scan:
    lines: dict[Place, int] = field(default_factory=dict)
    table: Place = ()
    counts: dict[Place, int] = field(default_factory=dict)
    depth: int = 0
    open_string: str = ""

    def take(self, line: str, number: int) -> None:
        rest = line
        if not self.depth and not self.open_string:
            header = _HEADER.match(line)
            if header:
                self._enter(_parts(header[2]), number, repeated=header[1] == "[[")
                return
            key = _KEY.match(line)
            if key:
                self._note((*self.table, *_parts(key[1])), number)
                rest = line[key.end() :]
        self._follow(rest)

    def _enter(self, parts: Place, number: int, *, repeated: bool) -> None:
        place: Place = ()
        for index, part in enumerate(parts):
            place = (*place, part)
            last = index == len(parts) - 1
            if last and repeated:
                self.counts[place] = self.counts.get(place, -1) + 1
                self.lines.setdefault(place, number)
            if place in self.counts:
                place = (*place, self.counts[place])
        self.table = place
        self._note(place, number)

    def _note(self, place: Place, number: int) -> None:
        for length in range(1, len(place) + 1):
            self.lines.setdefault(place[:length], number)

    def _follow(self, text: str) -> None:
        """Follow brackets and strings that stay open over the end of the line."""
        position = 0
        while position < len(text):
            if self.open_string:
                end = text.find(self.open_string, position)
                if end < 0:
                    return
                position, self.open_string = end + 3, ""
                continue
            if text[position : position + 3] in _TRIPLE:
                self.open_string = text[position : position + 3]
                position += 3
                continue
            character = text[position]
            if character == "#":
                return
            if character in "\"'":
                position = _after_string(text, position)
                continue
            self.depth = max(0, self.depth + (character in "[{") - (character in "]}"))
            position += 1


def _after_string(text: str, start: int) -> int:
    quote, position = text[start], start + 1
    while position < len(text) and text[position] != quote:
        position += 2 if quote == '"' and text[position] == "\\" else 1
    return position + 1


def _parts(dotted: str) -> Place:
    return tuple(part.strip().strip("\"'") for part in dotted.split("."))
