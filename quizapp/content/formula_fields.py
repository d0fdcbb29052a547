"""Reads the formulas and texts of one content file, collecting a fault with its line for each that cannot be used."""

from __future__ import annotations

from collections.abc import Collection

from quizapp.assessment.formula import Formula, FormulaFault, Kind, parse_formula
from quizapp.assessment.formula_functions import FUNCTIONS
from quizapp.assessment.placeholders import Text
from quizapp.assessment.profile_values import PROFILE_NUMBERS, PROFILE_TRUTHS, PROFILE_WORDS
from quizapp.content.front_matter import Document, dotted, suggest
from quizapp.errors import ContentFault

_PREFIXES = ("profile", "other_profile")
_NOTHING = parse_formula("0")
_NEVER = parse_formula("1 == 0")


class Fields:
    """What formulas and texts of one file may name so far, and the faults found."""

    def __init__(self, document: Document) -> None:
        self.document = document
        self.faults: list[ContentFault] = []
        self.numbers = {f"{prefix}.{name}" for prefix in _PREFIXES for name in PROFILE_NUMBERS}
        self.truths = {f"{prefix}.{name}" for prefix in _PREFIXES for name in PROFILE_TRUTHS}
        self.printable = {f"profile.{name}" for name in PROFILE_WORDS}

    def fault(self, message: str, *place: str | int, level: str = "error") -> None:
        """Note a fault at a key."""
        name = dotted(place)
        self.faults.append(self.document.fault(f"{name}: {message}" if name else message, *place, level=level))

    def number(self, text: str, *place: str | int) -> Formula:
        """Read a formula that gives a number."""
        return self._formula(text, Kind.NUMBER, place)

    def condition(self, text: str, *place: str | int) -> Formula:
        """Read a formula that is true or false."""
        return self._formula(text, Kind.TRUTH, place)

    def value(self, text: str, *place: str | int) -> Formula:
        """Read a formula of either kind."""
        return self._formula(text, None, place)

    def text(self, template: str, *place: str | int, extra: Collection[str] = ()) -> Text:
        """Read a text with names in braces; `extra` are names that only this text may print."""
        text = Text(template)
        for name in sorted(text.names - self.printable - set(extra)):
            if name in self.numbers:
                self.fault(f"{{{name}}} has no printed form; give it decimals under [let.{name}]", *place)
            else:
                known = self.printable | set(extra)
                self.fault(f"{{{name}}} is not a name that can be printed here{suggest(name, known)}", *place)
        return text

    def add(self, name: str, *place: str | int, kind: Kind = Kind.NUMBER, printable: bool = True) -> None:
        """Make a name known to what follows."""
        if name in self.numbers | self.truths or name in FUNCTIONS or name in _RESERVED:
            self.fault(f'the name "{name}" is taken already; choose another', *place)
        (self.truths if kind is Kind.TRUTH else self.numbers).add(name)
        if printable:
            self.printable.add(name)

    def _formula(self, text: str, wanted: Kind | None, place: tuple[str | int, ...]) -> Formula:
        spare = _NEVER if wanted is Kind.TRUTH else _NOTHING
        try:
            formula = parse_formula(text, self.truths)
        except FormulaFault as fault:
            self.fault(f"the formula {text!r} {fault}", *place)
            return spare
        known = self.numbers | self.truths
        for name in sorted(formula.names - known):
            self.fault(f"the formula {text!r} names {name}, which has no value by then{suggest(name, known)}", *place)
        if wanted is not None and formula.kind is not wanted:
            found = "a condition" if formula.kind is Kind.TRUTH else "a number"
            self.fault(f"the formula {text!r} is {found}; a {wanted.value} is needed", *place)
            return spare
        return formula


_RESERVED = frozenset({"key", "second", "this", "setting", "case", "profile", "other_profile"})
