"""Two factors at sign-in: who is asked, what opens before the code and what does not, and the way back."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import datetime, timedelta

import pyotp
import pytest
from flask import Flask
from sqlalchemy import select

from quizapp.assessment.audit_events import AuditEvent
from quizapp.content.library import Library
from quizapp.store.audit import AuditRow
from quizapp.store.second_factors import RecoveryCode, SecondFactor
from tests.small_service import PASSWORD, SmallService
from tests.web_app import COOKIE, JudgingClient, web_app_around


class Watch:
    """A clock a test can push on."""

    def __init__(self, now: datetime) -> None:
        self.now = now

    def __call__(self) -> datetime:
        return self.now

    def later(self, seconds: int = 30) -> None:
        self.now += timedelta(seconds=seconds)


@pytest.fixture
def watch(small_sqlite: SmallService) -> Watch:
    return Watch(small_sqlite.now)


@pytest.fixture
def app(small_sqlite: SmallService, library: Library, watch: Watch) -> Flask:
    return web_app_around(small_sqlite, library, watch, needs_second_factor=True)


@pytest.fixture
def visitor(app: Flask) -> Callable[[], JudgingClient]:
    return lambda: JudgingClient(app)


def signed_in(client: JudgingClient, name: str) -> JudgingClient:
    entered = client.submit("/sign-in?next=/observe", {"name": name, "password": PASSWORD})
    assert entered.status_code == 303
    return client


def set_up(client: JudgingClient, watch: Watch) -> tuple[str, list[str]]:
    """Set up a second factor as a person would; return its secret and the recovery codes."""
    client.submit("/second-factor/set-up", {}, action="/begin")
    page = client.get("/second-factor/set-up").text
    secret = re.search(r"Or type the secret: <strong[^>]*>([A-Z2-7 ]+)<", page)
    assert secret
    clean = secret[1].replace(" ", "")
    code = pyotp.TOTP(clean).at(watch.now)
    done = client.submit("/second-factor/set-up", {"code": code, "password": PASSWORD}, action="/set-up")
    assert done.status_code == 303
    return clean, re.findall(r"<li><code>([a-z2-7-]{14})</code>", page)


def events(small: SmallService) -> list[str]:
    with small.database.reading() as session:
        return list(session.scalars(select(AuditRow.event).order_by(AuditRow.seq)))


def test_a_clinician_is_not_asked_but_may(visitor: Callable[[], JudgingClient], watch: Watch) -> None:
    mira = signed_in(visitor(), "mira")
    assert mira.get("/").status_code == 200
    secret, _ = set_up(mira, watch)
    again = signed_in(visitor(), "mira")
    assert again.get("/").location == "/second-factor?next=/"
    watch.later()
    entered = again.submit("/second-factor?next=/practice", {"code": pyotp.TOTP(secret).at(watch.now)})
    assert entered.location == "/practice"
    assert again.get("/").status_code == 200


@pytest.mark.parametrize("name", ["tor", "ines", "cleo", "leif", "ada"])
def test_who_says_something_about_others_has_to_set_one_up(visitor: Callable[[], JudgingClient], name: str) -> None:
    client = signed_in(visitor(), name)
    for address in ("/", "/observe", "/decisions", "/account", "/people", "/my-evidence"):
        assert client.get(address).location.startswith("/second-factor/set-up"), address
    page = client.get("/second-factor/set-up").text
    assert "Your roles ask for a second factor." in page
    assert "<nav" not in page
    assert client.get("/about").status_code == 200
    assert client.submit("/second-factor/set-up", {}, action="/sign-out").status_code == 303


def test_the_password_alone_opens_nothing(
    visitor: Callable[[], JudgingClient], watch: Watch, app: Flask, small_sqlite: SmallService
) -> None:
    set_up(signed_in(visitor(), "tor"), watch)
    half = signed_in(visitor(), "tor")
    app.config["WTF_CSRF_ENABLED"] = False
    for rule in app.url_map.iter_rules():
        found = getattr(app.view_functions[rule.endpoint], "policy", None)
        if found is None or found.before_second_factor:
            continue
        address = app.url_map.bind("localhost").build(rule.endpoint, dict.fromkeys(rule.arguments, "0" * 32))
        for method in (rule.methods or set()) & {"GET", "POST"}:
            answer = half.open(address, method=method)
            assert answer.status_code == 303, f"{method} {rule.rule}"
            assert answer.location.startswith("/second-factor"), f"{method} {rule.rule}"


def test_half_signed_in_nobody_makes_a_new_secret(visitor: Callable[[], JudgingClient], watch: Watch) -> None:
    set_up(signed_in(visitor(), "tor"), watch)
    half = signed_in(visitor(), "tor")
    refused = half.get("/second-factor/set-up")
    assert refused.status_code == 403
    assert "Show the code of your second factor first." in refused.text


def test_a_code_works_once_and_the_cookie_changes(
    visitor: Callable[[], JudgingClient], watch: Watch, small_sqlite: SmallService
) -> None:
    secret, _ = set_up(signed_in(visitor(), "tor"), watch)
    watch.later()
    code = pyotp.TOTP(secret).at(watch.now)
    one, two = signed_in(visitor(), "tor"), signed_in(visitor(), "tor")
    before = one.get_cookie(COOKIE)
    assert one.submit("/second-factor", {"code": code}).status_code == 303
    after = one.get_cookie(COOKIE)
    assert before
    assert after
    assert before.value != after.value
    repeated = two.submit("/second-factor", {"code": code})
    assert repeated.status_code == 422
    assert "was used already" in repeated.text
    assert AuditEvent.SECOND_FACTOR_REFUSED.value in events(small_sqlite)


def test_guesses_wait_longer_and_longer(visitor: Callable[[], JudgingClient], watch: Watch) -> None:
    secret, _ = set_up(signed_in(visitor(), "tor"), watch)
    half = signed_in(visitor(), "tor")
    for _ in range(6):
        assert half.submit("/second-factor", {"code": "000000"}).status_code == 422
    watch.later()
    for_now = pyotp.TOTP(secret).at(watch.now)
    for _ in range(3):
        half.submit("/second-factor", {"code": "111111"})
    assert half.submit("/second-factor", {"code": for_now}).status_code == 422, "the right one has to wait as well"
    watch.later(900)
    assert half.submit("/second-factor", {"code": pyotp.TOTP(secret).at(watch.now)}).status_code == 303


def test_a_recovery_code_works_once(
    visitor: Callable[[], JudgingClient], watch: Watch, small_sqlite: SmallService
) -> None:
    _, codes = set_up(signed_in(visitor(), "tor"), watch)
    assert len(set(codes)) == 10
    half = signed_in(visitor(), "tor")
    assert half.submit("/second-factor", {"code": codes[3].upper()}).status_code == 303
    assert "Recovery codes left" in half.get("/account").text
    assert signed_in(visitor(), "tor").submit("/second-factor", {"code": codes[3]}).status_code == 422
    assert AuditEvent.RECOVERY_CODE_USED.value in events(small_sqlite)


def test_what_is_stored_is_no_use_by_itself(
    visitor: Callable[[], JudgingClient], watch: Watch, small_sqlite: SmallService
) -> None:
    secret, codes = set_up(signed_in(visitor(), "tor"), watch)
    with small_sqlite.database.reading() as session:
        factor = session.scalars(select(SecondFactor)).one()
        hashes = list(session.scalars(select(RecoveryCode.code_hash)))
    assert secret not in factor.sealed_secret
    assert factor.sealed_seed == ""
    assert not {one.replace("-", "") for one in codes} & set(hashes)


def test_an_administrator_has_it_forgotten(
    visitor: Callable[[], JudgingClient], watch: Watch, small_sqlite: SmallService
) -> None:
    tor, ada = signed_in(visitor(), "tor"), signed_in(visitor(), "ada")
    set_up(tor, watch)
    set_up(ada, watch)
    page = f"/people/{small_sqlite.person_id('tor')}/account"
    done = ada.submit(page, {"what": "forget", "password": PASSWORD}, action="/account")
    assert done.status_code == 303
    assert tor.get("/").location.startswith("/sign-in"), "their sessions ended"
    assert signed_in(visitor(), "tor").get("/").location.startswith("/second-factor/set-up")
    assert AuditEvent.SECOND_FACTOR_REMOVED.value in events(small_sqlite)
    own = ada.submit(f"/people/{small_sqlite.person_id('ada')}/account", {"what": "forget", "password": PASSWORD},
                     action="/account")  # fmt: skip
    assert own.status_code == 403
