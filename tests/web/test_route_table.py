"""Every route, every method, every role: the status of each stands in route_table.csv, checked in and compared.

QUIZAPP_REWRITE_ROUTE_TABLE=1 writes the table anew after a new route or role; read the difference before it goes in.
"""

from __future__ import annotations

import csv
import io
import os
from pathlib import Path

import pytest
from flask import Flask
from flask.testing import FlaskClient
from sqlalchemy import update
from werkzeug.routing import Rule

from quizapp.assessment.permissions import has_right
from quizapp.store.accounts import Account
from quizapp.web.policy import Policy
from tests.small_service import SmallService
from tests.web_app import COOKIE, signed_in_cookie

TABLE = Path(__file__).with_name("route_table.csv")
REWRITE = "QUIZAPP_REWRITE_ROUTE_TABLE"
UNKNOWN_ID = "0" * 32
PEOPLE = {
    "anonymous": "",
    "clinician": "mira",
    "assessor": "tor",
    "educator": "ines",
    "clinical_lead": "cleo",
    "team_lead": "leif",
    "administrator": "ada",
    "deactivated": "una",
}
BY_THEMSELVES = {"HEAD", "OPTIONS"}
Cell = dict[str, int]
Table = dict[tuple[str, str], Cell]


class Prober:
    """Asks each route as each person, without a form's entries and with ids that nobody has."""

    def __init__(self, app: Flask, small: SmallService) -> None:
        app.config["WTF_CSRF_ENABLED"] = False
        self.app, self.small = app, small
        with small.database.writing() as session:
            session.execute(update(Account).where(Account.sign_in_name == "una").values(is_active=False))

    def status(self, person: str, address: str, method: str) -> int:
        client = FlaskClient(self.app)
        if person:
            client.set_cookie(COOKIE, signed_in_cookie(self.small, person, lambda: self.small.now))
        return client.open(address, method=method, data={} if method == "POST" else None).status_code

    def address(self, rule: Rule) -> str:
        filled = self.app.url_map.bind("localhost").build(rule.endpoint, dict.fromkeys(rule.arguments, UNKNOWN_ID))
        return str(filled)

    def rules(self) -> list[tuple[Rule, str]]:
        found = [(rule, method) for rule in self.app.url_map.iter_rules() for method in (rule.methods or set())]
        return sorted(
            ((rule, method) for rule, method in found if method not in BY_THEMSELVES),
            key=lambda one: (one[0].rule, one[1]),
        )

    def table(self) -> Table:
        return {
            (rule.rule, method): {role: self.status(name, self.address(rule), method) for role, name in PEOPLE.items()}
            for rule, method in self.rules()
        }

    def policy(self, rule: Rule) -> Policy | None:
        return getattr(self.app.view_functions[rule.endpoint], "policy", None)


@pytest.fixture
def prober(app: Flask, small_sqlite: SmallService) -> Prober:
    return Prober(app, small_sqlite)


def written(table: Table) -> str:
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(["rule", "method", *PEOPLE])
    writer.writerows([rule, method, *cell.values()] for (rule, method), cell in sorted(table.items()))
    return out.getvalue()


def read() -> Table:
    with TABLE.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    return {(row["rule"], row["method"]): {role: int(row[role]) for role in PEOPLE} for row in rows}


def test_every_route_answers_every_role_as_the_table_says(prober: Prober) -> None:
    table = prober.table()
    if os.environ.get(REWRITE):
        TABLE.write_text(written(table), encoding="utf-8")
    expected = read()
    differences = [
        f"{rule} {method}: is {table.get((rule, method))}, the table says {expected.get((rule, method))}"
        for rule, method in sorted({*table, *expected})
        if table.get((rule, method)) != expected.get((rule, method))
    ]
    assert differences == [], f"if this is meant, set {REWRITE}=1 and read the difference in {TABLE.name}"


def test_the_table_keeps_to_the_rights(prober: Prober) -> None:
    """What holds for every row whatever was written into the table: the policies and the rights say it."""
    for (rule, method), cell in read().items():
        found = next(one for one, known in prober.rules() if (one.rule, known) == (rule, method))
        policy, where = prober.policy(found), f"{rule} {method}"
        assert max(cell.values()) < 500, where
        if policy is None or policy.public:
            continue
        assert cell["anonymous"] == cell["deactivated"] == 302, where
        for role, name in PEOPLE.items():
            if not name or role == "deactivated" or policy.right is None:
                continue
            with prober.small.database.reading() as session:
                act = prober.small.act(session, name)
            if not has_right(act.actor, policy.right, act.today):
                assert cell[role] == 403, f"{where} as {role}"


def test_only_these_routes_are_public(prober: Prober) -> None:
    """Each public route was thought about; adding one here is a decision."""
    public = {rule.rule for rule, _ in prober.rules() if (policy := prober.policy(rule)) is None or policy.public}
    assert public == {
        "/about", "/calendar/<secret>.ics", "/check", "/check/file", "/lamp", "/manifest.webmanifest",
        "/notices/<secret>.atom", "/offline",
        "/service-worker.js",
        "/set-password", "/set-password/done", "/sign-in", "/static/<path:filename>",
    }  # fmt: skip


def test_head_follows_get_and_other_methods_are_refused(prober: Prober) -> None:
    for rule, method in prober.rules():
        address = prober.address(rule)
        if method == "GET":
            assert prober.status("mira", address, "HEAD") == prober.status("mira", address, "GET"), rule.rule
        for other in ("PUT", "DELETE", "PATCH", "TRACE"):
            if other not in (rule.methods or set()):
                assert prober.status("ada", address, other) == 405, f"{rule.rule} {other}"
