"""PostgreSQL with the head of the audit trail held elsewhere: the act is told to come again, and does."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from typing import Any

import pytest
from flask.testing import FlaskClient
from sqlalchemy import text

from quizapp.content.library import Library
from quizapp.store.database import POSTGRES_SETTINGS
from tests.small_service import PASSWORD, SmallService
from tests.web_app import form_of, values_of, web_app_around

pytestmark = pytest.mark.postgres


def enter(browser: FlaskClient) -> Any:
    page = values_of(form_of(browser.get("/sign-in").text, "sign-in"))
    return browser.post("/sign-in", data={**page, "name": "mira", "password": PASSWORD})


def test_a_lock_held_elsewhere_is_told_and_the_next_try_works(
    small: SmallService, library: Library, clock: Callable[[], datetime], monkeypatch: pytest.MonkeyPatch
) -> None:
    if small.database.is_sqlite:
        return
    monkeypatch.setitem(POSTGRES_SETTINGS, "lock_timeout", "200ms")
    waiting = type(small.database)(small.database.url)
    app = web_app_around(SmallService(database=waiting, now=small.now, randomness=small.randomness), library, clock)
    browser = FlaskClient(app, app.response_class)
    with small.database.reading() as holder:
        holder.execute(text("SELECT seq FROM audit_head FOR UPDATE"))
        answer = enter(browser)
        assert browser.get("/sign-in").status_code == 200
    assert (answer.status_code, "Retry-After" in answer.headers) == (503, True)
    assert "Nothing was saved" in answer.text
    assert enter(browser).status_code == 303
    waiting.close()
