"""Calendar files, and the secret addresses from which a calendar program reads them."""

from __future__ import annotations

from typing import Any

from flask import Blueprint, Response, redirect, render_template, request, url_for

from quizapp.assessment.calendar_text import Method
from quizapp.assessment.permissions import Right
from quizapp.services.calendars import (
    FeedMade,
    base_calendar,
    bases_with_calendars,
    end_feed,
    feed_calendar,
    feeds_of,
    make_feed,
    my_calendar,
    place_file,
)
from quizapp.web.edge import act
from quizapp.web.forms import ActForm
from quizapp.web.policy import policy

blueprint = Blueprint("calendars", __name__, template_folder="templates")


@blueprint.get("/calendars")
@policy(right=Right.SEE_OWN_RECORD)
def show() -> Any:
    """Show what can be taken away, and which addresses are open."""
    return _page()


def _page(made: FeedMade | None = None) -> str:
    address = url_for("calendars.feed", secret=made.secret, _external=True) if made else ""
    return render_template(
        "calendars/show.html", bases=bases_with_calendars(act()), feeds=feeds_of(act()), address=address, form=ActForm()
    )


@blueprint.get("/calendars/mine.ics")
@policy(right=Right.SEE_OWN_RECORD)
def mine() -> Any:
    """Give one's own places as a file."""
    return _file(my_calendar(act()), "places.ics")


@blueprint.get("/calendars/place/<place_id>.ics")
@policy(right=Right.SEE_OWN_RECORD)
def place(place_id: str) -> Any:
    """Give one place as a file; one given up as a cancellation."""
    text, method = place_file(act(), place_id)
    return _file(text, "place.ics", method)


@blueprint.get("/calendars/base/<base_id>.ics")
@policy(right=Right.SEE_READINESS)
def base(base_id: str) -> Any:
    """Give the session days of a base as a file."""
    return _file(base_calendar(act(), base_id), "session-days.ics")


@blueprint.get("/calendar/<secret>.ics")
@policy(public=True)
def feed(secret: str) -> Any:
    """Give what a secret address gives; nobody is signed in here."""
    return _file(feed_calendar(act(), secret), "calendar.ics")


def _file(text: str, name: str, method: Method = Method.NONE) -> Response:
    kind = f"text/calendar; charset=utf-8{f'; method={method.value}' if method is not Method.NONE else ''}"
    disposition = f'attachment; filename="{name}"'
    return Response(text.encode(), content_type=kind, headers={"Content-Disposition": disposition})


@blueprint.post("/calendars/address")
@policy(right=Right.SEE_OWN_RECORD)
def make() -> Any:
    """Make an address and show it this once; one made before ends, so that sending this twice harms nobody."""
    return _page(make_feed(act(), request.form.get("base", "")))


@blueprint.post("/calendars/address/end")
@policy(right=Right.SEE_OWN_RECORD)
def end() -> Any:
    """End an address."""
    end_feed(act(), request.form.get("base", ""))
    return redirect(url_for("calendars.show"), code=303)
