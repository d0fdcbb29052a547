"""Every view says who may call it; the program refuses to start with one that does not.

The guard opens the unit of work, finds who is signed in, checks the right, and commits before the answer leaves.
"""

from __future__ import annotations

import functools
from collections.abc import Callable
from contextlib import AbstractContextManager, suppress
from dataclasses import dataclass
from datetime import date
from typing import Any

from flask import Flask, Response, g, make_response, redirect, request, url_for
from sqlalchemy.exc import OperationalError
from sqlalchemy.orm import Session

from quizapp.assessment.permissions import Actor, Right, has_right
from quizapp.assessment.roles import needs_two_factors
from quizapp.errors import Busy, NotAllowed
from quizapp.services.act import Act
from quizapp.services.sign_in import SEEN_EVERY, SignedIn, seen, who_is_signed_in
from quizapp.web.edge import Edge, edge

NOBODY = Actor(person_id="", account_id="", name="", roles_held=())
READING_METHODS = {"GET", "HEAD", "OPTIONS"}

View = Callable[..., Any]


@dataclass(frozen=True, kw_only=True)
class Policy:
    """Who may call a view: anybody, anybody signed in, or holders of a right; and what else it asks for."""

    public: bool
    right: Right | None
    reauthenticates: bool
    reads_by_post: bool
    before_second_factor: bool


def policy(
    *, right: Right | None = None, public: bool = False, reauthenticates: bool = False, reads_by_post: bool = False,
    before_second_factor: bool = False,
) -> Callable[[View], View]:  # fmt: skip
    """Guard a view.

    `right` None with `public` False means anybody signed in. `reauthenticates` says that the view asks for the
    password in the same request; `before_second_factor` that it may be called when only the password was shown.
    Object rules (whose record it is) are the services' own.
    """
    rule = Policy(
        public=public, right=right, reauthenticates=reauthenticates, reads_by_post=reads_by_post,
        before_second_factor=before_second_factor or public,
    )  # fmt: skip

    def guard(view: View) -> View:
        @functools.wraps(view)
        def guarded(**arguments: Any) -> Response:
            parts = edge()
            with _unit(parts, rule) as session:
                return _serve(parts, session, rule, view, arguments)

        guarded.policy = rule  # type: ignore[attr-defined]
        return guarded

    return guard


def _unit(parts: Edge, rule: Policy) -> AbstractContextManager[Session]:
    reads = request.method in READING_METHODS or rule.reads_by_post
    return parts.database.reading() if reads else parts.database.writing()


def _serve(parts: Edge, session: Session, rule: Policy, view: View, arguments: dict[str, Any]) -> Response:
    now = parts.clock()
    signed_in = _signed_in(parts, session)
    if signed_in is None and not rule.public:
        return _to_sign_in()
    g.signed_in = signed_in
    g.act = Act(
        session=session,
        actor=signed_in.actor if signed_in else NOBODY,
        now=now,
        randomness=parts.randomness,
        zone=parts.service.zone,
    )
    if signed_in is not None and not rule.before_second_factor:
        asked = second_step(parts, signed_in, g.act.today)
        if asked:
            return _to_second_step(asked)
    if rule.right is not None and not has_right(g.act.actor, rule.right, g.act.today):
        raise NotAllowed("Your roles do not include this. An administrator of the service grants roles.")
    return make_response(view(**arguments))


def _signed_in(parts: Edge, session: Session) -> SignedIn | None:
    token = request.cookies.get(cookie_name(parts), "")
    if not token:
        return None
    now = parts.clock()
    found = who_is_signed_in(session, now, token)
    if found is not None and now - found.last_seen_at >= SEEN_EVERY:
        _note_seen(parts, session, found)
    return found


def _note_seen(parts: Edge, session: Session, found: SignedIn) -> None:
    if request.method in READING_METHODS:
        # Reading goes on when nothing can be written, on a full disk or behind a long change.
        with suppress(OperationalError, Busy), parts.database.writing() as writing:
            seen(writing, parts.clock(), found.session_id)
    else:
        seen(session, parts.clock(), found.session_id)


def _to_sign_in() -> Response:
    if request.method in READING_METHODS and request.accept_mimetypes.accept_html:
        answer = redirect(url_for("sign_in.show", next=request.full_path.rstrip("?")))
    else:
        answer = redirect(url_for("sign_in.show", was="ended"))
    return make_response(answer)


def second_step(parts: Edge, signed_in: SignedIn, today: date) -> str:
    """Return the page on which somebody who showed only the password goes on; empty where nothing is missing."""
    if signed_in.second_factor_shown:
        return ""
    if signed_in.has_second_factor:
        return "second_factor.ask"
    needed = parts.settings.needs_second_factor and needs_two_factors(signed_in.actor.roles_held, today)
    return "second_factor.set_up" if needed else ""


def _to_second_step(endpoint: str) -> Response:
    reads = request.method in READING_METHODS
    target = url_for(endpoint, next=request.full_path.rstrip("?")) if reads else url_for(endpoint)
    return make_response(redirect(target, code=303))


def cookie_name(parts: Edge) -> str:
    """Return the name of the session cookie; bound to host and TLS unless plain http is allowed."""
    return "quizapp_session" if parts.settings.plain_http else "__Host-quizapp_session"


def refuse_unguarded(app: Flask) -> None:
    """Raise RuntimeError naming each route without a policy; `static` needs none."""
    unguarded = [
        rule.endpoint
        for rule in app.url_map.iter_rules()
        if rule.endpoint != "static" and not hasattr(app.view_functions[rule.endpoint], "policy")
    ]
    if unguarded:
        raise RuntimeError(f"these routes say nobody may or may not call them: {', '.join(sorted(unguarded))}")
