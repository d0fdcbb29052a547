"""Adjustments reach the beginning of a sitting and nothing that watches hands, decides, or shows a lead anything."""

from __future__ import annotations

import pytest

from tests.project.test_estimates_decide_nothing import STARTS, TREES, imported, path_to, reached

ADJUSTMENTS = {"quizapp.services.sitting_adjustments", "quizapp.assessment.sitting_time"}
READERS = {
    "quizapp.services.sitting_adjustments",
    "quizapp.services.start_sitting",
    "quizapp.web.pages.adjustments.views",
    "quizapp.web.pages.adjustments.forms",
    "quizapp.web.pages.paths.views",
}
WATCHING = (
    "quizapp.assessment.time_limits", "quizapp.assessment.observation", "quizapp.services.open_observation",
    "quizapp.services.lock_observation", "quizapp.services.record_observation_events",
    "quizapp.services.sign_observation", "quizapp.services.base_readiness", "quizapp.services.people",
    "quizapp.web.pages.observe", "quizapp.web.pages.readiness", "quizapp.web.pages.people",
)  # fmt: skip


@pytest.mark.parametrize("start", sorted({*STARTS, *(name for name in TREES if name.startswith(WATCHING))}))
def test_no_path_leads_from_hands_decisions_and_leads_to_adjustments(start: str) -> None:
    came_from = reached(start, TREES)
    assert [path_to(name, came_from) for name in came_from if name in ADJUSTMENTS] == []


def test_only_these_read_adjustments() -> None:
    readers = {
        name
        for name, tree in TREES.items()
        if imported(tree) & ADJUSTMENTS and not name.startswith(("quizapp.cli.invented", "quizapp.services.fair_path"))
    }
    assert readers == READERS
