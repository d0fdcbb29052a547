"""`quizapp demo`: an invented service with eighteen months of history, in your browser."""

from __future__ import annotations

import argparse
import json
import os
import shutil
import socket
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from sqlalchemy import event

from quizapp.cli.invented.cast import clinicians
from quizapp.cli.invented.service import PASS_PHRASE, DemoAccount, build, is_built, personas
from quizapp.config import Settings, data_folder, read_settings
from quizapp.errors import BadInput
from quizapp.store.database import Database
from quizapp.web import create_app
from quizapp.web.edge import Edge
from quizapp.web.server import content_of, open_database

if TYPE_CHECKING:
    Commands = argparse._SubParsersAction[argparse.ArgumentParser]

USUAL_PORT = 8000
THREADS = 8
MARK = "built-for-the-demo"


def add_to(commands: Commands) -> None:
    """Add `demo`."""
    parser = commands.add_parser("demo", help="show an invented service with its history")
    parser.add_argument("--port", type=int, default=0, help="port to listen on (default 8000, else a free one)")
    parser.add_argument("--data", type=Path, default=None, help="folder for the demo's data (default: kept in .data)")
    parser.add_argument("--reset", action="store_true", help="throw the demo's data away and build it anew")
    parser.add_argument("--json", action="store_true", help="print one line of JSON with the address and the accounts")
    parser.set_defaults(run=run)


def run(chosen: argparse.Namespace) -> int:
    """Build the service where there is none, print who can sign in, and serve until stopped."""
    from waitress import create_server

    folder = chosen.data or data_folder(os.environ) / "demo"
    _prepare_folder(folder, reset=chosen.reset)
    edge, built_on = _open(folder)
    application = create_app(edge)
    port = chosen.port or _free_port()
    server = create_server(application, host="127.0.0.1", port=port, threads=THREADS, ident=None)
    members = clinicians(built_on.date())
    accounts = personas(edge.database, edge.library, members, built_on)
    _tell(f"http://127.0.0.1:{port}", accounts, as_json=chosen.json)
    try:
        server.run()
    except KeyboardInterrupt:
        pass
    finally:
        server.close()
        edge.database.close()
    return 0


def _prepare_folder(folder: Path, *, reset: bool) -> None:
    """Make the folder; only a folder that an earlier demo marked as its own is ever thrown away."""
    if folder.exists() and any(folder.iterdir()) and not (folder / MARK).exists():
        raise BadInput(f"--data: {folder} holds something else. Nothing was changed. Name an empty or a new folder.")
    if reset and folder.exists():
        shutil.rmtree(folder)
    folder.mkdir(parents=True, exist_ok=True)


def _open(folder: Path) -> tuple[Edge, datetime]:
    settings: Settings = read_settings({**os.environ, "QUIZAPP_DATA": str(folder), "QUIZAPP_PLAIN_HTTP": "yes",
                                        "QUIZAPP_SECOND_FACTOR": "no",
                                        "QUIZAPP_DATABASE": f"sqlite:///{folder / 'quizapp.db'}"})  # fmt: skip
    library = content_of(settings)
    if not (folder / MARK).exists():
        (folder / "quizapp.db").unlink(missing_ok=True)
    database = open_database(settings)
    now = datetime.now(UTC)
    if not is_built(database):
        with _not_waiting_for_the_disk(database):
            build(database, library, now, lambda line: print(line, file=sys.stderr, flush=True))
        (folder / MARK).write_text(now.isoformat(), encoding="utf-8")
    built_on = datetime.fromisoformat((folder / MARK).read_text(encoding="utf-8"))
    return Edge(settings=settings, database=database, library=library), built_on


@contextmanager
def _not_waiting_for_the_disk(database: Database) -> Iterator[None]:
    """Let the invented past be written without waiting for the disk each time: were it lost, it would be made anew.

    Afterwards every connection is a fresh one, which waits again.
    """

    def hurry(connection: Any, _record: object, _proxy: object) -> None:
        connection.execute("PRAGMA synchronous=OFF")

    event.listen(database.engine, "checkout", hurry)
    try:
        yield
    finally:
        event.remove(database.engine, "checkout", hurry)
        database.engine.dispose()


def _free_port() -> int:
    """Return the usual port when it is free, else any free one."""
    for port in (USUAL_PORT, 0):
        with socket.socket() as tried:
            try:
                tried.bind(("127.0.0.1", port))
            except OSError:
                continue
            found: int = tried.getsockname()[1]
            return found
    raise BadInput("No port is free on this machine.")


def _tell(address: str, accounts: list[DemoAccount], *, as_json: bool) -> None:
    if as_json:
        people = {
            one.role: {"name": one.name, "sign_in_name": one.sign_in_name, "password": PASS_PHRASE, "base": one.base}
            for one in accounts
        }
        print(json.dumps({"address": address, "accounts": people}), flush=True)
        return
    lines = ["", f"Everything here is invented. Open {address} and sign in as", ""]
    lines += [f"  {one.role.replace('_', ' '):22}{one.sign_in_name:26}{one.name}" for one in accounts]
    lines += ["", f"  password for all of them: {PASS_PHRASE}", "", "Stop with Ctrl-C. --reset builds it anew.", ""]
    print("\n".join(lines), flush=True)
