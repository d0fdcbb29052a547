"""`quizapp serve`: start the service from the settings, or say every reason why it cannot start."""

from __future__ import annotations

import argparse
import os
import sys
from typing import TYPE_CHECKING

from quizapp.web import create_app
from quizapp.web.server import open_edge

if TYPE_CHECKING:
    Commands = argparse._SubParsersAction[argparse.ArgumentParser]

THREADS = 8


def add_to(commands: Commands) -> None:
    """Add `serve`."""
    parser = commands.add_parser("serve", help="start the service")
    parser.add_argument("--host", default="127.0.0.1", help="address to listen on (default 127.0.0.1)")
    parser.add_argument("--port", type=_port, default=8000, help="port to listen on (default 8000)")
    parser.set_defaults(run=run)


def _port(text: str) -> int:
    if not text.isascii() or not text.isdigit() or not 1 <= int(text) <= 65_535:
        raise argparse.ArgumentTypeError(f"{text!r} is no port from 1 to 65535")
    return int(text)


def run(chosen: argparse.Namespace) -> int:
    """Open everything, print where content and database are, and serve until stopped."""
    from waitress import create_server

    edge = open_edge(os.environ)
    application = create_app(edge)
    server = create_server(application, host=chosen.host, port=chosen.port, threads=THREADS, ident=None)
    library = edge.library
    lines = [
        f"Content: {library.folder} ({len(library.families)} families, {len(library.procedures)} procedures, "
        f"{len(library.profile_files)} device profiles)",
        f"Database: {edge.database.engine.url.render_as_string(hide_password=True)}",
        f"Service: {edge.service.name}",
        f"Listening on http://{chosen.host}:{chosen.port} - stop with Ctrl-C.",
    ]
    print("\n".join(lines), file=sys.stderr, flush=True)
    try:
        server.run()
    except KeyboardInterrupt:
        pass
    finally:
        server.close()
        edge.database.close()
    return 0
