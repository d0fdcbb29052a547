"""Services take an open session and never end its transaction: the edge commits once, after everything went well."""

from __future__ import annotations

import ast

from tests.project import checkout_files as project

ENDS_A_TRANSACTION = {"commit", "rollback", "begin", "close", "writing", "reading"}
OPENS_A_SESSION = {"Session", "sessionmaker", "create_engine", "Database"}
# These look after whole databases, a backup beside the running one for example, and no act of a person runs in them.
LOOK_AFTER_WHOLE_DATABASES = {
    "quizapp/services/examine_installation.py",
    "quizapp/services/restore_backup.py",
    "quizapp/services/take_backup.py",
}


def transaction_calls(tree: ast.Module) -> list[str]:
    """Calls that begin or end a transaction or open a session, with their lines."""
    calls = [node for node in ast.walk(tree) if isinstance(node, ast.Call)]
    named = [(project.called_name(call), call.lineno) for call in calls]
    return [
        f"line {line}: {name}()"
        for name, line in named
        if name in OPENS_A_SESSION or ("." in name and name.rsplit(".", 1)[1] in ENDS_A_TRANSACTION)
    ]


def test_no_service_ends_a_transaction() -> None:
    files = [path for path in project.python_files("quizapp/services") if str(path) not in LOOK_AFTER_WHOLE_DATABASES]
    assert files
    found = {str(path): transaction_calls(project.tree_of(path)) for path in files}
    assert {path: calls for path, calls in found.items() if calls} == {}


def test_the_scan_sees_a_commit() -> None:
    source = "act.session.commit()\nact.session.add(row)\nwith database.writing() as session:\n    pass\n"
    assert transaction_calls(ast.parse(source)) == ["line 1: act.session.commit()", "line 3: database.writing()"]
