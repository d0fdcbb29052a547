"""Turns each expected error into a page that says what happened, what was kept and what to do next."""

from __future__ import annotations

import secrets
import sqlite3

from flask import Flask, Response, make_response, render_template, request
from flask_wtf.csrf import CSRFError
from sqlalchemy.exc import OperationalError
from werkzeug.exceptions import HTTPException, SecurityError

from quizapp.errors import BadInput, Busy, Conflict, NotAllowed, NotFound

TITLES = {
    400: "That request could not be read.",
    403: "You may not do this.",
    404: "There is no such page.",
    405: "This page cannot be used that way.",
    409: "This changed meanwhile.",
    413: "That is too large.",
    415: "That kind of file cannot be read.",
    422: "Something in the form cannot be used.",
    429: "Too many tries.",
    500: "Something went wrong here.",
    503: "The service is busy.",
    507: "There is no room to save anything.",
}
ADVICE = {
    400: "Nothing was changed. Go back, load the page again, and try once more.",
    404: "Nothing was changed. Check the address, or start from your first page.",
    405: "Nothing was changed. Start from your first page.",
    413: "Nothing was saved. Send something smaller.",
    500: "What you sent was not saved. Go back: your text is still on that page. Tell the administrator the number.",
    503: "Nothing was saved. Your text is still on the page you came from: go back and send it again in a moment.",
    507: "Nothing was saved: the disk is full. Your text is still on the page you came from. Tell whoever runs the "
    "service; until there is room you can go on reading.",
}

POSTGRES_DISK_FULL = "53100"


def error_page(status: int, message: str = "", *, reference: str = "") -> Response:
    """Return the page for one status; `message` overrides the usual advice."""
    page = render_template(
        "error.html",
        status=status,
        headline=TITLES.get(status, TITLES[500]),
        message=message or ADVICE.get(status, ADVICE[400]),
        reference=reference,
    )
    answer = make_response(page, status)
    if status == 503:
        answer.headers["Retry-After"] = "5"
    return answer


def no_room(error: OperationalError) -> bool:
    """Whether the database could not write because the disk is full."""
    code = getattr(error.orig, "sqlite_errorcode", None) or getattr(error.orig, "sqlstate", None)
    return code in {sqlite3.SQLITE_FULL, POSTGRES_DISK_FULL}


def add_error_pages(app: Flask) -> None:
    """Register a handler for each kind of error; an unexpected one is logged under a reference number."""
    app.register_error_handler(NotFound, lambda error: error_page(404, str(error)))
    app.register_error_handler(NotAllowed, lambda error: error_page(403, str(error)))
    app.register_error_handler(Conflict, lambda error: error_page(409, str(error)))
    app.register_error_handler(BadInput, lambda error: error_page(422, str(error)))
    app.register_error_handler(
        CSRFError,
        lambda _error: error_page(
            400, "This page had been open too long or belongs to an earlier sign-in. Nothing was changed. Go back, "
            "copy what you wrote if it is long, load the page again and send it once more."
        ),
    )  # fmt: skip
    # Without a trusted host name no address can be built, so no page can be drawn.
    app.register_error_handler(
        SecurityError,
        lambda _error: Response(
            "This service does not answer to that host name. Nothing was changed.\n", 400, mimetype="text/plain"
        ),
    )
    app.register_error_handler(HTTPException, lambda error: error_page(error.code or 500))

    @app.errorhandler(OperationalError)
    def _database_refused(error: OperationalError) -> Response:
        status = 507 if no_room(error) else 503
        app.logger.warning("database not available: %s %s %s", status, request.endpoint, type(error.orig).__name__)
        return error_page(status)

    @app.errorhandler(Busy)
    def _no_turn(_error: Busy) -> Response:
        return error_page(503)

    @app.errorhandler(Exception)
    def _unexpected(error: Exception) -> Response:
        reference = secrets.token_hex(4)
        app.logger.error("reference %s: %s", reference, request.endpoint, exc_info=error)
        return error_page(500, reference=reference)
