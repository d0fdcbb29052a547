"""Backups taken while acts are recorded: each is sound and holds every act acknowledged before it began."""

from __future__ import annotations

import shutil
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from quizapp.errors import Conflict
from quizapp.store.backup import back_up, state_of
from tests.commanded_service import act_times, file_of
from tests.small_service import SmallService

BACKUPS = 20


@contextmanager
def acts_all_the_time(small: SmallService) -> Iterator[list[int]]:
    """Record acts until the block ends; the list holds how many were acknowledged."""
    acknowledged, stop = [0], threading.Event()

    def go_on() -> None:
        while not stop.is_set():
            act_times(small, 1)
            acknowledged[0] += 1

    thread = threading.Thread(target=go_on)
    thread.start()
    try:
        yield acknowledged
    finally:
        stop.set()
        thread.join()


def head_of(path: Path) -> int:
    """The last row a copy holds; -1 when it cannot be used."""
    try:
        return state_of(path).head.seq
    except Conflict:
        return -1


def test_twenty_of_twenty_backups_are_complete(small_sqlite: SmallService, tmp_path: Path) -> None:
    with acts_all_the_time(small_sqlite) as acknowledged:
        for number in range(BACKUPS):
            before = acknowledged[0]
            state = back_up(file_of(small_sqlite), tmp_path / f"{number}.db")
            assert state.head.seq >= before
            assert state_of(tmp_path / f"{number}.db") == state
    assert acknowledged[0] >= BACKUPS


def test_a_plain_copy_of_the_file_is_no_backup(small_sqlite: SmallService, tmp_path: Path) -> None:
    """The check above would see it: some copy lacks acts acknowledged before it was begun, or cannot be used."""
    lacking = []
    with acts_all_the_time(small_sqlite) as acknowledged:
        for number in range(BACKUPS):
            before = acknowledged[0]
            shutil.copyfile(file_of(small_sqlite), tmp_path / f"{number}.db")
            lacking.append(head_of(tmp_path / f"{number}.db") < before)
            while acknowledged[0] < before + 2:
                time.sleep(0.001)
    assert any(lacking)
