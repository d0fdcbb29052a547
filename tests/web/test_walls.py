"""Changes need the page's own token, come from this site, and hold nothing that cannot be stored: for every route."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from flask import Flask
from sqlalchemy import func, select

from quizapp.store.audit import AuditRow
from tests.small_service import SmallService
from tests.web_app import JudgingClient

ClientAs = Callable[[str], JudgingClient]
EVERYBODY = ("mira", "ines", "ada")


def posts(app: Flask) -> list[str]:
    bound = app.url_map.bind("localhost")
    rules = [rule for rule in app.url_map.iter_rules() if "POST" in (rule.methods or set())]
    return sorted(str(bound.build(rule.endpoint, dict.fromkeys(rule.arguments, "0" * 32))) for rule in rules)


def audit_rows(small: SmallService) -> int:
    with small.database.reading() as session:
        return session.scalar(select(func.count()).select_from(AuditRow)) or 0


@pytest.mark.parametrize("token", ["", "wrong", "IjEi.Zx.y"], ids=["none", "wrong", "forged"])
def test_no_change_without_the_pages_own_token(
    app: Flask, client_as: ClientAs, small_sqlite: SmallService, token: str
) -> None:
    for name in EVERYBODY:
        client = client_as(name)
        for address in posts(app):
            entries = {"csrf_token": token} if token else {}
            assert client.post(address, data=entries).status_code == 400, address
    assert audit_rows(small_sqlite) == 0


@pytest.mark.parametrize("site", ["cross-site", "same-site", "elsewhere"])
def test_no_change_that_another_site_started(
    app: Flask, client_as: ClientAs, small_sqlite: SmallService, site: str
) -> None:
    app.config["WTF_CSRF_ENABLED"] = False
    ada = client_as("ada")
    for address in posts(app):
        answer = ada.post(address, data={}, headers={"Sec-Fetch-Site": site})
        assert (answer.status_code, "started by another site" in answer.text) == (403, True), address
    assert audit_rows(small_sqlite) == 0


@pytest.mark.parametrize("site", ["same-origin", "none"])
def test_ones_own_browser_is_let_through(app: Flask, client_as: ClientAs, site: str) -> None:
    app.config["WTF_CSRF_ENABLED"] = False
    answer = client_as("ada").post("/people/new", data={}, headers={"Sec-Fetch-Site": site})
    assert answer.status_code == 422


@pytest.mark.parametrize(
    ("where", "status"), [("/people?search=%00", 422), ("/people/%00", 404), ("/people/a%00b/move", 404)]
)
def test_text_that_no_database_can_store_is_refused_in_addresses(client_as: ClientAs, where: str, status: int) -> None:
    assert client_as("ada").get(where).status_code == status


@pytest.mark.parametrize("text", ["a\x00b", "a\ud800b"], ids=ascii)
def test_text_that_no_database_can_store_is_refused_in_forms(app: Flask, client_as: ClientAs, text: str) -> None:
    app.config["WTF_CSRF_ENABLED"] = False
    sent = {"search": text.encode("utf-8", "surrogatepass")}
    assert client_as("ada").post("/people/new", data=sent).status_code == 422


@pytest.mark.parametrize("unknown", ["0", "-1", "9" * 5000, "1" * 31, "%EF%BC%91", "..", "%ff", "'%20OR%201=1--"])
def test_an_id_of_any_shape_is_simply_not_found(client_as: ClientAs, unknown: str) -> None:
    assert client_as("ada").get(f"/people/{unknown}/move").status_code == 404


def test_answers_are_never_kept_by_the_browser(app: Flask, client_as: ClientAs) -> None:
    ada = client_as("ada")
    for address in ("/people", "/people/nobody", "/sign-in", "/nowhere"):
        answer = ada.get(address)
        assert (answer.headers["Cache-Control"], answer.headers["Vary"]) == ("no-store", "Cookie")
