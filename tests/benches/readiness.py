"""How fast a base's readiness is shown beside its bare queries, and a whole service is counted from what is kept.

`python3 dev.py bench readiness` prints both as ratios of one run, for 1,000 and 10,000 clinicians with ten years of
yearly decisions on ten competencies at forty bases, on SQLite and PostgreSQL.
"""

from __future__ import annotations

import statistics
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from flask.testing import FlaskClient
from sqlalchemy import create_engine, event

import dev
from quizapp.assessment.kept_standings import BaseCount
from quizapp.config import CHECKOUT
from quizapp.content.library import Library, read_library
from quizapp.services.act import Act
from quizapp.services.base_readiness import bases_seen
from quizapp.services.clinicians import clinicians
from quizapp.services.keep_standings import AT_ONCE, clinicians_not_kept, keep_standings
from quizapp.services.standings_ahead import standings_ahead
from quizapp.services.whole_readiness import whole_readiness
from quizapp.store.database import Database
from quizapp.store.schema import migrate
from tests.many_years import large_service
from tests.small_service import SmallService
from tests.web_app import COOKIE, signed_in_cookie, web_app_around

SIZES = (1_000, 10_000)
ROUNDS = 15
MOST_TIMES_BARE = 3.0
LEAST_TIMES_KEPT = 40.0
NOW = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)
Query = tuple[str, Any]


def seconds(do: Callable[[], object]) -> float:
    """How long one call takes."""
    before = time.perf_counter()
    do()
    return time.perf_counter() - before


@contextmanager
def noted_queries(database: Database) -> Iterator[list[Query]]:
    """Give a list of every statement sent inside the block, with its parameters."""
    found: list[Query] = []

    def note(*arguments: Any) -> None:
        found.append((arguments[2], arguments[3]))

    event.listen(database.engine, "before_cursor_execute", note)
    try:
        yield found
    finally:
        event.remove(database.engine, "before_cursor_execute", note)


def run_bare(database: Database, queries: list[Query]) -> None:
    """Send the statements as they were through the driver, and fetch every row; nothing is made of them."""
    with database.engine.connect() as connection:
        cursor: Any = connection.connection.cursor()
        for statement, parameters in queries:
            cursor.execute(statement, parameters)
            if cursor.description is not None:
                cursor.fetchall()


def base_page(small: SmallService, library: Library) -> tuple[float, float, int]:
    """Return medians of the page of a base of fifty and of its bare queries, in seconds, and the statements."""
    app = web_app_around(small, library, lambda: NOW)
    app.test_client_class = FlaskClient
    client = app.test_client()
    client.set_cookie(COOKIE, signed_in_cookie(small, "leif", lambda: NOW))

    def page() -> None:
        answer = client.get("/readiness")
        assert answer.status_code == 200

    page()
    with noted_queries(small.database) as queries:
        page()
    run_bare(small.database, queries)
    # Turn by turn, so that a busy moment of the machine hits both.
    pairs = [(seconds(page), seconds(lambda: run_bare(small.database, queries))) for _ in range(ROUNDS)]
    return statistics.median(one for one, _ in pairs), statistics.median(bare for _, bare in pairs), len(queries)


def counted_from_events(act: Act, library: Library) -> dict[str, int]:
    """Work every clinician's standing out from the records, some at a time, and count who is current at each base."""
    people = clinicians(act)
    counts: dict[str, int] = {base.id: 0 for base in bases_seen(act)}
    for start in range(0, len(people), AT_ONCE):
        some = people[start : start + AT_ONCE]
        ahead = standings_ahead(act, library, some, {one.base_id for one in some})
        for one in some:
            counts[one.base_id] += ahead.report(one.id, one.base_id, act).standing.is_in_date
    return counts


def whole(small: SmallService, library: Library) -> tuple[float, float]:
    """Return the seconds of counting the whole service from the records and from what is kept; both must agree."""
    found: dict[str, Any] = {}
    with small.database.reading() as session:
        act = small.act(session, "olaf", at=NOW)
        from_events = seconds(lambda: found.update(events=counted_from_events(act, library)))
    with small.database.reading() as session:
        missing = clinicians_not_kept(small.act(session, "olaf", at=NOW))
    for start in range(0, len(missing), AT_ONCE):
        with small.database.writing() as session:
            keep_standings(small.act(session, "olaf", at=NOW), library, missing[start : start + AT_ONCE])
    times = [_from_kept(small, library, found) for _ in range(5)]
    kept: list[tuple[Any, BaseCount]] = list(found["kept"].bases)
    assert found["events"] == {base.id: count.in_date for base, count in kept}
    return from_events, statistics.median(times)


def _from_kept(small: SmallService, library: Library, found: dict[str, Any]) -> float:
    with small.database.reading() as session:
        act = small.act(session, "olaf", at=NOW)
        return seconds(lambda: found.update(kept=whole_readiness(act, library)))


def measure(url: str, kind: str, library: Library, people: int) -> bool:
    """Build one service, print its figures, and say whether they keep to the targets."""
    database = Database(url)
    try:
        migrate(database)
        built = time.perf_counter()
        small = large_service(database, library, NOW, people)
        built = time.perf_counter() - built
        page_s, bare_s, statements = base_page(small, library)
        events_s, kept_s = whole(small, library)
    finally:
        database.close()
    sys.stdout.write(
        f"{kind}, {people:,} clinicians (built in {built:.0f} s)\n"
        f"  page of a base of 50: {1000 * page_s:.1f} ms, bare queries {1000 * bare_s:.1f} ms, "
        f"ratio {page_s / bare_s:.2f} (at most {MOST_TIMES_BARE:.0f}), {statements} statements\n"
        f"  whole service: from records {events_s:.2f} s, from what is kept {1000 * kept_s:.0f} ms, "
        f"1/{events_s / kept_s:.0f} (at most 1/{LEAST_TIMES_KEPT:.0f})\n"
    )
    sys.stdout.flush()
    return page_s / bare_s <= MOST_TIMES_BARE and events_s / kept_s >= LEAST_TIMES_KEPT


@contextmanager
def postgres_databases() -> Iterator[Callable[[], str] | None]:
    """Give a maker of fresh databases on a server of its own, None where there is no PostgreSQL."""
    programs = dev.find_postgres_programs()
    if programs is None:
        sys.stdout.write("PostgreSQL was not found; only SQLite is measured.\n")
        yield None
        return
    with dev.postgres(programs) as url:
        made = 0

        def fresh() -> str:
            nonlocal made
            made += 1
            engine = create_engine(url, isolation_level="AUTOCOMMIT")
            with engine.connect() as connection:
                connection.exec_driver_sql(f"CREATE DATABASE measured_{made}")
            address = engine.url.set(database=f"measured_{made}").render_as_string(hide_password=False)
            engine.dispose()
            return address

        yield fresh


def main() -> int:
    """Print the figures; 1 where one misses its target."""
    library, kept_to = read_library(CHECKOUT), []
    with ExitStack() as stack:
        folder = Path(stack.enter_context(tempfile.TemporaryDirectory()))
        for people in SIZES:
            kept_to.append(measure(f"sqlite:///{folder / f'{people}.sqlite'}", "SQLite", library, people))
        fresh = stack.enter_context(postgres_databases())
        if fresh is not None:
            kept_to += [measure(fresh(), "PostgreSQL", library, people) for people in SIZES]
    return 0 if all(kept_to) else 1


if __name__ == "__main__":
    raise SystemExit(main())
