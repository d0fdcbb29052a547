"""One's own notices, as a page and as a feed."""

from __future__ import annotations

from typing import Any

from flask import Blueprint, Response, redirect, render_template, url_for

from quizapp.assessment.permissions import Right
from quizapp.services.calendars import FeedMade
from quizapp.services.notice_feed import end_notice_feed, make_notice_feed, notice_feed_of, read_notice_feed
from quizapp.services.notices import my_notices
from quizapp.web.edge import act
from quizapp.web.forms import ActForm
from quizapp.web.policy import policy

blueprint = Blueprint("notices", __name__, template_folder="templates", url_prefix="/notices")


@blueprint.get("")
@policy(right=Right.SEE_OWN_RECORD)
def show() -> Any:
    """Show one's own notices."""
    return _page()


def _page(made: FeedMade | None = None) -> str:
    address = url_for("notices.feed", secret=made.secret, _external=True) if made else ""
    form, found = ActForm(), my_notices(act())
    return render_template("notices/show.html", notices=found, feed=notice_feed_of(act()), address=address, form=form)


@blueprint.post("/address")
@policy(right=Right.SEE_OWN_RECORD)
def make() -> Any:
    """Make an address and show it this once; one made before ends, so that sending this twice harms nobody."""
    return _page(make_notice_feed(act()))


@blueprint.post("/address/end")
@policy(right=Right.SEE_OWN_RECORD)
def end() -> Any:
    """End the address."""
    end_notice_feed(act())
    return redirect(url_for("notices.show"), code=303)


@blueprint.get("/<secret>.atom")
@policy(public=True)
def feed(secret: str) -> Any:
    """Give what a secret address gives; nobody is signed in here."""
    return Response(read_notice_feed(act(), secret).encode(), content_type="application/atom+xml; charset=utf-8")
