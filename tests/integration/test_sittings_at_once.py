"""The same sitting changed at the same moment from two windows: nothing is doubled, nothing is lost."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from threading import Barrier

from sqlalchemy import func, select

from quizapp.content.library import Library
from quizapp.errors import Conflict
from quizapp.services.record_answer import SavedAnswer
from quizapp.store.sittings import Answer
from tests.knowledge_forms import answer, begun, composed, evidence, handed_in, questions, right_text
from tests.small_service import SmallService

WINDOWS = 6


def at_once(*acts: object) -> list[object]:
    """Run the acts in threads that start together; an expected refusal is its result."""
    start = Barrier(len(acts))

    def run(act: object) -> object:
        start.wait(timeout=10)
        try:
            return act()  # type: ignore[operator]
        except Conflict as refusal:
            return refusal

    with ThreadPoolExecutor(len(acts)) as pool:
        return list(pool.map(run, acts))


def answers(small: SmallService) -> int:
    with small.database.reading() as session:
        return session.scalar(select(func.count()).select_from(Answer)) or 0


def test_one_sending_that_arrives_six_times_at_once_gets_one_receipt(small: SmallService, library: Library) -> None:
    sitting_id = begun(small, library, composed(small, library))
    text = right_text(questions(small, sitting_id)[0].question)
    found = at_once(*[lambda: answer(small, sitting_id, 1, text, key="k" * 20)] * WINDOWS)
    assert answers(small) == 1
    assert len(set(found)) == 1
    assert isinstance(found[0], SavedAnswer)


def test_six_windows_that_answer_at_once_leave_one_answer_and_five_refusals(
    small: SmallService, library: Library
) -> None:
    sitting_id = begun(small, library, composed(small, library))
    found = at_once(*[lambda n=n: answer(small, sitting_id, 1, f"{n + 11}") for n in range(WINDOWS)])
    assert answers(small) == 1
    refusals = [str(one) for one in found if isinstance(one, Conflict)]
    assert len(refusals) == WINDOWS - 1
    assert all("changed in another window" in one for one in refusals)


def test_begun_six_times_at_once_it_is_one_sitting(small: SmallService, library: Library) -> None:
    assessment_id = composed(small, library)
    found = at_once(*[lambda: begun(small, library, assessment_id)] * WINDOWS)
    assert len(set(found)) == 1


def test_handed_in_six_times_at_once_it_is_evidence_once(small: SmallService, library: Library) -> None:
    sitting_id = begun(small, library, composed(small, library))
    at_once(*[lambda: handed_in(small, sitting_id)] * WINDOWS)
    assert [row.competency for row in evidence(small)] == ["C3", "C5"]
