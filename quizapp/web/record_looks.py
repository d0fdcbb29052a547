"""Writes down who opened a page about somebody else, beside the page itself; reading never waits or fails for it."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import replace

from flask import Flask, Response, g, request
from sqlalchemy.exc import OperationalError

from quizapp.assessment.record_looks import LookKind
from quizapp.errors import Busy
from quizapp.services.record_looks import note_page
from quizapp.web.edge import Edge

NOTED = {"standing.show": LookKind.STANDING_PAGE, "decisions.show": LookKind.DECISION_DESK}
"""Pages about one person, whose id is `person_id` in their address."""


def add_record_looks(app: Flask, parts: Edge) -> None:
    """Note each such page that was really shown."""

    @app.after_request
    def _note(answer: Response) -> Response:
        kind, person_id = NOTED.get(request.endpoint or ""), (request.view_args or {}).get("person_id", "")
        signed_in = g.get("signed_in")
        if kind is None or signed_in is None or request.method != "GET" or answer.status_code != 200:
            return answer
        if person_id != signed_in.actor.person_id:
            with suppress(OperationalError, Busy), parts.database.writing() as session:
                note_page(replace(g.act, session=session), person_id, kind)
        return answer
