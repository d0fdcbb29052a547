"""Where each role can go from every page: a few areas, and inside an area the pages that belong to it."""

from __future__ import annotations

from dataclasses import dataclass

from flask import request, url_for

from quizapp.assessment.permissions import Right, has_right
from quizapp.web.edge import act


@dataclass(frozen=True, kw_only=True)
class Destination:
    """One entry of the navigation: the words, the page's endpoint, and the right it needs.

    `within` names the areas it belongs to by their endpoints; it stands in the first that the person may open.
    `also` names further packages of pages that belong to this entry without one of their own.
    """

    words: str
    endpoint: str
    right: Right
    within: tuple[str, ...] = ()
    also: tuple[str, ...] = ()

    @property
    def packages(self) -> frozenset[str]:
        """The packages of pages that this entry stands for."""
        return frozenset({self.endpoint.split(".")[0], *self.also})


@dataclass(frozen=True, kw_only=True)
class Link:
    """One drawn entry; `current` is "page" on its own pages, "true" on another page of its area, else empty."""

    words: str
    address: str
    current: str


@dataclass(frozen=True, kw_only=True)
class Navigation:
    """The areas, and the pages of the area one is in (none where it has only one)."""

    areas: tuple[Link, ...]
    area: str
    pages: tuple[Link, ...]


CURRENCY, OBSERVE, DECISIONS, READINESS = "currency.show", "observe.index", "decisions.index", "readiness.show"
DESTINATIONS = (
    Destination(words="My currency", endpoint=CURRENCY, right=Right.SEE_OWN_RECORD,
                also=("my_evidence", "my_places", "competence", "messages", "notices", "looks", "calendars")),
    Destination(words="Practice", endpoint="practice.show", right=Right.PRACTISE),
    Destination(words="Procedures", endpoint="procedures.index", right=Right.REHEARSE, also=("rehearsal",)),
    Destination(words="Real use", endpoint="use_log.show", right=Right.LOG_USE, within=(CURRENCY,)),
    Destination(words="Standard", endpoint="standard.show", right=Right.SEE_OWN_RECORD, within=(CURRENCY,)),
    Destination(words="Observe", endpoint=OBSERVE, right=Right.OBSERVE),
    Destination(words="Decisions", endpoint=DECISIONS, right=Right.DECIDE,
                also=("challenges", "signatures", "recognise", "estimates", "standing")),
    Destination(words="Discussions", endpoint="discussions.index", right=Right.DISCUSS, within=(OBSERVE, DECISIONS)),
    Destination(words="Paths", endpoint="paths.index", right=Right.DECIDE, within=(DECISIONS,), also=("adjustments",)),
    Destination(words="Assessments", endpoint="assessments.index", right=Right.COMPOSE_ASSESSMENT),
    Destination(words="Content", endpoint="content.index", right=Right.PREVIEW_CONTENT, also=("ideas",)),
    Destination(words="Readiness", endpoint=READINESS, right=Right.SEE_READINESS),
    Destination(words="Cover", endpoint="cover.show", right=Right.SEE_READINESS, within=(READINESS,)),
    Destination(words="Places", endpoint="places.index", right=Right.PLAN_PLACES, within=(READINESS,)),
    Destination(words="Leave", endpoint="leave.index", right=Right.PAUSE_PERSON, within=(READINESS,)),
    Destination(words="Devices", endpoint="devices.index", right=Right.SET_DEVICE_IN_SERVICE, within=(READINESS,)),
    Destination(words="People", endpoint="people.index", right=Right.IMPORT_PEOPLE, also=("roles",)),
)  # fmt: skip


def navigation() -> Navigation:
    """Return what the signed-in person can open from here."""
    doing, here = act(), request.blueprint or ""
    open_to = [one for one in DESTINATIONS if has_right(doing.actor, one.right, doing.today)]
    areas = [one for one in open_to if _area_of(one, open_to) is one]
    shown = next((one for one in open_to if here in one.packages), None)
    area = _area_of(shown, open_to) if shown else None
    pages = [one for one in open_to if area is not None and _area_of(one, open_to) is area]
    return Navigation(
        areas=tuple(_link(one, here, is_area=one is area) for one in areas),
        area=area.words if area else "",
        pages=tuple(_link(one, here) for one in pages) if len(pages) > 1 else (),
    )


def _area_of(one: Destination, open_to: list[Destination]) -> Destination:
    """The area an entry stands in: itself where it belongs to none that the person may open."""
    return next((area for area in open_to if area.endpoint in one.within), one)


def _link(one: Destination, here: str, *, is_area: bool = False) -> Link:
    current = "page" if here == one.endpoint.split(".")[0] else "true" if is_area or here in one.packages else ""
    return Link(words=one.words, address=url_for(one.endpoint), current=current)
