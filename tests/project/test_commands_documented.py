"""Every command stands in a guide, and every command a guide names is there."""

from __future__ import annotations

import argparse
import re
from collections.abc import Iterator

import pytest

from quizapp.cli import build_parser
from tests.project import checkout_files as project

NAMED = re.compile(r"(?:`|^|/|\s)quizapp ((?:[a-z][a-z-]*)(?: [a-z][a-z-]*)?)", re.MULTILINE)


def commands(parser: argparse.ArgumentParser | None = None, words: tuple[str, ...] = ()) -> Iterator[str]:
    """The words of each command: `serve`, `audit verify`."""
    groups = [one for one in (parser or build_parser())._actions if isinstance(one, argparse._SubParsersAction)]
    if not groups:
        yield " ".join(words)
    for group in groups:
        for word, inner in group.choices.items():
            yield from commands(inner, (*words, word))


def guides() -> dict[str, str]:
    names = [path for path in project.all_files() if path.suffix == ".md" and path.parts[0] in {path.name, "docs"}]
    return {str(name): project.text_of(name) or "" for name in names}


@pytest.mark.parametrize("command", sorted(commands()))
def test_every_command_stands_in_a_guide(command: str) -> None:
    assert [name for name, text in guides().items() if f"quizapp {command}" in text] != []


def test_every_command_named_in_the_operators_guide_is_there() -> None:
    known = set(commands())
    named = {found.group(1) for found in NAMED.finditer(guides()["docs/operations.md"])}
    assert len(named) > 10
    assert [words for words in named if words not in known and words.split()[0] not in known] == []


def test_the_operators_guide_names_every_kind_of_fault() -> None:
    from quizapp.assessment.audit_chain import FaultKind

    text = " ".join(guides()["docs/operations.md"].split())
    assert [kind for kind in FaultKind if kind.value.replace("_", " ") not in text] == []
