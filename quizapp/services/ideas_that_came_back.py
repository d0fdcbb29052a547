"""The wrong ideas of a sitting that its person holds: two different families of this or an earlier sitting agree."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from quizapp.assessment.grading import idea_named
from quizapp.assessment.held_ideas import held_ideas
from quizapp.content.library import Library
from quizapp.services.act import Act
from quizapp.services.idea_answers import idea_answers
from quizapp.services.sittings_of import AskedQuestion
from quizapp.store.sittings import Sitting


@dataclass(frozen=True, kw_only=True)
class CameBack:
    """An idea held: its name, how many different families named it, and what was said about it in this sitting."""

    name: str
    family_count: int
    sentences: tuple[str, ...]


def ideas_that_came_back(act: Act, library: Library, asked: Sequence[AskedQuestion]) -> tuple[CameBack, ...]:
    """Return the ideas that the answers of one of the actor's own sittings named and the actor holds.

    What must not be explained yet is left out, here and in earlier sittings. One statement.
    """
    given = [one for one in idea_answers(act, library, Sitting.person_id == act.actor.person_id) if one.is_released]
    open_here = {one.question_id for one in given}
    here = [one for one in asked if one.id in open_here]
    said = {one.question_id: one.answer.ideas for one in given}
    return tuple(
        CameBack(
            name=held.name,
            family_count=len(held.families),
            sentences=tuple(dict.fromkeys(text for one in here for text in _sentences(one, held.name))),
        )
        for held in held_ideas(one.answer for one in given)
        if any(held.name in said[one.id] for one in here)
    )


def _sentences(asked: AskedQuestion, name: str) -> Iterator[str]:
    question = asked.question
    if asked.answer is None:
        return
    for graded in asked.answer.grade["blanks"]:
        idea = idea_named(question, graded["blank"], name) if graded["wrong_idea"] == name else None
        if idea is not None:
            yield idea.says
    yield from (option.says for option in question.options if option.wrong_idea == name and option.says)
