"""Signing in: throttled by a clock, alike for everybody, new cookies each time, sessions that end when they must."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from itertools import pairwise

import pytest
from flask import Flask
from sqlalchemy import select, update

from quizapp.config import CHECKOUT, Settings
from quizapp.content.library import Library
from quizapp.services.sign_in import sign_in
from quizapp.store.accounts import Account, SessionRow
from quizapp.store.audit import AuditRow
from quizapp.web import create_app
from quizapp.web.edge import Edge
from quizapp.web.session_cookie import own_path
from tests.small_service import PASSWORD, SmallService
from tests.web_app import COOKIE, JudgingClient

ClientAs = Callable[[str], JudgingClient]


def enter(client: JudgingClient, name: str, password: str, **entries: str) -> tuple[int, str]:
    answer = client.submit("/sign-in", {"name": name, "password": password, **entries}, action="/sign-in")
    return answer.status_code, answer.headers.get("Location", "") or answer.text


def test_the_right_password_signs_in_and_leads_where_one_was_going(client: JudgingClient) -> None:
    going = client.get("/people?search=x", headers={"Accept": "text/html"})
    assert going.headers["Location"] == "/sign-in?next=/people?search%3Dx"
    answer = client.submit(going.headers["Location"], {"name": " ADA ", "password": PASSWORD}, action="/sign-in")
    assert (answer.status_code, answer.headers["Location"]) == (303, "/people?search=x")
    assert client.get("/people").status_code == 200


@pytest.mark.parametrize("account", ["closed", "without a password"])
def test_unknown_wrong_and_unusable_look_the_same(
    client: JudgingClient, small_sqlite: SmallService, account: str
) -> None:
    values = {"is_active": False} if account == "closed" else {"password_hash": None}
    with small_sqlite.database.writing() as session:
        session.execute(update(Account).where(Account.sign_in_name == "tor").values(**values))
    pages = set()
    for name, password in (("nobody", PASSWORD), ("mira", "wrong"), ("tor", PASSWORD)):
        status, text = enter(client, name, password)
        assert status == 401
        pages.add(text[text.index('role="alert"') : text.index("<form method")])
    assert len(pages) == 1


def test_an_unknown_name_is_throttled_like_a_known_one(client: JudgingClient) -> None:
    def statuses(name: str) -> list[int]:
        return [enter(client, name, "wrong")[0] for _ in range(5)]

    assert statuses("nobody") == statuses("mira") == [401, 401, 429, 429, 429]


def test_each_failure_doubles_the_wait_and_nobody_is_locked_out_for_good(
    small_sqlite: SmallService, clock: Callable[[], object]
) -> None:
    """Ten thousand tries, one a second, are looked at fewer than a hundred times; then the owner gets in."""
    now, looked_at, waits = small_sqlite.now, 0, []
    for _ in range(10_000):
        now += timedelta(seconds=1)
        if waits and now < waits[-1]:
            continue
        with small_sqlite.database.writing() as session:
            outcome = sign_in(session, now, small_sqlite.randomness, name="mira", password="wrong")
        looked_at += 1
        waits.append(now + timedelta(seconds=outcome.wait_s))
    assert looked_at < 100
    assert max(later - earlier for earlier, later in pairwise(waits)) <= timedelta(minutes=16)
    with small_sqlite.database.writing() as session:
        assert sign_in(session, waits[-1], small_sqlite.randomness, name="mira", password=PASSWORD).token


def test_while_waiting_even_the_right_password_is_not_looked_at(small_sqlite: SmallService) -> None:
    def attempt(password: str, seconds: int) -> tuple[bool, int]:
        with small_sqlite.database.writing() as session:
            at = small_sqlite.now + timedelta(seconds=seconds)
            outcome = sign_in(session, at, small_sqlite.randomness, name="mira", password=password)
        return outcome.token is not None, outcome.wait_s

    assert [attempt("wrong", 0) for _ in range(3)] == [(False, 0), (False, 0), (False, 1)]
    assert attempt(PASSWORD, 0) == (False, 1)
    assert attempt(PASSWORD, 1) == (True, 0)
    assert attempt("wrong", 1) == (False, 0)


def test_the_page_says_how_long_to_wait(client: JudgingClient) -> None:
    for _ in range(3):
        answer = client.submit("/sign-in", {"name": "mira", "password": "wrong"}, action="/sign-in")
    assert (answer.status_code, answer.headers["Retry-After"]) == (429, "1")
    other = client.submit("/sign-in", {"name": "tor", "password": PASSWORD}, action="/sign-in")
    assert other.status_code == 303


def test_refusals_are_on_the_audit_trail_without_the_name(client: JudgingClient, small_sqlite: SmallService) -> None:
    enter(client, "mira", "wrong")
    with small_sqlite.database.reading() as session:
        row = session.scalars(select(AuditRow)).one()
    assert (row.event, row.actor_id) == ("sign_in_refused", "")
    assert b"mira" not in row.body
    assert b"wrong" not in row.body


TARGETS = [
    "//evil.example", "///evil.example", "/\\evil.example", "\\/evil.example", "\\\\evil.example",
    "https://evil.example", "HTTPS://evil.example", "http:evil.example", "https:/evil.example", "ftp://evil.example",
    "javascript:alert(1)", "JavaScript:alert(1)", "data:text/html,x", "evil.example", "evil.example/x", "@evil.example",
    ".", "..", "", " ", " /x", "/ x", "\t/x", "/\t/evil.example", "/\n/evil.example", "/x\r\nSet-Cookie: a=b",
    "/x\nLocation: http://evil.example", "/\x00", "/x\x7f", "\x00/x", "/\u2028x", "/a\\b", "//evil.example/%2f..",
    "/\u3000/evil.example", "//[::1]/x", "//user@evil.example", "mailto:a@b.c", "?next=//evil.example", "#x",
    "/\u00a0evil", "https:///evil.example",
]  # fmt: skip


@pytest.mark.parametrize("target", TARGETS, ids=ascii)
def test_only_own_paths_are_gone_to(target: str) -> None:
    assert own_path(target) == "/"


@pytest.mark.parametrize("target", ["/", "/people", "/people?search=x&y=1", "/a/b#c", "/%5cevil", "/x?next=//y"])
def test_own_paths_are_kept(target: str) -> None:
    assert own_path(target) == target


@pytest.mark.parametrize("target", ["//evil.example", "https://evil.example/x"])
def test_a_foreign_target_leads_to_the_first_page(client: JudgingClient, target: str) -> None:
    assert enter(client, "mira", PASSWORD, next=target) == (303, "/")
    lamp = client.submit("/about", {"lamp": "night", "next": target}, action="/lamp")
    assert lamp.headers["Location"] == "/"


def test_a_cookie_of_before_is_not_taken_over(client: JudgingClient) -> None:
    """Session fixation: whatever cookie the browser brought, signing in gives a new one."""
    client.set_cookie(COOKIE, "planted")
    enter(client, "mira", PASSWORD)
    first = client.get_cookie(COOKIE)
    enter(client, "mira", PASSWORD)
    second = client.get_cookie(COOKIE)
    assert first is not None
    assert second is not None
    assert len({"planted", first.value, second.value}) == 3
    assert first.http_only
    assert first.same_site == "Lax"


def test_the_cookie_is_bound_to_host_and_tls_in_service(small_sqlite: SmallService, library: Library) -> None:
    settings = Settings(
        database_url=small_sqlite.database.url, content_folder=CHECKOUT, secret="only-for-tests-" * 3,
        hosts=("rescue.example",),
    )  # fmt: skip
    parts = Edge(settings=settings, database=small_sqlite.database, library=library, clock=lambda: small_sqlite.now)
    app = create_app(parts)
    app.test_client_class = JudgingClient
    client = app.test_client()
    answer = client.get("/sign-in", base_url="https://rescue.example")
    assert answer.headers["Strict-Transport-Security"].startswith("max-age=31536000")
    assert "__Host-quizapp_form=" in answer.headers["Set-Cookie"]
    assert {"Secure", "HttpOnly", "SameSite=Lax", "Path=/"} <= set(answer.headers["Set-Cookie"].split("; "))
    app.config["WTF_CSRF_ENABLED"] = False
    entries = {"name": "mira", "password": PASSWORD}
    cookies = client.post("/sign-in", data=entries, base_url="https://rescue.example").headers.getlist("Set-Cookie")
    session_cookie = next(one for one in cookies if one.startswith("__Host-quizapp_session="))
    assert {"Secure", "HttpOnly", "SameSite=Lax", "Path=/"} <= set(session_cookie.split("; "))
    assert "Domain" not in session_cookie
    assert client.get("/sign-in", base_url="https://other.example").status_code == 400


def test_signing_out_ends_the_session_itself(client_as: ClientAs, app: Flask) -> None:
    mira = client_as("mira")
    cookie = mira.get_cookie(COOKIE)
    assert cookie is not None
    assert mira.submit("/account", {}, action="/sign-out").status_code == 303
    again = app.test_client()
    again.set_cookie(COOKIE, cookie.value)
    assert again.get("/account").status_code == 302


@pytest.mark.parametrize(
    ("steps_min", "status"),
    [([29], 200), ([30], 302), ([29] * 24, 200), ([29] * 25, 302)],
    ids=["seen in time", "idle", "a long day", "twelve hours"],
)
def test_sessions_end_when_idle_and_after_twelve_hours(
    client_as: ClientAs, clock: Callable[[], object], steps_min: list[int], status: int
) -> None:
    mira = client_as("mira")
    for minutes in steps_min:
        clock.advance(timedelta(minutes=minutes))  # type: ignore[attr-defined]
        last = mira.get("/account").status_code
    assert last == status


@pytest.mark.parametrize("change", ["account", "person"])
def test_who_is_deactivated_or_leaves_is_out_at_the_next_request(
    client_as: ClientAs, small_sqlite: SmallService, change: str
) -> None:
    mira = client_as("mira")
    assert mira.get("/account").status_code == 200
    statement = {
        "account": "UPDATE account SET is_active = 0 WHERE sign_in_name = 'mira'",
        "person": "UPDATE person SET left_on = '2026-03-01' WHERE staff_number = 'T-mira'",
    }[change]
    with small_sqlite.database.writing() as session:
        session.connection().exec_driver_sql(statement)
    assert mira.get("/account").status_code == 302


def test_looking_at_pages_changes_only_when_one_was_seen(
    client_as: ClientAs, small_sqlite: SmallService, clock: Callable[[], object]
) -> None:
    mira = client_as("mira")
    clock.advance(timedelta(minutes=5))  # type: ignore[attr-defined]
    mira.get("/account")
    with small_sqlite.database.reading() as session:
        row = session.scalars(select(SessionRow)).one()
        assert session.scalars(select(AuditRow)).all() == []
    assert row.last_seen_at == small_sqlite.now + timedelta(minutes=5)
