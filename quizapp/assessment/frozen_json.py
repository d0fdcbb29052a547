"""Writes frozen dataclasses as canonical JSON and reads them back exactly: decimals as text, no floating numbers.

The dataclass is the schema; an unknown, missing or wrongly typed field is refused.
"""

from __future__ import annotations

import json
import types
from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from decimal import Decimal, InvalidOperation
from enum import StrEnum
from functools import cache
from typing import Any, TypeVar, Union, get_args, get_origin, get_type_hints

Frozen = TypeVar("Frozen")


def to_plain(value: object) -> Any:
    """Return a dataclass as dictionaries, lists, text, whole numbers, truths and nulls."""
    if is_dataclass(value) and not isinstance(value, type):
        return {field.name: to_plain(getattr(value, field.name)) for field in fields(value)}
    if isinstance(value, Decimal):
        return str(value)
    if isinstance(value, StrEnum):
        return value.value
    if isinstance(value, Mapping):
        return {key: to_plain(inner) for key, inner in value.items()}
    if isinstance(value, tuple | list):
        return [to_plain(inner) for inner in value]
    if value is None or isinstance(value, str | bool | int):
        return value
    raise TypeError(f"{type(value).__name__} has no exact form in JSON")


def to_json(value: object) -> str:
    """Return canonical JSON: keys sorted, no spaces, so that equal values give equal texts."""
    return json.dumps(to_plain(value), sort_keys=True, separators=(",", ":"), ensure_ascii=False)


def from_json(kind: type[Frozen], text: str) -> Frozen:
    """Read a dataclass back from its JSON. Raises ValueError naming the field that does not fit."""
    try:
        plain = json.loads(text, parse_float=_no_float, parse_constant=_no_float)
    except RecursionError:
        raise ValueError("the text is nested too deeply") from None
    return from_plain(kind, plain)


def from_plain(kind: type[Frozen], plain: object) -> Frozen:
    """Read a dataclass back from its plain form. Raises ValueError naming the field that does not fit."""
    result = _read(kind, plain, kind.__name__)
    assert isinstance(result, kind)
    return result


def _no_float(text: str) -> object:
    raise ValueError(f"{text} is a floating number; decimals are written as text")


@cache
def _hints(kind: type) -> dict[str, Any]:
    return get_type_hints(kind)


def _read(kind: Any, plain: Any, place: str) -> Any:
    origin = get_origin(kind)
    if origin in (Union, types.UnionType):
        inner = next(part for part in get_args(kind) if part is not type(None))
        return None if plain is None else _read(inner, plain, place)
    if origin is tuple:
        items = _expect(plain, list, place)
        return tuple(_read(get_args(kind)[0], item, f"{place}[{at}]") for at, item in enumerate(items))
    if origin is not None:
        table = _expect(plain, dict, place)
        return {key: _read(get_args(kind)[1], inner, f"{place}.{key}") for key, inner in table.items()}
    if is_dataclass(kind):
        return _read_dataclass(kind, _expect(plain, dict, place), place)
    return _read_leaf(kind, plain, place)


def _read_dataclass(kind: Any, table: dict[str, Any], place: str) -> Any:
    names = {field.name for field in fields(kind)}
    if set(table) != names:
        odd = ", ".join(sorted(set(table) ^ names))
        raise ValueError(f"{place}: fields are missing or unknown: {odd}")
    return kind(**{name: _read(_hints(kind)[name], table[name], f"{place}.{name}") for name in names})


def _read_leaf(kind: Any, plain: Any, place: str) -> Any:
    if kind is Decimal:
        try:
            number = Decimal(_expect(plain, str, place))
        except InvalidOperation:
            raise ValueError(f"{place}: {plain!r} is not a number") from None
        if not number.is_finite():
            raise ValueError(f"{place}: {plain!r} is not a finite number")
        return number
    if isinstance(kind, type) and issubclass(kind, StrEnum):
        return kind(_expect(plain, str, place))
    return _expect(plain, kind, place)


def _expect(plain: Any, kind: type, place: str) -> Any:
    if type(plain) is not kind:
        raise ValueError(f"{place}: {kind.__name__} expected, found {type(plain).__name__}")
    return plain
