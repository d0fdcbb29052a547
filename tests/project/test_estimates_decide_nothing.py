"""No path of imports leads from what decides, signs off or says how a person stands to the estimate of competence."""

from __future__ import annotations

import ast

import pytest

from tests.project import checkout_files as project

ESTIMATE = (
    "quizapp.psychometrics.competence",
    "quizapp.psychometrics.calibration",
    "quizapp.psychometrics.fade_model",
    "quizapp.psychometrics.recalibration",
    "quizapp.assessment.competence_",
    "quizapp.assessment.practice_ranking",
    "quizapp.services.competence_",
    "quizapp.services.update_competence",
    "quizapp.services.rebuild_competence",
    "quizapp.services.foretell",
    "quizapp.services.fit_competence",
    "quizapp.services.practice_today",
    "quizapp.store.competence",
)
DECIDING = (
    "quizapp.assessment.sign_off", "quizapp.assessment.standing", "quizapp.assessment.validity",
    "quizapp.assessment.decision", "quizapp.assessment.knowledge_marking", "quizapp.assessment.observation_rules",
    "quizapp.assessment.grading", "quizapp.services.sign_decision", "quizapp.services.decision",
    "quizapp.services.change_standing", "quizapp.services.person_standing", "quizapp.services.evidence_of",
    "quizapp.services.import_sign_offs", "quizapp.services.assessor_currency", "quizapp.web.pages.decisions",
)  # fmt: skip


def modules() -> dict[str, ast.Module]:
    """Every module of the package by its dotted name."""
    found = {}
    for path in project.python_files("quizapp"):
        name = ".".join(path.with_suffix("").parts).removesuffix(".__init__")
        found[name] = project.tree_of(project.CHECKOUT / path)
    return found


def imported(tree: ast.Module) -> set[str]:
    """What a module names in its imports, wherever they stand in it."""
    names: set[str] = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            names |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            names |= {node.module, *(f"{node.module}.{alias.name}" for alias in node.names)}
    return names


def reached(start: str, trees: dict[str, ast.Module]) -> dict[str, str]:
    """Every module that can be reached by imports, with the one it was reached from; packages' lists left out."""
    came_from, waiting = {start: ""}, [start]
    while waiting:
        here = waiting.pop()
        for name in sorted(imported(trees[here]) & trees.keys()):
            if name not in came_from and name != "quizapp.store":
                came_from[name] = here
                waiting.append(name)
    return came_from


def path_to(name: str, came_from: dict[str, str]) -> str:
    return name if not came_from[name] else f"{path_to(came_from[name], came_from)} -> {name}"


TREES = modules()
STARTS = sorted(name for name in TREES if name.startswith(DECIDING))


def test_the_names_still_stand_for_something() -> None:
    for prefix in DECIDING:
        assert any(name.startswith(prefix) for name in TREES), prefix
    assert {"quizapp.services.sign_decision", "quizapp.services.decision_desk"} <= set(STARTS)
    assert len([name for name in TREES if name.startswith(ESTIMATE)]) > 10


@pytest.mark.parametrize("start", STARTS)
def test_what_decides_never_reads_an_estimate(start: str) -> None:
    came_from = reached(start, TREES)
    assert [path_to(name, came_from) for name in came_from if name.startswith(ESTIMATE)] == []


def test_the_search_finds_a_path_where_there_is_one() -> None:
    came_from = reached("quizapp.services.sign_observation", TREES)
    assert any(name.startswith(ESTIMATE) for name in came_from)


@pytest.mark.parametrize("name", [name for name in TREES if name.startswith(ESTIMATE)])
def test_the_estimate_writes_no_decision_standing_or_evidence(name: str) -> None:
    """It may read evidence, to compare forecasts with outcomes, and never makes one."""
    tables = {"quizapp.store.decisions", "quizapp.services.sign_decision", "quizapp.services.change_standing"}
    assert imported(TREES[name]) & tables == set()
    made = [node for node in ast.walk(TREES[name]) if isinstance(node, ast.Call)]
    assert not {project.called_name(node) for node in made} & {"Evidence", "Decision", "StandingEvent"}
