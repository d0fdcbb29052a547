"""Looks for what could tell who a patient was in a short note, so that it never gets into the log of real use.

A strict reader, not a clever one: it refuses too much rather than too little, and a name alone it can only suspect.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

DIGITS_IN_A_ROW = 6
_SPACED = re.compile(r"(?<!\d)\d(?:[ ./\-\u00a0\u2009]?\d)+(?!\d)")
_WRITTEN_DAY = re.compile(
    r"(?<!\d)\d{1,2}(?:st|nd|rd|th)?\.?\s?(?:of\s)?(?:jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec)[a-z]*",
    re.IGNORECASE,
)
_DAY = re.compile(r"(?<!\d)\d{1,4}[./\-]\d{1,2}[./\-]\d{1,4}(?!\d)")
_AT = re.compile(r"\S@\S")
_POST_CODE = re.compile(r"\b[A-Z]{1,2}\d[A-Z\d]?\s?\d[A-Z]{2}\b", re.IGNORECASE)
_BORN = re.compile(r"\b(?:born|birth|birthday|d\.?o\.?b\.?)\b", re.IGNORECASE)
_TITLE = re.compile(r"\b(?:mr|mrs|ms|miss|master|sir|lady)\b\.?\s+[A-Z][\w'\u2019-]*", re.IGNORECASE)
_LABEL = re.compile(
    r"\b(?:name|surname|called|address|lives? at|phone|tel|mobile|hospital number|case number|chart number)\b",
    re.IGNORECASE,
)
_STREET = re.compile(r"\b\d{1,4}[a-z]?\s+[A-Z][a-z]+\s+(?:street|road|lane|close|avenue|terrace|way)\b", re.IGNORECASE)
_AGE = re.compile(
    r"\b(?:aged?|age of)\s+\d|\b\d{1,3}\s*(?:-| )?\s*(?:years?|yrs?|y/?o|y|months?)\b(?:\s*-?\s*old)?", re.IGNORECASE
)
_CAPITALISED = re.compile(r"(?<![.!?]\s)(?<!^)\b[A-Z][a-z]{2,}\b")
_TWO_NAMES = re.compile(r"\b[A-Z][a-z]+(?:[-'\u2019][A-Z][a-z]+)?\s+[A-Z][a-z]+\b")
_INITIALS = re.compile(r"\b[A-Z]\.\s?(?:[A-Z]\.|[A-Z][a-z]+)")
KNOWN_WORDS = frozenset(
    {
        "PEEP",
        "Boat",
        "Winch",
        "Helicopter",
        "Monday",
        "Tuesday",
        "Wednesday",
        "Thursday",
        "Friday",
        "Saturday",
        "Sunday",
    }
)


@dataclass(frozen=True, kw_only=True)
class Suspicion:
    """What looks like an identifier: the words, what it looks like, and whether it is refused whatever is said."""

    words: str
    looks_like: str
    is_certain: bool


_CERTAIN = (
    (_AT, "an e-mail address"),
    (_DAY, "a date"),
    (_WRITTEN_DAY, "a date"),
    (_BORN, "a date of birth"),
    (_TITLE, "a name with a title"),
    (_LABEL, "a name, a number or an address"),
    (_STREET, "an address"),
    (_POST_CODE, "a post code"),
    (_AGE, "an age"),
)


def suspicions(note: str) -> tuple[Suspicion, ...]:
    """Return everything in a note (up to some hundred characters) that looks as if it told who a patient was."""
    found = [
        Suspicion(words=match.group().strip(), looks_like=looks_like, is_certain=True)
        for pattern, looks_like in _CERTAIN
        if (match := pattern.search(note))
    ]
    for match in _SPACED.finditer(note):
        if sum(sign.isdigit() for sign in match.group()) >= DIGITS_IN_A_ROW:
            found.append(Suspicion(words=match.group(), looks_like="a number of a person", is_certain=True))
    if any(one.is_certain for one in found):
        return tuple(found)
    names = (
        _TWO_NAMES.search(note)
        or _INITIALS.search(note)
        or next((match for match in _CAPITALISED.finditer(note) if match.group() not in KNOWN_WORDS), None)
    )
    if names:
        found.append(Suspicion(words=names.group(), looks_like="a name", is_certain=False))
    return tuple(found)
