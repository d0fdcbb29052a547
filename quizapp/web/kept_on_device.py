"""Which pages a device may keep for a day without a network, and for whom; every other page is kept nowhere.

The list is short on purpose: one's own currency, what one practises, and the sheets of the people one watches today.
"""

from __future__ import annotations

import hashlib
import hmac

from flask import Flask, Response, g, request

from quizapp.web.edge import edge

MAY_BE_KEPT = frozenset(
    {
        "currency.show",
        "practice.show",
        "procedures.index",
        "procedures.show",
        "procedures.sheet",
        "rehearsal.show",
        "observe.index",
        "observe.sheet",
    }
)
OWNER_HEADER = "Device-Owner"
KEEP_HEADER = "Keep-On-Device"
LETTERS = 24


def device_owner() -> str:
    """Return a mark for the person signed in, "" for nobody; it names nobody and cannot be worked out elsewhere."""
    signed_in = g.get("signed_in")
    if signed_in is None:
        return ""
    words = f"kept on the device of {signed_in.actor.person_id}"
    return hmac.new(edge().settings.secret.encode(), words.encode(), hashlib.sha256).hexdigest()[:LETTERS]


def add_keeping(app: Flask) -> None:
    """Tell the service worker with each page whose it is, and whether the device may keep it."""

    @app.after_request
    def _say(answer: Response) -> Response:
        owner = device_owner() if request.endpoint != "static" else ""
        if owner and answer.mimetype == "text/html":
            answer.headers[OWNER_HEADER] = owner
            if request.method == "GET" and answer.status_code == 200 and request.endpoint in MAY_BE_KEPT:
                answer.headers[KEEP_HEADER] = "yes"
        return answer
