"""A locked and a full database: nothing half saved, a page that says so, reading goes on, and the next try works."""

from __future__ import annotations

import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import timedelta
from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient
from sqlalchemy import event, text
from werkzeug.test import TestResponse

from quizapp.services.verify_audit import verify_stored_chain
from quizapp.store.database import SQLITE_PRAGMAS, sqlite_file
from tests.small_service import PASSWORD, SmallService
from tests.web_app import COOKIE, form_of, signed_in_cookie, values_of

HOLD = """
import sqlite3, sys
connection = sqlite3.connect(sys.argv[1], isolation_level=None)
connection.execute("BEGIN IMMEDIATE")
print("held", flush=True)
sys.stdin.read()
"""
COUNTED = ("audit", "session", "sign_in_throttle", "record_seal")


@pytest.fixture
def browser(app: Flask) -> FlaskClient:
    """A browser that takes answers from 500 up as they are; the usual one refuses them."""
    return FlaskClient(app, app.response_class)


@contextmanager
def held_by_another_process(small: SmallService) -> Iterator[None]:
    holder = subprocess.Popen(
        [sys.executable, "-c", HOLD, str(sqlite_file(small.database.url))],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
    )
    try:
        assert holder.stdout is not None
        assert holder.stdout.readline() == b"held\n"
        yield
    finally:
        holder.communicate()


@contextmanager
def no_page_more(small: SmallService) -> Iterator[None]:
    """Let the file not grow, as on a full disk."""
    engine = small.database.engine

    def stop_growing(connection: Any, _record: object) -> None:
        (pages,) = connection.execute("PRAGMA page_count").fetchone()
        connection.execute(f"PRAGMA max_page_count={pages}")

    engine.dispose()
    event.listen(engine, "connect", stop_growing)
    try:
        yield
    finally:
        event.remove(engine, "connect", stop_growing)
        engine.dispose()


def counts(small: SmallService) -> dict[str, int]:
    with small.database.reading() as session:
        return {name: session.scalar(text(f"SELECT count(*) FROM {name}")) or 0 for name in COUNTED}


def enter(browser: FlaskClient, name: str = "mira") -> TestResponse:
    page = values_of(form_of(browser.get("/sign-in").text, "sign-in"))
    return browser.post("/sign-in", data={**page, "name": name, "password": PASSWORD})


def is_whole(small: SmallService) -> bool:
    with small.database.reading() as session:
        return session.scalar(text("PRAGMA integrity_check")) == "ok" and not verify_stored_chain(session).faults


@pytest.fixture
def impatient(small_sqlite: SmallService, monkeypatch: pytest.MonkeyPatch) -> SmallService:
    """The service with a waiting time of 0.2 s for the lock; that it is 5 s in service is another test."""
    monkeypatch.setitem(SQLITE_PRAGMAS, "busy_timeout", "200")
    small_sqlite.database.engine.dispose()
    return small_sqlite


def test_a_lock_held_elsewhere_is_told_and_the_next_try_works(impatient: SmallService, browser: FlaskClient) -> None:
    before = counts(impatient)
    with held_by_another_process(impatient):
        answer = enter(browser)
        assert browser.get("/sign-in").status_code == 200
    assert answer.status_code == 503
    assert int(answer.headers["Retry-After"]) > 0
    assert "Nothing was saved" in answer.text
    assert "still on the page" in answer.text
    assert counts(impatient) == before
    assert enter(browser).status_code == 303


def test_reading_goes_on_behind_a_lock(impatient: SmallService, browser: FlaskClient, clock: Callable[[], Any]) -> None:
    browser.set_cookie(COOKIE, signed_in_cookie(impatient, "mira", clock))
    clock.advance(timedelta(minutes=5))  # type: ignore[attr-defined]
    with held_by_another_process(impatient):
        assert browser.get("/about").status_code == 200
        assert browser.get("/").status_code == 200


def test_a_full_disk_is_told_reading_goes_on_and_room_mends_it(
    small_sqlite: SmallService, browser: FlaskClient, clock: Callable[[], Any]
) -> None:
    cookie = signed_in_cookie(small_sqlite, "mira", clock)
    with no_page_more(small_sqlite):
        for _time in range(200):
            before = counts(small_sqlite)
            browser.delete_cookie(COOKIE)
            answer = enter(browser)
            if answer.status_code != 303:
                break
        assert answer.status_code == 507
        assert "Nothing was saved" in answer.text
        assert counts(small_sqlite) == before
        browser.set_cookie(COOKIE, cookie)
        clock.advance(timedelta(minutes=5))  # type: ignore[attr-defined]
        assert browser.get("/").status_code == 200
        assert is_whole(small_sqlite)
    browser.delete_cookie(COOKIE)
    assert enter(browser).status_code == 303
    assert is_whole(small_sqlite)


def test_a_turn_that_does_not_come_is_told(
    small_sqlite: SmallService, browser: FlaskClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("quizapp.store.database.LONGEST_WAIT_FOR_A_TURN_S", 0.05)
    began = time.monotonic()
    with small_sqlite.database.writing():
        answer = enter(browser)
    assert time.monotonic() - began < 5
    assert (answer.status_code, "Retry-After" in answer.headers) == (503, True)
    assert enter(browser).status_code == 303
