"""Whatever a reviewer corrects or voids: no standing, no evidence and no readiness to be signed off falls by it."""

from __future__ import annotations

import random
from datetime import timedelta

import pytest
from sqlalchemy import select

from quizapp.assessment.challenges import ChallengeOutcome
from quizapp.assessment.competence_settings import Track
from quizapp.content.library import Library
from quizapp.services.competence_states import state_rows
from quizapp.services.decision_desk import desks_of
from quizapp.services.evidence_of import evidence_rows
from quizapp.services.person_standing import standings
from quizapp.services.rebuild_competence import rebuild_competence
from quizapp.store.competence import CompetenceStateRow
from quizapp.store.people import Person
from quizapp.store.sittings import Sitting
from tests.challenging import answered, number_corrected, other_number, question_at, raised, sat
from tests.deciding import decide, requirement, with_standard
from tests.knowledge_forms import composed
from tests.small_service import ZONE, SmallService

PEOPLE = ("mira", "tor", "una")
WORDS = ("right", "wrong", "new")
AFTER = timedelta(hours=3)


def how_all_stand(small: SmallService, library: Library) -> dict[str, object]:
    """Each person's standing, what may be signed off, and what is shown by each row of evidence that counts."""
    with small.acting("ines", at=small.now + AFTER) as act:
        people = [act.session.get_one(Person, small.person_id(name)) for name in PEOPLE]
        stands = standings(act, library, people)
        desks = [desk for desks in desks_of(act, library, people) for desk in desks]
        rows = evidence_rows(act, [person.id for person in people])
        return {
            "standing": {one.id: (stands[one.id].report.standing, stands[one.id].report.rows) for one in people},
            "ready": {(desk.person.id, one.competency) for desk in desks for one in desk.readiness if one.may_sign_off},
            "shown": {
                (row.source_id, row.competency) for of in rows.values() for row in of if row.outcome == "shown"
            },
            "dangers": {
                (row.source_id, family)
                for of in rows.values()
                for row in of
                for family in row.details.get("dangerous_families", ())
            },
            "right": {
                (row.source_id, family)
                for of in rows.values()
                for row in of
                for family in row.details.get("families_right", ())
            },
            "kept": {
                one.id: one.result["right"] for one in act.session.scalars(select(Sitting)) if one.result
            },
        }  # fmt: skip


def assert_nothing_fell(before: dict, after: dict) -> None:
    assert after["standing"] == before["standing"]
    assert after["ready"] >= before["ready"]
    assert after["shown"] >= before["shown"]
    assert after["right"] >= before["right"]
    assert after["dangers"] <= before["dangers"]


@pytest.mark.parametrize("seed", range(8))
def test_nothing_falls_whatever_is_corrected(small_sqlite: SmallService, library: Library, seed: int) -> None:
    small, chance = small_sqlite, random.Random(seed)
    with_standard(small, library, requirement("C3", knowledge=True), requirement("C5", knowledge=True))
    form = composed(small, library)
    sittings = {}
    for name in PEOPLE:
        said = [chance.choice(WORDS) for _ in range(3)]
        first = next(iter(sittings.values()), "")
        numbers = [
            word if word != "new" else (other_number(question_at(small, first, place)) if first else "wrong")
            for place, word in enumerate(said, start=1)
        ]
        sittings[name] = sat(small, library, form, numbers, name=name)
    sign_off_whoever_is_ready(small, library)
    for place in chance.sample((1, 2, 3), 2):
        before = how_all_stand(small, library)
        question = question_at(small, sittings["mira"], place)
        outcome = chance.choice((ChallengeOutcome.CORRECTED, ChallengeOutcome.VOID))
        challenge = raised(small, library, sittings["mira"], place)
        answered(
            small, library, challenge.id, outcome, correction=number_corrected(question, other_number(question))
        )  # fmt: skip
        assert_nothing_fell(before, how_all_stand(small, library))
    assert_the_estimate_is_what_the_records_tell(small)


def sign_off_whoever_is_ready(small: SmallService, library: Library) -> None:
    with small.acting("ines", at=small.now + timedelta(minutes=10)) as act:
        people = [act.session.get_one(Person, small.person_id(name)) for name in PEOPLE]
        ready = {desks[0].person.id: tuple(desks[0].ready) for desks in desks_of(act, library, people)}
    for name in PEOPLE:
        if codes := ready[small.person_id(name)]:
            decide(small, library, competencies=codes, who=name, after=timedelta(minutes=10))


def assert_the_estimate_is_what_the_records_tell(small: SmallService) -> None:
    with small.database.writing() as session:
        ids = list(session.scalars(select(CompetenceStateRow.person_id).distinct()))
        found = rebuild_competence(session, small.now + AFTER, ZONE, ids)
    assert found.differed == 0
    assert found.states > 0


def test_a_person_signed_off_stays_so_on_both_databases(small: SmallService, library: Library) -> None:
    """Tor had what turns out wrong and was signed off on it: he stays current, and what carried it is used up."""
    with_standard(small, library, requirement("C3", knowledge=True), requirement("C5", knowledge=True))
    form = composed(small, library)
    mira = sat(small, library, form, ["wrong", "right", "right"])
    sat(small, library, form, ["right", "right", "wrong"], name="tor")
    decide(small, library, competencies=("C3", "C5"), who="tor", after=timedelta(minutes=10))
    before = how_all_stand(small, library)
    tor = small.person_id("tor")
    assert before["standing"][tor][0] == "current"
    question = question_at(small, mira, 1)
    answered(
        small, library, raised(small, library, mira, 1).id, ChallengeOutcome.CORRECTED,
        correction=number_corrected(question, other_number(question)),
    )  # fmt: skip
    after = how_all_stand(small, library)
    assert_nothing_fell(before, after)
    assert not {one for one in after["ready"] if one[0] == tor}, "one form never carries two sign-offs"


def test_the_estimate_takes_the_better_grade(small: SmallService, library: Library) -> None:
    form = composed(small, library)
    first = sat(small, library, form, ["wrong", "right", "right"])
    question = question_at(small, first, 1)
    competency = question.competencies[0]
    before = mean_of(small, competency)
    answered(
        small, library, raised(small, library, first, 1).id, ChallengeOutcome.CORRECTED,
        correction=number_corrected(question, other_number(question)),
    )  # fmt: skip
    assert mean_of(small, competency) > before
    assert_the_estimate_is_what_the_records_tell(small)


def mean_of(small: SmallService, competency: str) -> float:
    (row,) = knowledge_states(small, competency)
    return row.mean


def knowledge_states(small: SmallService, competency: str) -> list[CompetenceStateRow]:
    with small.database.reading() as session:
        rows = state_rows(
            session, [small.person_id("mira")], track=Track.KNOWLEDGE, competencies=[competency]
        )  # fmt: skip
        return list(rows.values())


def test_a_void_question_is_no_evidence_for_the_estimate(small_sqlite: SmallService, library: Library) -> None:
    small = small_sqlite
    first = sat(small, library, composed(small, library), ["wrong", "right", "right"])
    competency = question_at(small, first, 1).competencies[0]
    before = counted(small, competency)
    answered(small, library, raised(small, library, first, 1).id, ChallengeOutcome.VOID)
    assert counted(small, competency) == before - 1
    assert_the_estimate_is_what_the_records_tell(small)


def counted(small: SmallService, competency: str) -> int:
    return sum(row.evidence_count for row in knowledge_states(small, competency))
