"""Files of at most 300 lines, functions of at most 40: what no longer fits in a head is split.

Migrations are left out: generated from the models, they are history and nobody's to tidy.
"""

from __future__ import annotations

import ast
from pathlib import Path

from tests.project import checkout_files as project

LONGEST_FILE = 300
LONGEST_FUNCTION = 40
MIGRATIONS = "quizapp/store/migrations/versions"


def measured_files() -> list[Path]:
    return [path for path in project.python_files() if not path.is_relative_to(MIGRATIONS)]


def length_of(node: project.FunctionNode) -> int:
    """Lines from `def` to the end; decorators and the docstring do not count, so nobody saves on words."""
    lines = (node.end_lineno or node.lineno) - node.lineno + 1
    first = node.body[0]
    if ast.get_docstring(node) is not None and first.end_lineno is not None:
        lines -= first.end_lineno - first.lineno + 1
    return lines


def too_long_functions(tree: ast.Module) -> list[str]:
    """Names of the functions with more lines than allowed."""
    functions = [node for node in ast.walk(tree) if isinstance(node, project.FunctionNode)]
    return [
        f"{node.name} (line {node.lineno}): {length_of(node)} lines"
        for node in functions
        if length_of(node) > LONGEST_FUNCTION
    ]


def test_no_file_is_too_long() -> None:
    lengths = {str(path): len((project.CHECKOUT / path).read_text().splitlines()) for path in measured_files()}
    assert {path: length for path, length in lengths.items() if length > LONGEST_FILE} == {}


def test_no_function_is_too_long() -> None:
    found = {str(path): too_long_functions(project.tree_of(path)) for path in measured_files()}
    assert {path: functions for path, functions in found.items() if functions} == {}


def test_the_measure_sees_a_long_function() -> None:
    body = "\n".join(f"    x{number} = {number}" for number in range(LONGEST_FUNCTION))
    tree = ast.parse(f"def just_too_long():\n    'Words.'\n{body}\n")
    assert too_long_functions(tree) == ["just_too_long (line 1): 41 lines"]
    assert Path("dev.py") in measured_files()
