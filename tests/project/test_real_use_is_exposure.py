"""Nothing that decides, marks, estimates or says how a person stands reads the log of real use."""

from __future__ import annotations

import pytest

from tests.project.test_estimates_decide_nothing import ESTIMATE, STARTS, TREES, imported, path_to, reached

LOG = {"quizapp.store.use_log", "quizapp.services.log_use", "quizapp.assessment.real_use"}
READERS = {"quizapp.services.log_use", "quizapp.web.pages.use_log.views", "quizapp.web.pages.use_log.forms"}
NOT_READING = sorted({*STARTS, *(name for name in TREES if name.startswith(ESTIMATE))})


@pytest.mark.parametrize("start", NOT_READING)
def test_what_decides_or_estimates_never_reads_the_log(start: str) -> None:
    came_from = reached(start, TREES)
    assert [path_to(name, came_from) for name in came_from if name in LOG] == []


def test_only_the_log_itself_its_pages_and_the_demo_read_it() -> None:
    readers = {
        name
        for name, tree in TREES.items()
        if imported(tree) & LOG and name != "quizapp.store" and not name.startswith("quizapp.cli.invented")
    }
    assert readers == READERS


def test_the_search_finds_a_reader_where_there_is_one() -> None:
    assert LOG & set(reached("quizapp.web.pages.use_log.views", TREES))
