"""What the service tells a device about keeping pages: whose they are, and which few may be kept at all."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from flask import Flask

from quizapp.web.kept_on_device import MAY_BE_KEPT
from tests.observing import accept, opened, put_in_service, require, sign_off
from tests.small_service import SmallService
from tests.web_app import JudgingClient

ClientAs = Callable[[str], JudgingClient]


@pytest.fixture
def ready(small_sqlite: SmallService) -> SmallService:
    put_in_service(small_sqlite)
    require(small_sqlite, "C8")
    sign_off(small_sqlite, "tor", "C8")
    accept(small_sqlite, "P06")
    return small_sqlite


def test_only_ones_own_pages_and_the_sheets_of_today_may_be_kept(app: Flask, ready: SmallService) -> None:
    """My currency, the observation sheet with the people chosen, practice with its procedures: nothing else."""
    assert set(MAY_BE_KEPT) == {
        "currency.show", "practice.show", "procedures.index", "procedures.show", "procedures.sheet", "rehearsal.show",
        "observe.index", "observe.sheet",
    }  # fmt: skip
    assert set(app.view_functions) >= MAY_BE_KEPT


def test_a_page_says_whose_it_is_and_whether_it_may_be_kept(client_as: ClientAs, ready: SmallService) -> None:
    tor, una = client_as("tor"), client_as("una")
    sheet = f"/observe/{opened(ready)}"
    for path in ("/", "/observe", sheet, "/procedures/P06"):
        assert tor.get(path).headers.get("Keep-On-Device") == "yes", path
    for path in ("/account", "/observe/new", f"{sheet}/finish", "/observe/late", "/about"):
        assert "Keep-On-Device" not in tor.get(path).headers, path
    owners = {client.get("/").headers["Device-Owner"] for client in (tor, una)}
    assert len(owners) == 2
    assert ready.person_id("tor") not in owners
    assert {tor.get("/").headers["Device-Owner"], tor.get(sheet).headers["Device-Owner"]} <= owners


def test_nobody_signed_in_keeps_nothing(app: Flask, ready: SmallService) -> None:
    for path in ("/sign-in", "/about", "/offline"):
        answer = JudgingClient(app, app.response_class).get(path)
        assert "Device-Owner" not in answer.headers
        assert "Keep-On-Device" not in answer.headers


def test_no_answer_ever_asks_the_browser_to_throw_its_storage_away(client_as: ClientAs, ready: SmallService) -> None:
    """Marks that wait live there: clearing is left to the page, which first says what waits."""
    client = client_as("tor")
    out = client.submit("/", {}, action="/sign-out")
    for answer in (client.get("/"), client.get("/sign-in"), out):
        assert "Clear-Site-Data" not in answer.headers


def test_the_worker_stands_at_the_root_and_is_asked_for_anew(app: Flask) -> None:
    client = JudgingClient(app, app.response_class)
    worker = client.get("/service-worker.js")
    assert (worker.status_code, worker.mimetype) == (200, "text/javascript")
    assert worker.headers["Cache-Control"] == "no-store"
    manifest = client.get("/manifest.webmanifest")
    assert (manifest.mimetype, manifest.get_json()["scope"]) == ("application/manifest+json", "/")


def test_the_key_to_send_marks_says_whose_sign_in_it_is(client_as: ClientAs, ready: SmallService) -> None:
    client, sheet = client_as("tor"), f"/observe/{opened(ready)}"
    assert client.get(f"{sheet}/events").get_json()["owner"] == client.get("/").headers["Device-Owner"]
