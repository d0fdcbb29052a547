"""Wrong ideas of people and cohorts: two families have to agree; nothing that must not be explained yet is told."""

from __future__ import annotations

import pytest

from quizapp.assessment.held_ideas import Share
from quizapp.content.library import Library
from quizapp.errors import NotAllowed, NotFound
from quizapp.services.close_assessment import close_assessment
from quizapp.services.ideas_that_came_back import CameBack, ideas_that_came_back
from quizapp.services.sittings_of import asked_questions
from quizapp.services.wrong_ideas_of import CohortIdeas, wrong_ideas_of
from tests.answering import answer_with, begun_with, handed_in_by
from tests.counted_statements import counted_statements
from tests.knowledge_forms import answer, composed, practice, questions
from tests.small_service import SmallService

NO_BASELINE = ["N16", "N17", "N07"]


def came_back(small: SmallService, library: Library, sitting_id: str, name: str = "mira") -> tuple[CameBack, ...]:
    with small.acting(name) as act:
        return ideas_that_came_back(act, library, asked_questions(act, sitting_id))


def cohort(small: SmallService, library: Library, name: str = "ines", **chosen: str) -> CohortIdeas:
    with small.acting(name) as act:
        return wrong_ideas_of(act, library, **chosen)


def sat(
    small: SmallService, library: Library, assessment_id: str, ideas: list[str], *, name: str = "mira",
    families: list[str] = NO_BASELINE,
) -> str:  # fmt: skip
    sitting_id = begun_with(small, library, assessment_id, families, name=name, ideas=ideas)
    for position, idea in enumerate(ideas, start=1):
        answer_with(small, sitting_id, position, idea, name=name)
    handed_in_by(small, sitting_id, name)
    return sitting_id


def test_an_idea_that_two_families_name_came_back(small: SmallService, library: Library) -> None:
    sitting_id = sat(small, library, composed(small, library), ["no-baseline", "no-baseline", ""])
    (back,) = came_back(small, library, sitting_id)
    assert (back.name, back.family_count) == ("no-baseline", 2)
    assert len(back.sentences) == 2


def test_one_slip_did_not(small: SmallService, library: Library) -> None:
    sitting_id = sat(small, library, composed(small, library), ["no-baseline", "", ""])
    assert came_back(small, library, sitting_id) == ()


def test_an_earlier_practice_agrees_too(small: SmallService, library: Library) -> None:
    earlier = practice(small, library, "N17")
    idea = next(one for one in questions(small, earlier)[0].question.blanks[0].ideas if one.name == "no-baseline")
    answer(small, earlier, 1, idea.printed)
    sitting_id = sat(small, library, composed(small, library), ["no-baseline"], families=["N16", "N07", "N03"])
    assert [one.name for one in came_back(small, library, sitting_id)] == ["no-baseline"]


def test_closed_questions_say_nothing_before_the_window_closes(small: SmallService, library: Library) -> None:
    assessment_id = composed(small, library)
    ideas = ["needle-proves-ventilation"] * 2
    sitting_id = sat(small, library, assessment_id, ideas, families=["K02", "K06", "N07"])
    assert came_back(small, library, sitting_id) == ()
    with small.acting("ines") as act:
        close_assessment(act, assessment_id)
    assert [one.name for one in came_back(small, library, sitting_id)] == ideas[:1]


def test_shares_by_competency_with_small_numbers_marked(small: SmallService, library: Library) -> None:
    assessment_id = composed(small, library)
    sat(small, library, assessment_id, ["no-baseline", "no-baseline", ""])
    sat(small, library, assessment_id, ["no-baseline", "", ""], name="tor")
    found = cohort(small, library, assessment_id=assessment_id)
    assert (found.people, found.answers) == (2, 6)
    five, nine = found.shares
    assert (five.competency, five.name, five.named, five.held) == (
        "C5", "no-baseline", Share(count=2, of=2), Share(count=1, of=2),
    )  # fmt: skip
    assert (nine.competency, nine.named) == ("C9", Share(count=1, of=2))
    assert five.named.is_too_few


def test_practice_and_open_sittings_are_left_out(small: SmallService, library: Library) -> None:
    assessment_id = composed(small, library)
    sitting_id = begun_with(small, library, assessment_id, NO_BASELINE)
    answer_with(small, sitting_id, 1, "no-baseline")
    practised = practice(small, library, "N17")
    answer(small, practised, 1, "1")
    assert cohort(small, library).answers == 0


def test_who_sees_which_cohort(small_sqlite: SmallService, library: Library) -> None:
    for name in ("mira", "tor", "leif", "ada"):
        with pytest.raises(NotAllowed):
            cohort(small_sqlite, library, name)
    with pytest.raises(NotFound):
        cohort(small_sqlite, library, base_id=small_sqlite.other_base_id)
    with pytest.raises(NotFound):
        cohort(small_sqlite, library, assessment_id="0" * 32)
    assert [name for _, name in cohort(small_sqlite, library).bases] == ["Cairnlow"]


def test_three_statements_however_many_answers(small: SmallService, library: Library) -> None:
    assessment_id = composed(small, library)
    counts = []
    for name in ("mira", "tor"):
        sat(small, library, assessment_id, ["no-baseline"] * 2, name=name)
        with small.acting("ines") as act, counted_statements(small.database) as statements:
            wrong_ideas_of(act, library)
        counts.append(len(statements))
    assert counts[0] == counts[1] <= 4
