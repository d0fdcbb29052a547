"""The application behind the server it runs on in service, on a free port of this machine."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from flask import Flask
from waitress import create_server


@contextmanager
def served(app: Flask) -> Iterator[str]:
    """Serve an application until the block ends; gives its address without a trailing slash."""
    sockets: dict[int, Any] = {}
    server = create_server(app, map=sockets, host="127.0.0.1", port=0, threads=4, clear_untrusted_proxy_headers=True)
    thread = threading.Thread(target=server.run, name="live server")
    thread.start()
    try:
        yield f"http://127.0.0.1:{server.effective_port}"
    finally:
        # Closing is left to the thread that waits on these sockets; with none left its loop ends.
        server.trigger.pull_trigger(lambda: [each.close() for each in list(sockets.values())])
        thread.join(timeout=10)
        server.task_dispatcher.shutdown()
        assert not thread.is_alive(), "the live server did not stop"
