"""Fixtures every test may ask for: databases of both kinds, a clock that stands still, and where things are."""

from __future__ import annotations

import itertools
import os
import shutil
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import cast

import hypothesis
import pytest
from flask import Flask
from sqlalchemy import create_engine, make_url, text

from quizapp.content.library import Library, read_library
from quizapp.store.database import Database
from quizapp.store.schema import migrate
from tests.needed import POSTGRES_SETTING, needed
from tests.small_service import SmallService, create_small_service
from tests.web_app import COOKIE, JudgingClient, signed_in_cookie, web_app_around

# A busy machine is no fault of an example: nothing here is timed.
hypothesis.settings.register_profile("untimed", deadline=None)
hypothesis.settings.load_profile("untimed")

CHECKOUT = Path(__file__).resolve().parents[1]


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Leave the soak tests out of the ordinary run; `-m soak` runs them."""
    if "soak" in config.option.markexpr:
        return
    config.hook.pytest_deselected(items=[item for item in items if item.get_closest_marker("soak")])
    items[:] = [item for item in items if not item.get_closest_marker("soak")]


class PostgresServer:
    """A running server on which tests get fresh copies of one migrated template."""

    def __init__(self, url: str, owner: str) -> None:
        self._url = make_url(url)
        self._engine = create_engine(url, isolation_level="AUTOCOMMIT")
        self._template = f"template_{owner}"
        self._names = (f"test_{owner}_{number}" for number in itertools.count())
        self._template_is_ready = False

    def _run(self, *statements: str) -> None:
        with self._engine.connect() as connection:
            for statement in statements:
                connection.execute(text(statement))

    def url_of(self, name: str) -> str:
        return self._url.set(database=name).render_as_string(hide_password=False)

    def new_empty(self) -> str:
        name = next(self._names)
        self._run(f"CREATE DATABASE {name} TEMPLATE template0")
        return name

    def new_migrated(self) -> str:
        if not self._template_is_ready:
            self._run(
                f"DROP DATABASE IF EXISTS {self._template}", f"CREATE DATABASE {self._template} TEMPLATE template0"
            )
            migrate_and_close(self.url_of(self._template))
            self._template_is_ready = True
        name = next(self._names)
        self._run(f"CREATE DATABASE {name} TEMPLATE {self._template}")
        return name

    def drop(self, name: str) -> None:
        self._run(f"DROP DATABASE IF EXISTS {name} WITH (FORCE)")

    def close(self) -> None:
        self.drop(self._template)
        self._engine.dispose()


def migrate_and_close(url: str) -> None:
    database = Database(url)
    try:
        migrate(database)
    finally:
        database.close()


@pytest.fixture(scope="session")
def postgres_server() -> Iterator[PostgresServer]:
    url = needed(POSTGRES_SETTING, "PostgreSQL")
    server = PostgresServer(url, owner=f"{os.environ.get('PYTEST_XDIST_WORKER', 'main')}_{os.getpid()}")
    yield server
    server.close()


@pytest.fixture(scope="session")
def migrated_sqlite_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A SQLite file with the newest schema, to be copied and never opened."""
    path = tmp_path_factory.mktemp("template") / "template.sqlite"
    migrate_and_close(f"sqlite:///{path}")
    return path


BOTH_KINDS = ["sqlite", pytest.param("postgres", marks=pytest.mark.postgres)]


@pytest.fixture(params=BOTH_KINDS)
def empty_database_url(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[str]:
    """The address of a database without any schema, once for SQLite and once for PostgreSQL."""
    if request.param == "sqlite":
        yield f"sqlite:///{tmp_path / 'empty.sqlite'}"
        return
    server: PostgresServer = request.getfixturevalue("postgres_server")
    name = server.new_empty()
    yield server.url_of(name)
    server.drop(name)


@pytest.fixture(params=BOTH_KINDS)
def database_url(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[str]:
    """The address of a fresh migrated database, once for SQLite and once for PostgreSQL."""
    if request.param == "sqlite":
        yield request.getfixturevalue("sqlite_url")
        return
    server: PostgresServer = request.getfixturevalue("postgres_server")
    name = server.new_migrated()
    yield server.url_of(name)
    server.drop(name)


@pytest.fixture
def sqlite_url(tmp_path: Path, migrated_sqlite_file: Path) -> str:
    """The address of a fresh migrated SQLite database, for tests that need no second kind."""
    path = tmp_path / "quizapp.sqlite"
    shutil.copyfile(migrated_sqlite_file, path)
    return f"sqlite:///{path}"


@pytest.fixture
def database(database_url: str) -> Iterator[Database]:
    """A fresh migrated database, once for SQLite and once for PostgreSQL."""
    opened = Database(database_url)
    yield opened
    opened.close()


@pytest.fixture
def sqlite_database(sqlite_url: str) -> Iterator[Database]:
    """A fresh migrated SQLite database, for tests that need no second kind."""
    opened = Database(sqlite_url)
    yield opened
    opened.close()


class StandingClock:
    """A clock that moves only when told to; call it for the moment."""

    def __init__(self, moment: datetime) -> None:
        self.moment = moment

    def __call__(self) -> datetime:
        return self.moment

    def advance(self, step: timedelta) -> datetime:
        self.moment += step
        return self.moment


@pytest.fixture
def clock() -> StandingClock:
    """A clock that stands at nine o'clock UTC on Monday 2 March 2026."""
    return StandingClock(datetime(2026, 3, 2, 9, 0, tzinfo=UTC))


@pytest.fixture
def now(clock: StandingClock) -> datetime:
    """The moment at which the standing clock starts."""
    return clock()


@pytest.fixture(scope="session")
def checkout() -> Path:
    """The top folder of the project."""
    return CHECKOUT


@pytest.fixture
def small(database: Database, now: datetime) -> SmallService:
    """A small invented service, once on SQLite and once on PostgreSQL."""
    return create_small_service(database, now)


@pytest.fixture
def small_sqlite(sqlite_database: Database, now: datetime) -> SmallService:
    """A small invented service on SQLite, for tests that need no second kind."""
    return create_small_service(sqlite_database, now)


@pytest.fixture(scope="session")
def library() -> Library:
    """The content of this checkout, read once."""
    return read_library(CHECKOUT)


@pytest.fixture
def app(small_sqlite: SmallService, library: Library, clock: StandingClock) -> Flask:
    """The web application around `small_sqlite`, with the standing clock."""
    return web_app_around(small_sqlite, library, clock)


@pytest.fixture
def client(app: Flask) -> JudgingClient:
    """A browser in which nobody is signed in; it judges every page it is given."""
    return cast("JudgingClient", app.test_client())


@pytest.fixture
def client_as(app: Flask, small_sqlite: SmallService, clock: StandingClock) -> Callable[[str], JudgingClient]:
    """Gives a browser in which a person of the small service is signed in: `client_as("ines")`."""

    def make(name: str) -> JudgingClient:
        opened = cast("JudgingClient", app.test_client())
        opened.set_cookie(COOKIE, signed_in_cookie(small_sqlite, name, clock))
        return opened

    return make
