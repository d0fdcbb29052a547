"""Evaluates the small formulas of content files: nothing but the listed names, operators and functions exists in them.

The text is parsed, each part is looked up in an allow-list, and the result is a chain of closures: no text is ever run.
Numbers are Decimal; + - * are exact, / keeps 28 digits, so the same numbers give the same value on every machine.
"""

from __future__ import annotations

import ast
import re
from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from enum import StrEnum
from typing import cast

from quizapp.assessment import formula_arithmetic as arithmetic
from quizapp.assessment.formula_arithmetic import FormulaFault
from quizapp.assessment.formula_functions import FUNCTIONS, call
from quizapp.ventilation.device_profile import DeviceProfile

__all__ = ["Formula", "FormulaFault", "Held", "Kind", "Value", "parse_formula"]

Value = Decimal | bool
#: What names stand for; "profile" alone holds the device for functions of the model, and no formula can name it.
Held = Value | DeviceProfile
Names = Mapping[str, Held]

MAX_LENGTH = 400
MAX_DEPTH = 40
PREFIXES = ("profile", "other_profile", "case")

_ALLOWED = re.compile(r"[A-Za-z0-9_.,()+\-*/<>=! ]")
_NUMBER = re.compile(r"[0-9]{1,12}(\.[0-9]{1,12})?")
_GLUED = re.compile(r"(?<![A-Za-z0-9_.])[0-9][0-9.]*[A-Za-z_]\w*")


class Kind(StrEnum):
    """What a formula gives: a number or a truth."""

    NUMBER = "number"
    TRUTH = "truth"


@dataclass(frozen=True)
class Formula:
    """A parsed formula; two formulas are equal when their texts are."""

    text: str
    kind: Kind
    names: frozenset[str]
    _run: Callable[[Names], Value] = field(repr=False, compare=False)

    def number(self, names: Names) -> Decimal:
        """Return the number; `names` holds every name used. Raises FormulaFault, such as for a division by zero."""
        value = self._run(names)
        if isinstance(value, bool):
            raise FormulaFault(f"gives {str(value).lower()} where a number is needed")
        return value

    def truth(self, names: Names) -> bool:
        """Return whether the condition holds. Raises FormulaFault."""
        value = self._run(names)
        if not isinstance(value, bool):
            raise FormulaFault(f"gives the number {value} where a condition is needed, such as peak > 20")
        return value


def parse_formula(text: str, truths: Collection[str] = ()) -> Formula:
    """Parse a formula; `truths` are the names that are true or false, all other names are numbers.

    Raises FormulaFault with the column for anything that is not on the list of what a formula may hold.
    """
    plain = text.replace("\n", " ").strip()
    if not plain:
        raise FormulaFault("is empty")
    if len(plain) > MAX_LENGTH:
        raise FormulaFault(f"is {len(plain)} characters long; at most {MAX_LENGTH} are allowed, use [let] for steps")
    for column, character in enumerate(plain, start=1):
        if not _ALLOWED.match(character):
            raise FormulaFault(f"holds {character!r}, which no formula may hold", column)
    glued = _GLUED.search(plain)
    if glued:
        raise FormulaFault(f"{glued[0]} is not a plain number; write it like 0.25", glued.start() + 1)
    try:
        tree = ast.parse(plain, mode="eval")
    except (SyntaxError, ValueError, MemoryError, RecursionError) as error:
        raise FormulaFault("cannot be read as a formula", getattr(error, "offset", 0) or 0) from None
    parser = _Parser(plain, frozenset(truths))
    run, kind = parser.part(tree.body, 0)
    return Formula(plain, kind, frozenset(parser.names), run if parser.names else _once(run))


def _once(run: Callable[[Names], Value]) -> Callable[[Names], Value]:
    """Work a formula without names out beforehand, unless it needs a device or cannot be worked out at all."""
    try:
        value = run({})
    except FormulaFault:
        return run
    return lambda _: value


Part = tuple[Callable[[Names], Value], Kind]


