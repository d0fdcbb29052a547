"""The cookie of a session, and where somebody may be sent after signing in."""

from __future__ import annotations

from urllib.parse import urlsplit

from flask import Response

from quizapp.web.edge import Edge
from quizapp.web.policy import cookie_name


def with_session(answer: Response, parts: Edge, token: str) -> Response:
    """Give the browser the session's token, unreadable to scripts."""
    secure = not parts.settings.plain_http
    answer.set_cookie(cookie_name(parts), token, httponly=True, secure=secure, samesite="Lax", path="/")
    return answer


def own_path(target: str) -> str:
    """Return the target if it is a path of this service, else the first page."""
    parts = urlsplit(target)
    safe = target.startswith("/") and not target.startswith(("//", "/\\")) and not parts.scheme and not parts.netloc
    clean = "\\" not in target and all(32 < ord(sign) < 127 for sign in target)
    return target if safe and clean else "/"
