"""Paths propose their steps in order; what was not shown twice in a row is found, once, and no sooner."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from quizapp.assessment.fair_paths import STEPS, PathKind, StepName, not_shown_twice, open_steps, step_rule
from quizapp.assessment.sign_off_record import EvidenceItem, EvidenceKind, EvidenceOutcome

START = datetime(2026, 3, 2, 9, tzinfo=UTC)
SHOWN, NOT, INCOMPLETE = EvidenceOutcome.SHOWN, EvidenceOutcome.NOT_SHOWN, EvidenceOutcome.INCOMPLETE


def item(
    outcome: EvidenceOutcome, day: int, *, procedure: str | None = "P06", code: str = "C8", who: str = "tor",
    kind: EvidenceKind = EvidenceKind.OBSERVATION, counts: bool = True, redraw: bool = False,
) -> EvidenceItem:  # fmt: skip
    at = START + timedelta(days=day)
    return EvidenceItem(
        reference=f"{day}-{code}", competency=code, kind=kind, outcome=outcome, happened_at=at, happened_on=at.date(),
        profile=None, is_content_accepted=counts, procedure=procedure, assessor_ids=(who,), is_redraw=redraw,
    )  # fmt: skip


def test_twice_in_a_row_is_found_with_who_saw_it() -> None:
    (found,) = not_shown_twice([item(NOT, 1), item(NOT, 5, who="una")])
    assert (found.about, found.times, found.assessor_ids) == ("P06", 2, {"tor", "una"})
    assert found.last_on == (START + timedelta(days=5)).date()


@pytest.mark.parametrize(
    "evidence",
    [
        [item(NOT, 1)],
        [item(NOT, 1), item(SHOWN, 3), item(NOT, 5)],
        [item(NOT, 1), item(NOT, 3), item(SHOWN, 5)],
        [item(NOT, 1), item(INCOMPLETE, 3)],
        [item(NOT, 1), item(NOT, 3, counts=False)],
        [item(NOT, 1), item(NOT, 3, procedure="P01")],
        [item(NOT, 1, procedure=None, kind=EvidenceKind.SITTING),
         item(NOT, 3, procedure=None, kind=EvidenceKind.SITTING, redraw=True)],
        [item(NOT, 1), item(NOT, 1, code="C9")],  # one performance, two competencies
    ],
)  # fmt: skip
def test_what_is_not_twice_in_a_row(evidence: list[EvidenceItem]) -> None:
    assert not_shown_twice(evidence) == ()


def test_an_incomplete_one_between_changes_nothing() -> None:
    (found,) = not_shown_twice([item(NOT, 5), item(INCOMPLETE, 3), item(NOT, 1)])
    assert found.times == 2


def test_questions_and_discussions_are_their_own_kind() -> None:
    questions = [item(NOT, day, procedure=None, kind=EvidenceKind.SITTING, code="C5") for day in (1, 2)]
    talks = [item(NOT, day, procedure=None, kind=EvidenceKind.DISCUSSION, code="C1") for day in (1, 2, 3)]
    found = {one.about: one.times for one in not_shown_twice([*questions, *talks])}
    assert found == {"questions on C5": 2, "discussion on C1": 3}


@pytest.mark.parametrize("kind", list(PathKind))
def test_every_path_proposes_all_its_steps_once_and_in_order(kind: PathKind) -> None:
    names = [rule.name for rule in STEPS[kind]]
    assert len(names) == len(set(names)) >= 3
    done: set[StepName] = set()
    for name in names:
        assert open_steps(kind, done)[0].name is name
        done.add(name)
    assert open_steps(kind, done) == ()
    assert all(rule.minutes > 0 and rule.hint.endswith(".") for rule in STEPS[kind])


def test_nobody_new_skips_what_is_watched_here() -> None:
    for kind in (PathKind.NEWCOMER, PathKind.LOCUM):
        rule = step_rule(kind, StepName.OBSERVED_HERE)
        assert rule is not None
        assert "P01 and P06" in rule.words
    assert step_rule(PathKind.LONG_LEAVE, StepName.DIAGNOSIS) is None
