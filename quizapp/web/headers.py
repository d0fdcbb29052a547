"""Walls in the browser: headers on every answer, and a second look at where a change comes from."""

from __future__ import annotations

import re
from itertools import chain

from flask import Flask, Response, request

from quizapp.errors import BadInput, NotAllowed, NotFound
from quizapp.web.edge import Edge

CONTENT_POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; font-src 'self'; connect-src 'self'; "
    "manifest-src 'self'; worker-src 'self'; base-uri 'none'; form-action 'self'; frame-ancestors 'none'"
)
ALWAYS = {
    "Content-Security-Policy": CONTENT_POLICY,
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(), geolocation=(), microphone=()",
}
ONE_YEAR_S = 31_536_000
# PostgreSQL refuses these in any text; SQLite would take the first.
UNSTORABLE = re.compile("[\\x00\\ud800-\\udfff]")


def add_walls(app: Flask, parts: Edge) -> None:
    """Set the headers and refuse changes that another site started."""

    @app.before_request
    def _refuse_foreign_changes() -> None:
        if request.method in {"GET", "HEAD", "OPTIONS"}:
            return
        if request.headers.get("Sec-Fetch-Site", "same-origin") not in {"same-origin", "none"}:
            raise NotAllowed("This change was started by another site. Nothing was changed. Open the page here again.")

    app.before_request(_refuse_text_nobody_can_store)

    @app.after_request
    def _headers(answer: Response) -> Response:
        for name, value in ALWAYS.items():
            answer.headers.setdefault(name, value)
        if not parts.settings.plain_http:
            answer.headers["Strict-Transport-Security"] = f"max-age={ONE_YEAR_S}; includeSubDomains"
        if request.endpoint != "static":
            answer.headers["Cache-Control"] = "no-store"
            answer.headers["Vary"] = "Cookie"
        return answer


def _refuse_text_nobody_can_store() -> None:
    if UNSTORABLE.search(request.path):
        raise NotFound("There is no such page. Nothing was changed. Check the address.")
    texts = chain.from_iterable(values for _, values in chain(request.args.lists(), request.form.lists()))
    if any(UNSTORABLE.search(text) for text in texts):
        raise BadInput("The text holds a character that cannot be stored. Nothing was changed. Type it again.")
