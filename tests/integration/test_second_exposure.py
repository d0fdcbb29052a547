"""Meeting a family again: other numbers, half the weight for a month, and counted for its author."""

from __future__ import annotations

from datetime import timedelta

from sqlalchemy import select

from quizapp.assessment.form_selection import FormPart
from quizapp.assessment.questions import Question
from quizapp.content.library import Library
from quizapp.services.exposure_of_content import Exposure, exposure_of_content
from quizapp.services.start_sitting import start_practice
from quizapp.store.sittings import Sitting, SittingQuestion
from tests.small_service import SmallService

DAY = timedelta(days=1)
AGAIN = 12


def practised(small: SmallService, library: Library, *, name: str = "mira", after: timedelta = 0 * DAY) -> str:
    """One question of N27."""
    with small.acting(name, at=small.now + after) as act:
        return start_practice(act, library, family="N27", question_count=1, profile=library.profile("TV-A", 1))


def weights(small: SmallService, *sittings: str) -> list[int]:
    with small.database.reading() as session:
        rows = select(SittingQuestion.sitting_id, SittingQuestion.weight_percent)
        found = dict(iter(session.execute(rows)))
    return [found[sitting] for sitting in sittings]


def asked(small: SmallService) -> list[Question]:
    with small.database.reading() as session:
        rows = session.scalars(
            select(SittingQuestion.frozen)
            .join(Sitting, Sitting.id == SittingQuestion.sitting_id)
            .order_by(Sitting.started_at, SittingQuestion.position)
        )
        return [Question.from_plain(frozen) for frozen in rows]


def test_half_the_weight_within_a_month_of_the_last_time_and_for_nobody_else(
    small: SmallService, library: Library
) -> None:
    first = practised(small, library)
    later = practised(small, library, after=29 * DAY)
    long_after = practised(small, library, after=60 * DAY)
    other = practised(small, library, name="tor", after=DAY)
    assert weights(small, first, later, long_after, other) == [100, 50, 100, 100]


def test_never_the_same_numbers_again(small_sqlite: SmallService, library: Library) -> None:
    for number in range(AGAIN):
        practised(small_sqlite, library, after=number * DAY)
    drawn = {tuple((one.name, one.value) for one in question.drawn) for question in asked(small_sqlite)}
    assert len(drawn) == AGAIN


def test_twice_in_one_form_is_a_second_time_too(small: SmallService, library: Library) -> None:
    """Eight questions on a competency with fewer families: what comes again has other numbers and half the weight."""
    with small.acting("mira") as act:
        start_practice(
            act, library, parts=[FormPart(competency="C7", question_count=8)], profile=library.profile("TV-A", 1)
        )
    questions = asked(small)
    with small.database.reading() as session:
        found = list(session.scalars(select(SittingQuestion).order_by(SittingQuestion.position)))
    met: set[str] = set()
    for row in found:
        assert row.weight_percent == (50 if row.family in met else 100)
        met.add(row.family)
    assert len(met) < len(found)
    assert len({question.stem for question in questions}) == len(questions)


def test_the_author_sees_how_often_and_by_how_many_it_was_met(small: SmallService, library: Library) -> None:
    practised(small, library)
    practised(small, library, after=DAY)
    practised(small, library, name="tor")
    with small.acting("ines") as act:
        assert exposure_of_content(act) == {"N27": Exposure(times=3, people=2)}
