"""Requests nobody would make by hand, over every route and role: refused or answered, never an error of the program.

2,000 in the ordinary run; 100,000 by `python3 dev.py test -m soak -k fuzzed_requests`.
"""

from __future__ import annotations

import json
import random
import time
from collections.abc import Iterator
from typing import Any
from urllib.parse import quote

import pytest
from flask import Flask
from flask.testing import FlaskClient
from sqlalchemy import select
from werkzeug.datastructures import MultiDict
from werkzeug.routing import Rule

from quizapp.content.library import Library
from quizapp.services.verify_audit import verify_stored_chain
from quizapp.store import Record
from tests.knowledge_forms import begun, composed
from tests.small_service import SmallService
from tests.web_app import COOKIE, form_of, signed_in_cookie, values_of

COUNTS = [2_000, pytest.param(100_000, marks=pytest.mark.soak)]
PEOPLE = ("", "mira", "tor", "ines", "cleo", "leif", "ada", "petra")
SLOWEST_S = 2.0
METHODS = ("GET", "GET", "POST", "POST", "POST", "PUT", "DELETE", "HEAD", "OPTIONS", "PATCH")
TEXTS = [
    "", " ", "0", "-1", "1", "1,5", "١٢", "1e400", "nan", "9" * 400, "12 L/min", "2026-02-30", "2026-11-25", "yes",
    "on", "\x00", "a\x00b", "\ud800", "\u202egnp.exe", "'; drop table person; --", "<svg onload=alert(1)>", "{{7*7}}",
    "=1+1", "../../etc/passwd", "//evil.example", "x" * 5_000, "é" * 300, "\r\nSet-Cookie: a=b", "%s%n", "[]", "{}",
]  # fmt: skip
JSON_BODIES = [
    "", "{", "[]", "null", "NaN", '{"events": []}', '{"events": null}', '{"events": [{}]}',
    '{"events": [1, "a", null]}',
    '{"events": [{"event_id": "\\ud800", "kind": "step", "device_at": "x"}]}', '{"a": 1, "a": 2}', "[" * 2_000,
    '{"events": ' + json.dumps([{"event_id": "f" * 32, "kind": "note", "text": "x" * 3000}]) + "}",
]  # fmt: skip


class Fuzzer:
    """Makes requests of known and odd parts; the same seed makes the same ones."""

    def __init__(self, app: Flask, small: SmallService, seed: int) -> None:
        self.app, self.small, self.chance = app, small, random.Random(seed)
        self.rules = sorted((rule for rule in app.url_map.iter_rules() if rule.endpoint != "static"), key=str)
        self.clients = {name: self._client(name) for name in PEOPLE}
        self.ids = list(self._ids())
        self.names: dict[str, list[str]] = {}

    def _client(self, name: str) -> FlaskClient:
        client = FlaskClient(self.app)
        if name:
            client.set_cookie(COOKIE, signed_in_cookie(self.small, name, lambda: self.small.now))
        return client

    def _ids(self) -> Iterator[str]:
        with self.small.database.reading() as session:
            for table in Record.metadata.sorted_tables:
                if "id" in table.columns:
                    yield from (str(one) for one in session.scalars(select(table.columns["id"]).limit(4)))

    def request(self) -> tuple[str, str, str, int, float]:
        """Make one request; return who, how, where, the status, and the seconds of work it took."""
        rule, name = self.chance.choice(self.rules), self.chance.choice(PEOPLE)
        method, address = self.chance.choice(METHODS), self._address(rule)
        began = time.process_time()
        answer = self.clients[name].open(address, method=method, **self._body(rule, method))
        return name, method, address, answer.status_code, time.process_time() - began

    def _address(self, rule: Rule) -> str:
        parts = {argument: self._part() for argument in rule.arguments}
        address = self.app.url_map.bind("localhost").build(rule.endpoint, {}) if not parts else str(rule)
        for argument, part in parts.items():
            for shape in (f"<{argument}>", f"<int:{argument}>", f"<path:{argument}>"):
                address = address.replace(shape, part)
        if self.chance.random() < 0.3:
            return f"{address}?{self._quoted(self._word())}={self._quoted(self._word())}"
        return address

    def _part(self) -> str:
        return self.chance.choice(self.ids) if self.chance.random() < 0.7 else self._quoted(self._word() or "-")

    def _quoted(self, text: str) -> str:
        return quote(text.encode("utf-8", "surrogatepass"), safe="")

    def _word(self) -> str:
        return self.chance.choice([*TEXTS, *self.ids])

    def _body(self, rule: Rule, method: str) -> dict[str, Any]:
        if method not in {"POST", "PUT", "PATCH"}:
            return {}
        if self.chance.random() < 0.15:
            return {"data": self.chance.choice(JSON_BODIES), "content_type": "application/json"}
        entries: MultiDict[str, str] = MultiDict()
        for name in self._field_names(rule):
            for _ in range(self.chance.choice([0, 1, 1, 1, 2])):
                entries.add(name, self._word().encode("utf-8", "surrogatepass").decode("utf-8", "replace"))
        return {"data": entries}

    def _field_names(self, rule: Rule) -> list[str]:
        """The names of the page's own form where it has one, else names that forms here have."""
        if rule.endpoint not in self.names:
            self.names[rule.endpoint] = self._asked_names(rule)
        return self.names[rule.endpoint]

    def _asked_names(self, rule: Rule) -> list[str]:
        usual = ["act_key", "password", "reason", "outcome", "competency", "from_day", "until_day", "answer_0",
                 "unit_0", "option", "order", "revision", "next", "name", "file", "text"]  # fmt: skip
        for name in ("ines", "ada", "mira"):
            page = self.clients[name].get(self._address(rule))
            if page.status_code == 200 and page.mimetype == "text/html":
                try:
                    return [*values_of(form_of(page.text)), *usual]
                except AssertionError:
                    continue
        return usual


@pytest.mark.parametrize("count", COUNTS)
def test_no_request_is_an_error_of_the_program(
    app: Flask, small_sqlite: SmallService, library: Library, count: int
) -> None:
    app.config["WTF_CSRF_ENABLED"] = False
    begun(small_sqlite, library, composed(small_sqlite, library))
    fuzzer = Fuzzer(app, small_sqlite, seed=20261125)
    statuses: set[int] = set()
    for _ in range(count):
        who, how, where, status, seconds = fuzzer.request()
        assert status < 500, f"{status}: {how} {where} as {who or 'nobody'}"
        assert seconds < SLOWEST_S, f"{seconds:.1f} s: {how} {where} as {who or 'nobody'}"
        statuses.add(status)
    assert {200, 302, 303, 400, 403, 404, 405, 422} <= statuses
    with small_sqlite.database.reading() as session:
        assert verify_stored_chain(session).faults == ()
