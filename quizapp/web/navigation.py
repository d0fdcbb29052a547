"""Where each role can go from every page, in the order shown."""

from __future__ import annotations

from dataclasses import dataclass

from flask import request, url_for

from quizapp.assessment.permissions import Right, has_right
from quizapp.web.edge import act


@dataclass(frozen=True, kw_only=True)
class Destination:
    """One entry of the navigation: the words, the page's endpoint, and the right it needs."""

    words: str
    endpoint: str
    right: Right


@dataclass(frozen=True, kw_only=True)
class Link:
    """One drawn entry."""

    words: str
    address: str
    current: bool


DESTINATIONS = (
    Destination(words="My currency", endpoint="currency.show", right=Right.SEE_OWN_RECORD),
    Destination(words="Practice", endpoint="practice.show", right=Right.PRACTISE),
    Destination(words="Procedures", endpoint="procedures.index", right=Right.REHEARSE),
    Destination(words="Standard", endpoint="standard.show", right=Right.SEE_OWN_RECORD),
    Destination(words="Real use", endpoint="use_log.show", right=Right.LOG_USE),
    Destination(words="Observe", endpoint="observe.index", right=Right.OBSERVE),
    Destination(words="Discussions", endpoint="discussions.index", right=Right.DISCUSS),
    Destination(words="Decisions", endpoint="decisions.index", right=Right.DECIDE),
    Destination(words="Paths", endpoint="paths.index", right=Right.DECIDE),
    Destination(words="Assessments", endpoint="assessments.index", right=Right.COMPOSE_ASSESSMENT),
    Destination(words="Content", endpoint="content.index", right=Right.PREVIEW_CONTENT),
    Destination(words="Readiness", endpoint="readiness.show", right=Right.SEE_READINESS),
    Destination(words="Cover", endpoint="cover.show", right=Right.SEE_READINESS),
    Destination(words="Leave", endpoint="leave.index", right=Right.PAUSE_PERSON),
    Destination(words="Places", endpoint="places.index", right=Right.PLAN_PLACES),
    Destination(words="Devices", endpoint="devices.index", right=Right.SET_DEVICE_IN_SERVICE),
    Destination(words="People", endpoint="people.index", right=Right.IMPORT_PEOPLE),
)


def links() -> list[Link]:
    """Return what the signed-in person can open."""
    doing = act()
    here = (request.blueprint or "") + "."
    return [
        Link(words=one.words, address=url_for(one.endpoint), current=one.endpoint.startswith(here))
        for one in DESTINATIONS
        if has_right(doing.actor, one.right, doing.today)
    ]
