"""What the pages share: the opened database, the content, clock and chance, and the act of this request."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

from flask import current_app, g
from sqlalchemy import select

from quizapp.assessment.permissions import Actor
from quizapp.config import Settings
from quizapp.content.library import Library
from quizapp.services.act import Act, Randomness, SystemRandomness
from quizapp.store.database import Database
from quizapp.store.people import Service

Clock = Callable[[], datetime]


def system_clock() -> datetime:
    """Return the time now, aware UTC."""
    return datetime.now(UTC)


@dataclass(frozen=True, kw_only=True)
class ServiceNamed:
    """Whose tool this is, in which time zone, and whether everything in it is invented."""

    name: str
    zone: ZoneInfo
    is_demo: bool


NOT_FOUNDED = ServiceNamed(name="Service not founded yet", zone=ZoneInfo("UTC"), is_demo=False)


class Edge:
    """One running program's parts, kept on the Flask application."""

    def __init__(
        self,
        *,
        settings: Settings,
        database: Database,
        library: Library,
        clock: Clock = system_clock,
        randomness: Randomness | None = None,
    ) -> None:
        """Keep the parts; the service's name is read when first asked for."""
        self.settings = settings
        self.database = database
        self.library = library
        self.clock = clock
        self.randomness = randomness or SystemRandomness()
        self._service: ServiceNamed | None = None

    @property
    def service(self) -> ServiceNamed:
        """Whose tool this is; looked up until the service was founded, then kept."""
        if self._service is None:
            with self.database.reading() as session:
                row = session.scalar(select(Service))
            if row is None:
                return NOT_FOUNDED
            self._service = ServiceNamed(name=row.name, zone=ZoneInfo(row.zone), is_demo=row.is_demo)
        return self._service


def edge() -> Edge:
    """Return the running program's parts."""
    parts: Edge = current_app.extensions["quizapp"]
    return parts


def act() -> Act:
    """Return the act of this request; every guarded view has one."""
    found: Act = g.act
    return found


def actor() -> Actor:
    """Return who acts in this request."""
    return act().actor
