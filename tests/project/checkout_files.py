"""The project's own files, for the tests about the repository; needs no version control on the machine."""

from __future__ import annotations

import ast
import os
from collections.abc import Iterator
from functools import cache
from pathlib import Path

CHECKOUT = Path(__file__).resolve().parents[2]
FunctionNode = ast.FunctionDef | ast.AsyncFunctionDef


def _ignored_names() -> tuple[str, ...]:
    lines = (CHECKOUT / ".gitignore").read_text(encoding="utf-8").splitlines()
    return tuple(line.strip().rstrip("/") for line in lines if line.strip() and not line.startswith("#"))


@cache
def all_files() -> tuple[Path, ...]:
    """Every file that is or could be committed, relative to the checkout."""
    found: list[Path] = []
    ignored = (".git", *_ignored_names())
    for folder, folders, files in os.walk(CHECKOUT):
        here = Path(folder).relative_to(CHECKOUT)
        folders[:] = sorted(name for name in folders if not _is_ignored(here / name, ignored))
        found += [here / name for name in sorted(files) if not _is_ignored(here / name, ignored)]
    return tuple(found)


def _is_ignored(path: Path, ignored: tuple[str, ...]) -> bool:
    return any(path.match(pattern) or path.is_relative_to(pattern) for pattern in ignored)


def text_of(path: Path) -> str | None:
    """The text of a file, or None when it is not text."""
    try:
        return (CHECKOUT / path).read_text(encoding="utf-8")
    except UnicodeDecodeError:
        return None


def texts() -> Iterator[tuple[Path, str]]:
    """Every text file with its text."""
    for path in all_files():
        text = text_of(path)
        if text is not None:
            yield path, text


def python_files(*under: str) -> list[Path]:
    """Every Python file, or those under the named folders, relative to the checkout."""
    found = [path for path in all_files() if path.suffix == ".py"]
    return [path for path in found if not under or any(path.is_relative_to(folder) for folder in under)]


def tree_of(path: Path) -> ast.Module:
    """The syntax tree of a Python file of the checkout."""
    return ast.parse((CHECKOUT / path).read_text(encoding="utf-8"), filename=str(path))


def called_name(call: ast.Call) -> str:
    """The dotted name that is called, as far as it is plain names: `session.commit`, `text`."""
    return dotted(call.func)


def dotted(node: ast.expr) -> str:
    """A plain dotted name as text; what is not a plain name becomes `?`."""
    if isinstance(node, ast.Name):
        return node.id
    if isinstance(node, ast.Attribute):
        return f"{dotted(node.value)}.{node.attr}"
    return "?"
