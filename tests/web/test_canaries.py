"""Unique words in keys, reasons and wrong ideas: every address, asked by everybody in every state, keeps them in.

The only place where they may come out is the owner's own page behind an answer, once it is released.
"""

from __future__ import annotations

import logging
import re
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient
from sqlalchemy import String, select, text
from werkzeug.routing import Rule

from quizapp.content.library import Library
from quizapp.services.close_assessment import close_assessment
from quizapp.store import Record
from quizapp.store.sittings import SittingQuestion
from tests.answering import begun_with
from tests.knowledge_forms import composed, handed_in
from tests.small_service import SmallService
from tests.web_app import COOKIE, signed_in_cookie

ClientAs = Callable[[str], FlaskClient]
EVERYBODY = ("mira", "petra", "tor", "ines", "cleo", "leif", "ada")
CANARY = "quillwort"
POSITIONS = "123"
MANY = {"sitting", "assessment"}
"""Of these more than one id is tried; of everything else the first."""


def closed_codes(library: Library) -> list[str]:
    """Two families that are asked again: what lies behind them waits until the window has closed."""
    return [family.code for family in library.families.values() if family.use == "assessment"][:2]


def with_canaries(frozen: dict[str, Any], position: int) -> dict[str, Any]:
    """The question as it was drawn, with a word of its own in everything the author says about the answer."""
    plain = dict(frozen)
    plain["worked"], plain["keep"] = f"{CANARY}-worked-{position}", f"{CANARY}-keep-{position}"
    plain["options"] = [
        {**option, "name": f"{CANARY}-name-{number}", "wrong_idea": "" if option["is_key"] else f"{CANARY}-idea",
         "says": f"{CANARY}-says-{number}"}
        for number, option in enumerate(frozen["options"])
    ]  # fmt: skip
    return plain


@pytest.fixture
def sitting_id(small_sqlite: SmallService, library: Library) -> str:
    """Mira's sitting of three questions, two of them closed ones, with canaries in each."""
    sitting = begun_with(small_sqlite, library, composed(small_sqlite, library), ["N27", *closed_codes(library)])
    with small_sqlite.database.writing() as session:
        for row in session.scalars(select(SittingQuestion).where(SittingQuestion.sitting_id == sitting)):
            row.frozen = with_canaries(row.frozen, row.position)
    return sitting


def ids_in(small: SmallService) -> dict[str, list[str]]:
    """Every id in the database, by table."""
    found: dict[str, list[str]] = {}
    with small.database.reading() as session:
        for table in Record.metadata.sorted_tables:
            if "id" in table.columns and isinstance(table.columns["id"].type, String):
                most = 3 if table.name in MANY else 1
                found[table.name] = list(session.scalars(select(table.columns["id"]).limit(most)))
    return found


def addresses(app: Flask, rule: Rule, ids: dict[str, list[str]]) -> Iterator[str]:
    """The rule's address for every fitting id; where no table has the argument's name, for ids of sittings."""
    names = sorted(rule.arguments)
    urls = app.url_map.bind("localhost")
    if not names:
        yield urls.build(rule.endpoint, {})
        return
    for name in {*names} - {"position"}:
        for one in ids.get(name.removesuffix("_id"), []) or ids["sitting"]:
            for position in POSITIONS if "position" in names else POSITIONS[:1]:
                yield urls.build(rule.endpoint, {**dict.fromkeys(names, position), name: one})


def leaks(app: Flask, small: SmallService, caplog: pytest.LogCaptureFixture) -> set[tuple[str, str]]:
    """Open every address as everybody; return who found a canary where, in the answer or its headers."""
    found: set[tuple[str, str]] = set()
    ids, answers = ids_in(small), 0
    for name in EVERYBODY:
        client = FlaskClient(app)
        client.set_cookie(COOKIE, signed_in_cookie(small, name, lambda: small.now))
        for rule in app.url_map.iter_rules():
            for address in set(addresses(app, rule, ids)):
                answer = client.get(address)
                assert answer.status_code < 500, address
                answers += answer.status_code == 200
                if CANARY in answer.text + str(answer.headers):
                    found.add((name, re.sub(r"[0-9a-f]{32}", "…", address)))
    assert answers > 100, "the crawl opens pages"
    assert CANARY not in caplog.text
    return found


@pytest.fixture
def quiet_log(caplog: pytest.LogCaptureFixture) -> pytest.LogCaptureFixture:
    caplog.set_level(logging.DEBUG, logger="quizapp")
    return caplog


def released(*positions: int) -> set[tuple[str, str]]:
    """Where what lies behind these answers may be read, and by whom."""
    places = ("/sitting/…/{}/why", "/challenges/answer/…/{}")
    return {("mira", place.format(position)) for place in places for position in positions}


def test_while_it_is_sat(
    app: Flask, small_sqlite: SmallService, sitting_id: str, quiet_log: pytest.LogCaptureFixture
) -> None:
    assert leaks(app, small_sqlite, quiet_log) == set()


def test_handed_in_while_others_may_still_sit(
    app: Flask, small_sqlite: SmallService, sitting_id: str, quiet_log: pytest.LogCaptureFixture
) -> None:
    handed_in(small_sqlite, sitting_id)
    assert leaks(app, small_sqlite, quiet_log) == released(1)


def test_after_the_window_closed(
    app: Flask, small_sqlite: SmallService, library: Library, sitting_id: str, quiet_log: pytest.LogCaptureFixture
) -> None:
    handed_in(small_sqlite, sitting_id)
    with small_sqlite.acting("ines") as act:
        (assessment_id,) = act.session.execute(text("select id from assessment")).scalars()
        close_assessment(act, assessment_id)
    assert leaks(app, small_sqlite, quiet_log) == released(1, 2, 3)
