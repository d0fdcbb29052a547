"""The first page of everybody who is signed in."""

from __future__ import annotations

from typing import Any

from flask import Blueprint, render_template, url_for

from quizapp.assessment.permissions import Right
from quizapp.services.fair_paths_list import my_paths
from quizapp.services.messages import unread_messages
from quizapp.services.my_currency import MyCurrency, my_currency
from quizapp.services.my_shifts import my_shifts
from quizapp.web.components import tenure_axis
from quizapp.web.edge import act, edge
from quizapp.web.filters import short_day
from quizapp.web.forms import ActForm
from quizapp.web.pages.currency.shifts_page import shown_shifts
from quizapp.web.policy import policy

MESSAGE_PAGES = {
    "cover": ("cover.shift", "shift_id"),
    "challenge": ("challenges.show", "challenge_id"),
    "sitting": ("sitting.show", "sitting_id"),
    "observation": ("observe.result", "observation_id"),
}
"""Where a message about a thing leads: the endpoint and the name of its id."""

blueprint = Blueprint("currency", __name__, template_folder="templates")


@blueprint.get("/")
@policy(right=Right.SEE_OWN_RECORD)
def show() -> Any:
    """Show until when the person is current, and what to do next."""
    page = my_currency(act(), edge().library)
    return render_template(
        "currency/show.html",
        page=page,
        rows=_rows(page),
        axis=tenure_axis(act().today),
        messages=unread_messages(act()),
        message_pages=MESSAGE_PAGES,
        shifts=shown_shifts(my_shifts(act(), edge().library), act().actor.person_id, act().zone),
        paths=[one for one in my_paths(act()) if one.closed_at is None],
        form=ActForm(),
    )


def _rows(page: MyCurrency) -> list[dict[str, Any]]:
    return [
        {
            "code": row.competency,
            "name": row.title if len(page.report.by_revision) < 2 else f"{row.title}, {row.profile}",
            "standing": row.standing.words,
            "days": row.days_left,
            "until": short_day(row.last_valid_day),
            "href": url_for("my_evidence.show") + f"#{row.competency}",
        }
        for row in page.rows
    ]
