"""One act sent twice has one effect and the same answer."""

from __future__ import annotations

import threading

import pytest

from quizapp.errors import Conflict
from quizapp.services.receipts import body_hash, once
from tests.small_service import SmallService

FIELDS = body_hash({"a": ["1"]})


def do_it(small: SmallService, done: list[str], *, fields_hash: str = FIELDS, name: str = "mira") -> object:
    with small.acting(name) as act:
        return once(
            act, act_key="k" * 16, route="test", fields_hash=fields_hash, do=lambda: done.append("x") or len(done)
        )


def test_the_second_sending_gives_the_first_outcome(small: SmallService) -> None:
    done: list[str] = []
    assert do_it(small, done) == do_it(small, done) == 1
    assert done == ["x"]


def test_sixteen_at_once_have_one_effect(small_sqlite: SmallService) -> None:
    done: list[str] = []
    threads = [threading.Thread(target=do_it, args=(small_sqlite, done)) for _ in range(16)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert done == ["x"]


def test_the_same_key_with_other_contents_is_refused(small: SmallService) -> None:
    done: list[str] = []
    do_it(small, done)
    with pytest.raises(Conflict, match="first version was kept"):
        do_it(small, done, fields_hash=body_hash({"a": ["2"]}))


def test_two_people_may_have_the_same_key(small: SmallService) -> None:
    done: list[str] = []
    do_it(small, done)
    do_it(small, done, name="tor")
    assert done == ["x", "x"]


def test_an_act_that_fails_can_be_tried_again(small: SmallService) -> None:
    def fail() -> None:
        raise RuntimeError

    with pytest.raises(RuntimeError), small.acting("mira") as act:
        once(act, act_key="k" * 16, route="test", fields_hash=FIELDS, do=fail)
    assert do_it(small, []) == 1
