"""The web application around a small service, and a client that judges every page it is given."""

from __future__ import annotations

from datetime import timedelta
from typing import Any
from urllib.parse import urlsplit
from xml.etree.ElementTree import Element

import html5lib
from flask import Flask
from flask.testing import FlaskClient
from werkzeug.test import TestResponse

from quizapp.config import CHECKOUT, Settings
from quizapp.content.library import Library
from quizapp.services.passwords import token_hash
from quizapp.store.accounts import SessionRow
from quizapp.web import create_app
from quizapp.web.edge import Clock, Edge
from tests.page_faults import faults_of_page
from tests.small_service import SmallService

COOKIE = "quizapp_session"
WALLS = {
    "Content-Security-Policy": "default-src 'none'",
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "same-origin",
}


def web_app_around(small: SmallService, library: Library, clock: Clock, *, needs_second_factor: bool = False) -> Flask:
    """The application as it runs in service, on plain HTTP, with the test's clock and source of chance."""
    settings = Settings(
        database_url=small.database.url,
        content_folder=CHECKOUT,
        secret="only-for-tests-" * 3,
        plain_http=True,
        needs_second_factor=needs_second_factor,
    )
    parts = Edge(settings=settings, database=small.database, library=library, clock=clock, randomness=small.randomness)
    app = create_app(parts)
    app.testing = True
    app.test_client_class = JudgingClient
    return app


def signed_in_cookie(small: SmallService, name: str, clock: Clock) -> str:
    """Open a browser session for a person of the small service and return the cookie's value."""
    token, now = small.randomness.secret(), clock()
    with small.database.writing() as session:
        session.add(
            SessionRow(
                id=small.randomness.new_id(),
                token_hash=token_hash(token),
                account_id=small.person_id(name),
                started_at=now,
                last_seen_at=now,
                ends_at=now + timedelta(hours=12),
                ended_at=None,
            )
        )
    return token


class JudgingClient(FlaskClient):
    """A client that refuses any answer without the walls and any page with a fault."""

    def open(self, *arguments: Any, **options: Any) -> TestResponse:
        answer = super().open(*arguments, **options)
        missing = [name for name, start in WALLS.items() if not answer.headers.get(name, "").startswith(start)]
        assert missing == [], f"{answer.request.path} lacks {missing}"
        assert answer.status_code < 500, f"{answer.request.path}: {answer.status}"
        if answer.mimetype == "text/html" and answer.data and answer.status_code not in range(300, 400):
            faults = faults_of_page(answer.text)
            assert faults == [], f"{answer.request.path}: {faults}"
        return answer

    def submit(self, page: str, entries: dict[str, Any], *, action: str = "") -> TestResponse:
        """Open a page, fill in its form as a browser would, hidden fields included, and send it.

        `action` picks the form whose address ends with it; without it the page must have one form in its main part.
        """
        form = form_of(self.get(page).text, action)
        address = urlsplit(form.get("action") or page)
        data = {**values_of(form), **entries}
        return self.open(
            address.path, query_string=address.query, method=(form.get("method") or "get").upper(), data=data
        )


def form_of(text: str, action: str = "") -> Element:
    """The one form of a page whose action ends as given (without `action`: the one form inside main)."""
    root = html5lib.parse(text, namespaceHTMLElements=False)
    forms = root.findall(".//form") if action else root.findall(".//main//form")
    fitting = [form for form in forms if urlsplit(form.get("action") or "").path.endswith(action)]
    assert len(fitting) == 1, f"{len(fitting)} forms fit {action!r} out of {[form.get('action') for form in forms]}"
    return fitting[0]


def values_of(form: Element) -> dict[str, Any]:
    """What a browser would send if nobody touched the form (buttons left out)."""
    values: dict[str, Any] = {}
    for field in form.iter():
        name, kind = field.get("name"), field.get("type", "text")
        if not name or field.get("disabled") is not None or kind in {"submit", "button", "image"}:
            continue
        if field.tag == "textarea":
            values[name] = field.text or ""
        elif field.tag == "select":
            values[name] = _chosen(field)
        elif field.tag == "input" and (kind not in {"radio", "checkbox"} or field.get("checked") is not None):
            _add(values, name, field.get("value", "on" if kind in {"radio", "checkbox"} else ""))
    return values


def _chosen(field: Element) -> str:
    options = list(field.iter("option"))
    marked = [option for option in options if option.get("selected") is not None] or options[:1]
    return marked[0].get("value", marked[0].text or "") if marked else ""


def _add(values: dict[str, Any], name: str, value: str) -> None:
    if name in values:
        before = values[name]
        values[name] = [*before, value] if isinstance(before, list) else [before, value]
    else:
        values[name] = value
