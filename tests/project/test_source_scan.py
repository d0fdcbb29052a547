"""Constructions that have no place in the source: each rule with its reason and a line that it must refuse."""

from __future__ import annotations

import ast
import re
from collections.abc import Callable
from dataclasses import dataclass

import pytest

from tests.project import checkout_files as project

# Modules whose whole job is to turn checked text into safe markup; each was read line by line.
MAY_MAKE_MARKUP = ("quizapp/content/", "quizapp/web/instruments/", "quizapp/web/components/", "quizapp/web/markup.py")
# The macros of repeated markup, reviewed as a whole; their own constants are markup.
MAY_CALL_VALUES_SAFE = ("quizapp/web/templates/components/",)
# The edges: a clock or a source of chance is made here and handed in everywhere else.
MAY_READ_THE_CLOCK = ("quizapp/web/", "quizapp/cli/")
REQUEST_VALUES = ("request.form", "request.args", "request.values", "request.cookies", "request.headers")
CLOCK_CALLS = {"datetime.now", "datetime.utcnow", "datetime.today", "date.today", "time.time", "datetime.datetime.now"}


def calls(tree: ast.Module) -> list[ast.Call]:
    return [node for node in ast.walk(tree) if isinstance(node, ast.Call)]


def template_from_text(tree: ast.Module) -> list[int]:
    names = ("render_template_string", "from_string")
    return [call.lineno for call in calls(tree) if project.called_name(call).rsplit(".", 1)[-1] in names]


def markup(tree: ast.Module) -> list[int]:
    return [call.lineno for call in calls(tree) if project.called_name(call).rsplit(".", 1)[-1] == "Markup"]


def sql_from_pieces(tree: ast.Module) -> list[int]:
    """Calls of text() whose statement is put together instead of written out."""
    statements = [call for call in calls(tree) if project.called_name(call).rsplit(".", 1)[-1] == "text" and call.args]
    return [call.lineno for call in statements if isinstance(call.args[0], (ast.JoinedStr, ast.BinOp, ast.Call))]


def number_from_request(tree: ast.Module) -> list[int]:
    """float() and int() take what people never mean: nan, inf, 1_000, digits of other scripts."""
    numbers = [call for call in calls(tree) if project.called_name(call) in ("float", "int", "Decimal") and call.args]
    return [call.lineno for call in numbers if any(value in ast.unparse(call.args[0]) for value in REQUEST_VALUES)]


def clock(tree: ast.Module) -> list[int]:
    return [call.lineno for call in calls(tree) if project.called_name(call) in CLOCK_CALLS]


def evaluation(tree: ast.Module) -> list[int]:
    names = ("eval", "exec", "compile", "pickle.loads", "pickle.load", "marshal.loads", "yaml.load", "os.system")
    return [call.lineno for call in calls(tree) if project.called_name(call) in names]


@dataclass(frozen=True, kw_only=True)
class Rule:
    reason: str
    find: Callable[[ast.Module], list[int]]
    refused: str
    allowed_under: tuple[str, ...] = ()


RULES = {
    "template from text": Rule(
        reason="a template is a file of the package", find=template_from_text, refused="flask.render_template_string(x)"
    ),
    "markup": Rule(
        reason="only reviewed modules may call text safe",
        find=markup,
        refused="markupsafe.Markup(x)",
        allowed_under=MAY_MAKE_MARKUP,
    ),
    "statement from pieces": Rule(
        reason="values are bound, never pasted into a statement",
        find=sql_from_pieces,
        refused="text(f'DROP TABLE {x}')",
        # Names of settings cannot be bound; they come from a table in the source.
        allowed_under="quizapp/services/examine_installation.py",
    ),
    "number from a request": Rule(
        reason="numbers people type go through the strict reader",
        find=number_from_request,
        refused="float(request.form['answer'])",
    ),
    "clock": Rule(
        reason="the moment is handed in", find=clock, refused="datetime.now(UTC)", allowed_under=MAY_READ_THE_CLOCK
    ),
    "evaluation": Rule(reason="nothing read is ever run", find=evaluation, refused="eval(formula)"),
}


def breaches(rule: Rule) -> list[str]:
    files = [str(path) for path in project.python_files("quizapp")]
    looked_at = [path for path in files if not path.startswith(rule.allowed_under or ("?",))]
    trees = {path: project.tree_of(project.CHECKOUT / path) for path in looked_at}
    return [f"{path}:{line}" for path, tree in trees.items() for line in rule.find(tree)]


@pytest.mark.parametrize("name", RULES)
def test_the_source_keeps_the_rule(name: str) -> None:
    rule = RULES[name]
    assert breaches(rule) == [], rule.reason


@pytest.mark.parametrize("name", RULES)
def test_the_rule_refuses_its_example(name: str) -> None:
    assert RULES[name].find(ast.parse(f"x = 1\n{RULES[name].refused}\n")) == [2]


LITERAL_CALLED_SAFE = re.compile(r"""('[^'{}]*'|"[^"{}]*")\s*\|\s*safe\b""")
CALLED_SAFE = re.compile(r"\|\s*safe\b")


def values_called_safe(template: str) -> int:
    """How often a template calls something safe that is not a literal standing right there."""
    return len(CALLED_SAFE.findall(template)) - len(LITERAL_CALLED_SAFE.findall(template))


def test_pages_never_call_a_value_safe() -> None:
    templates = [path for path in project.all_files() if path.suffix in (".html", ".svg", ".jinja")]
    pages = [path for path in templates if not str(path).startswith(MAY_CALL_VALUES_SAFE)]
    assert [str(path) for path in pages if values_called_safe(project.text_of(path) or "")] == []


def test_the_search_sees_a_value_called_safe() -> None:
    assert values_called_safe("{{ ' class=\"gap\"' | safe if short }}") == 0
    assert values_called_safe("{{ stem|safe }} {{ ' hidden' | safe }}") == 1
