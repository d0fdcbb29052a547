"""Kills the server over and over under clients that send again until they are answered, and keeps their ledgers."""

from __future__ import annotations

import http.client
import os
import random
import re
import secrets
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from urllib.parse import urlencode

from quizapp.config import CHECKOUT
from tests.web_app import COOKIE

TOKEN = re.compile(r'name="csrf_token"[^>]* value="([^"]+)"')
LONGEST_SILENCE_S = 60
FIRST_FORM = "/sign-in"


@dataclass(kw_only=True)
class Client:
    """One browser that answers the questions of one sitting in turn, each again and again with new numbers.

    `acknowledged` holds the key of every answer that the server said it kept, `sent` every key ever sent.
    """

    cookie: str
    sitting_id: str
    units: dict[int, str]
    acknowledged: list[str] = field(default_factory=list)
    sent: list[str] = field(default_factory=list)
    refused: list[int] = field(default_factory=list)
    after_a_retry: int = 0
    stop: threading.Event = field(default_factory=threading.Event)
    port: int = 0
    _token: str = ""
    _cookies: str = ""

    def run(self) -> None:
        revisions = dict.fromkeys(self.units, 0)
        self._take_token()
        while not self.stop.is_set():
            for position in self.units:
                if self.stop.is_set() or not self._answer(position, revisions):
                    break

    def _take_token(self) -> None:
        answer, text = self._ask("GET", FIRST_FORM, "")
        self._cookies = f"{COOKIE}={self.cookie}; {(answer.getheader('Set-Cookie') or '').partition(';')[0]}"
        found = TOKEN.search(text)
        assert found, text
        self._token = found.group(1)

    def _answer(self, position: int, revisions: dict[int, int]) -> bool:
        """Send one answer until it is answered; false when the client was stopped before that."""
        key = secrets.token_urlsafe(18)
        fields = {
            "csrf_token": self._token, "act_key": key, "revision": revisions[position],
            "answer_0": f"{random.randrange(10, 400)}", "answer_0_unit": self.units[position],
        }  # fmt: skip
        self.sent.append(key)
        for tries in range(1_000):
            try:
                answer, _text = self._ask("POST", f"/sitting/{self.sitting_id}/{position}", urlencode(fields))
            except (OSError, http.client.HTTPException):
                if self.stop.is_set():
                    return False
                time.sleep(0.01)
                continue
            if answer.status == 303:
                self.acknowledged.append(key)
                self.after_a_retry += tries > 0
                revisions[position] += 1
            elif answer.status != 503:
                self.refused.append(answer.status)
                return True
            else:
                continue
            return True
        raise AssertionError("a thousand tries without an answer")

    def _ask(self, method: str, path: str, body: str) -> tuple[http.client.HTTPResponse, str]:
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=15)
        try:
            headers = {"Cookie": self._cookies or f"{COOKIE}={self.cookie}", "Sec-Fetch-Site": "same-origin"}
            if method == "POST":
                headers["Content-Type"] = "application/x-www-form-urlencoded"
            connection.request(method, path, body, headers)
            answer = connection.getresponse()
            return answer, answer.read().decode()
        finally:
            connection.close()


@contextmanager
def server(url: str, content: Path, clients: list[Client], *, early: bool = False) -> Iterator[subprocess.Popen[str]]:
    """The program that starts the server anew at each line it is given; tells the clients its port."""
    command = [sys.executable, "-m", "tests.kill_server", url, str(content), *(["early"] if early else [])]
    log = content / "server.log"
    with (
        log.open("w") as errors,
        subprocess.Popen(
            command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=errors, text=True, cwd=CHECKOUT
        ) as starter,
    ):
        port = _number(starter, log)
        for client in clients:
            client.port = port
        yield starter
        assert starter.stdin is not None
        starter.stdin.close()


def _number(starter: subprocess.Popen[str], log: Path | None = None) -> int:
    assert starter.stdout is not None
    line = starter.stdout.readline()
    assert line, log.read_text() if log else "the program that starts the server has ended"
    return int(line)


def kill_often(starter: subprocess.Popen[str], clients: list[Client], *, kills: int, acks: tuple[int, int]) -> None:
    """Kill the server so many times, each time after a chance number of acknowledged answers within `acks`."""
    chance = random.Random(20260302)
    threads = [threading.Thread(target=client.run) for client in clients]
    child = _start(starter)
    for thread in threads:
        thread.start()
    try:
        for kill in range(1, kills + 1):
            _wait_for_acks(clients, chance.randint(*acks))
            time.sleep(chance.uniform(0, 0.02))
            if kill == kills:
                for client in clients:
                    client.stop.set()
            os.kill(child, signal.SIGKILL)
            if kill < kills:
                child = _start(starter)
    finally:
        for client in clients:
            client.stop.set()
        for thread in threads:
            thread.join()


def _start(starter: subprocess.Popen[str]) -> int:
    assert starter.stdin is not None
    starter.stdin.write("start\n")
    starter.stdin.flush()
    return _number(starter)


def _wait_for_acks(clients: list[Client], more: int) -> None:
    wanted = sum(len(client.acknowledged) for client in clients) + more
    end = time.monotonic() + LONGEST_SILENCE_S
    while sum(len(client.acknowledged) for client in clients) < wanted:
        assert time.monotonic() < end, f"no {more} answers in {LONGEST_SILENCE_S} s: {[c.refused for c in clients]}"
        time.sleep(0.002)
