"""A mail server that takes each mail whole and closes the line instead of answering."""

from __future__ import annotations

import socketserver
import threading
from collections.abc import Iterator
from contextlib import contextmanager


class _Closing(socketserver.StreamRequestHandler):
    def handle(self) -> None:
        self.wfile.write(b"220 ready\r\n")
        for line in self.rfile:
            command = line[:4].upper()
            if command == b"DATA":
                self.wfile.write(b"354 go on\r\n")
                for part in self.rfile:
                    if part == b".\r\n":
                        return
            self.wfile.write(b"250 OK\r\n")


@contextmanager
def closing_server() -> Iterator[int]:
    """Serve on a free port of this machine until the block ends; gives the port."""
    with socketserver.ThreadingTCPServer(("127.0.0.1", 0), _Closing) as server:
        server.daemon_threads = True
        threading.Thread(target=server.serve_forever, daemon=True).start()
        yield server.server_address[1]
        server.shutdown()
