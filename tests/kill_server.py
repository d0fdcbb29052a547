"""Starts the web application again and again in a child that may be killed at any moment.

python -m tests.kill_server DATABASE_URL CONTENT [early]: loads everything once and prints its port, then for each line
on standard input forks a child that serves and prints its process number. "early" seeds a fault: it acknowledges before
the commit.
"""

from __future__ import annotations

import os
import socket
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from sqlalchemy.orm import Session
from waitress import create_server

from quizapp.config import Settings
from quizapp.content.library import read_library
from quizapp.store.database import Database
from quizapp.web import create_app
from quizapp.web.edge import Edge

THREADS = 6
COMMIT_LATER_S = 0.15


class EarlyDatabase(Database):
    """A database that lets the answer leave before what it acknowledges is committed."""

    @contextmanager
    def writing(self) -> Iterator[Session]:
        opened = super().writing()
        session = opened.__enter__()
        try:
            yield session
        except BaseException:
            opened.__exit__(*sys.exc_info())
            raise
        threading.Thread(target=_end_later, args=(opened,)).start()


def _end_later(opened: object) -> None:
    time.sleep(COMMIT_LATER_S)
    opened.__exit__(None, None, None)  # type: ignore[attr-defined]


def say(number: int) -> None:
    """Tell one number to whoever started this."""
    sys.stdout.write(f"{number}\n")
    sys.stdout.flush()


def main(arguments: list[str]) -> None:
    """Fork a child for each line read; the one before is dead by then."""
    url, content, *seeded = arguments
    settings = Settings(database_url=url, content_folder=Path(content), secret="only-for-tests-" * 3, plain_http=True,
                        needs_second_factor=False)  # fmt: skip
    library = read_library(settings.content_folder)
    kind = EarlyDatabase if seeded else Database
    app = create_app(Edge(settings=settings, database=kind(url), library=library))
    listening = socket.create_server(("127.0.0.1", 0), backlog=64)
    say(listening.getsockname()[1])
    for _line in sys.stdin:
        child = os.fork()
        if child == 0:
            create_server(app, sockets=[listening], threads=THREADS).run()
        say(child)
        os.waitpid(child, 0)


if __name__ == "__main__":
    main(sys.argv[1:])