class _Parser:
    def __init__(self, text: str, truths: frozenset[str]) -> None:
        self.text = text
        self.truths = truths
        self.names: set[str] = set()
        self.kinds: dict[type, Callable[[ast.expr, int], Part]] = {
            ast.Constant: self._constant,
            ast.Name: self._name,
            ast.Attribute: self._name,
            ast.UnaryOp: self._unary,
            ast.BinOp: self._binary,
            ast.Compare: self._compare,
            ast.BoolOp: self._both_or_either,
            ast.IfExp: self._choice,
            ast.Call: self._call,
        }

    def part(self, node: ast.expr, depth: int) -> Part:
        if depth > MAX_DEPTH:
            raise FormulaFault(f"is nested more than {MAX_DEPTH} deep", node.col_offset + 1)
        kind = self.kinds.get(type(node))
        if kind is None:
            raise FormulaFault("holds something a formula may not hold", node.col_offset + 1)
        return kind(node, depth + 1)

    def number(self, node: ast.expr, depth: int) -> Callable[[Names], Decimal]:
        run = self._expect(node, depth, Kind.NUMBER, "is a condition where a number is needed")
        return cast("Callable[[Names], Decimal]", run)

    def truth(self, node: ast.expr, depth: int) -> Callable[[Names], Value]:
        return self._expect(node, depth, Kind.TRUTH, "is a number where a condition is needed")

    def _expect(self, node: ast.expr, depth: int, wanted: Kind, words: str) -> Callable[[Names], Value]:
        run, kind = self.part(node, depth)
        if kind is not wanted:
            shown = self.text[node.col_offset : node.end_col_offset]
            raise FormulaFault(f"{shown} {words}", node.col_offset + 1)
        return run

    def _constant(self, node: ast.expr, depth: int) -> Part:
        shown = self.text[node.col_offset : node.end_col_offset]
        if not _NUMBER.fullmatch(shown):
            raise FormulaFault(f"{shown} is not a plain number; write it like 0.25", node.col_offset + 1)
        number = Decimal(shown)
        return (lambda _: number), Kind.NUMBER

    def _name(self, node: ast.expr, depth: int) -> Part:
        name, column = self._full_name(node), node.col_offset + 1
        self.names.add(name)

        def look_up(names: Names) -> Value:
            value = names.get(name)
            if isinstance(value, Decimal | bool):
                return value
            raise FormulaFault(f"{name} has no value here", column)

        def look_up_number(names: Names) -> Value:
            value = names.get(name)
            return value if isinstance(value, Decimal) else _decimal(look_up(names))

        return (look_up, Kind.TRUTH) if name in self.truths else (look_up_number, Kind.NUMBER)

    def _full_name(self, node: ast.expr) -> str:
        if isinstance(node, ast.Name):
            if node.id in PREFIXES:
                raise FormulaFault(f"{node.id} needs a field, such as {node.id}.name", node.col_offset + 1)
            return node.id
        if isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name) and node.value.id in PREFIXES:
            return f"{node.value.id}.{node.attr}"
        raise FormulaFault(f"a point may only follow {', '.join(PREFIXES)}", node.col_offset + 1)

    def _unary(self, node: ast.expr, depth: int) -> Part:
        assert isinstance(node, ast.UnaryOp)
        if isinstance(node.op, ast.Not):
            truth = self.truth(node.operand, depth)
            return (lambda names: not truth(names)), Kind.TRUTH
        number = self.number(node.operand, depth)
        if isinstance(node.op, ast.USub):
            return (lambda names: arithmetic.negative(number(names))), Kind.NUMBER
        if isinstance(node.op, ast.UAdd):
            return number, Kind.NUMBER
        raise FormulaFault("holds an operator a formula may not hold", node.col_offset + 1)

    def _binary(self, node: ast.expr, depth: int) -> Part:
        assert isinstance(node, ast.BinOp)
        operate = arithmetic.OPERATORS.get(type(node.op))
        if operate is None:
            raise FormulaFault("holds an operator a formula may not hold; there are + - * / **", node.col_offset + 1)
        left, right = self.number(node.left, depth), self.number(node.right, depth)
        if isinstance(node.left, ast.Name) and isinstance(node.right, ast.Name):
            return _of_two_names(operate, node.left.id, node.right.id, left, right), Kind.NUMBER
        if isinstance(node.right, ast.Constant):
            constant = right({})
            return (lambda names: operate(left(names), constant)), Kind.NUMBER
        return (lambda names: operate(left(names), right(names))), Kind.NUMBER

    def _compare(self, node: ast.expr, depth: int) -> Part:
        assert isinstance(node, ast.Compare)
        tests = [arithmetic.COMPARISONS.get(type(operator)) for operator in node.ops]
        sides = [self.number(side, depth) for side in (node.left, *node.comparators)]
        steps = [(test, left, right) for test, left, right in zip(tests, sides, sides[1:], strict=False) if test]
        if len(steps) < len(tests):
            raise FormulaFault("holds a comparison a formula may not hold", node.col_offset + 1)

        if len(steps) == 1:
            only, one, two = steps[0]
            return (lambda names: only(one(names), two(names))), Kind.TRUTH

        def holds(names: Names) -> bool:
            return all(test(left(names), right(names)) for test, left, right in steps)

        return holds, Kind.TRUTH

    def _both_or_either(self, node: ast.expr, depth: int) -> Part:
        assert isinstance(node, ast.BoolOp)
        parts = [self.truth(value, depth) for value in node.values]
        if isinstance(node.op, ast.And):
            return (lambda names: all(part(names) for part in parts)), Kind.TRUTH
        return (lambda names: any(part(names) for part in parts)), Kind.TRUTH

    def _choice(self, node: ast.expr, depth: int) -> Part:
        assert isinstance(node, ast.IfExp)
        test = self.truth(node.test, depth)
        (then, kind), (otherwise, other_kind) = self.part(node.body, depth), self.part(node.orelse, depth)
        if kind is not other_kind:
            raise FormulaFault("both sides of if … else must be of one kind", node.col_offset + 1)
        return (lambda names: then(names) if test(names) else otherwise(names)), kind

    def _call(self, node: ast.expr, depth: int) -> Part:
        assert isinstance(node, ast.Call)
        name = node.func.id if isinstance(node.func, ast.Name) else ""
        function = FUNCTIONS.get(name)
        if function is None:
            raise FormulaFault(f"{name or 'this'} is not one of the functions a formula may call", node.col_offset + 1)
        if node.keywords or not function.fewest <= len(node.args) <= function.most:
            raise FormulaFault(f"{name} takes {function.takes}", node.col_offset + 1)
        arguments = [self.number(argument, depth) for argument in node.args]
        column = node.col_offset + 1

        def run(names: Names) -> Value:
            numbers = [part(names) for part in arguments]
            return call(
                name, function, numbers, _device(names, name, column) if function.needs_profile else None, column
            )

        return run, Kind.NUMBER


Number = Callable[[Names], Decimal]


def _of_two_names(
    operate: Callable[[Decimal, Decimal], Decimal], first: str, second: str, left: Number, right: Number
) -> Number:
    """What most formulas are made of, without a call for each name; anything unusual goes the ordinary way."""

    def run(names: Names) -> Decimal:
        one, two = names.get(first), names.get(second)
        if isinstance(one, Decimal) and isinstance(two, Decimal):
            return operate(one, two)
        return operate(left(names), right(names))

    return run


def _device(names: Names, function: str, column: int) -> DeviceProfile:
    profile = names.get("profile")
    if not isinstance(profile, DeviceProfile):
        raise FormulaFault(f"{function} needs a device profile, and there is none here", column)
    return profile


def _decimal(value: Value) -> Decimal:
    if isinstance(value, bool):
        raise FormulaFault(f"gives {str(value).lower()} where a number is needed")
    return value
