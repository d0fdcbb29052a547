"""Paths: opened once, walked by those who may, closed when complete; the person reads them, a team lead does not."""

from __future__ import annotations

from datetime import timedelta

import pytest
from sqlalchemy import select, update
from sqlalchemy.exc import DBAPIError

from quizapp.assessment.fair_paths import Named, PathKind, PathOutcome, StepName
from quizapp.assessment.standing import Outcome, PersonStanding
from quizapp.content.library import Library
from quizapp.errors import BadInput, Conflict, NotAllowed, NotFound
from quizapp.services.end_belonging import set_engagement
from quizapp.services.fair_paths import close_path
from quizapp.services.fair_paths_list import my_paths, path_page, paths_at_my_bases, proposals
from quizapp.services.person_standing import standing_of
from quizapp.services.who_may_be_named import named_for
from quizapp.store.decisions import StandingEvent
from quizapp.store.fair_paths import FairPath, FairPathStep
from quizapp.store.people import Person
from tests.deciding import decide
from tests.small_service import SmallService
from tests.walking import failed_twice, opened, stepped, walking


@pytest.fixture
def ready(small: SmallService, library: Library) -> SmallService:
    return walking(small, library)


def stands(small: SmallService, library: Library, name: str = "mira") -> PersonStanding:
    with small.acting(name) as act:
        return standing_of(act, library, act.actor.person_id).report.standing


def closed(small: SmallService, path_id: str, outcome: PathOutcome = PathOutcome.COMPLETE, *, by: str = "ines") -> str:
    with small.acting(by) as act:
        return close_path(act, path_id=path_id, outcome=outcome, words="We looked at it together.")


def named(small: SmallService, library: Library, path_id: str, who: Named) -> set[str]:
    with small.acting("ines") as act:
        row = act.session.get_one(FairPath, path_id)
        return {one.name for one in named_for(act, library, row, who)}


def walked(small: SmallService, library: Library, path_id: str) -> None:
    """Every step of "not shown twice", with Cleo as the other educator and Una as the assessor."""
    stepped(small, library, path_id, StepName.OTHER_EDUCATOR, named="cleo")
    for step in (StepName.DIAGNOSIS, StepName.ADJUSTMENT_ASKED):
        stepped(small, library, path_id, step, by="cleo")
    stepped(small, library, path_id, StepName.SUPERVISED, named="una")
    stepped(small, library, path_id, StepName.UNBIASED_ASSESSOR, named="una")
    for step in (StepName.LEAD_TOLD, StepName.OBSERVED_AGAIN):
        stepped(small, library, path_id, step)


def test_twice_not_shown_is_proposed_until_the_path_is_open(ready: SmallService, library: Library) -> None:
    failed_twice(ready)
    with ready.acting("ines") as act:
        (proposal,) = [one for one in proposals(act, library) if one.kind is PathKind.NOT_SHOWN_TWICE]
    assert (proposal.person_name, proposal.about) == ("Mira", "P06")
    opened(ready)
    with ready.acting("ines") as act:
        assert all(one.kind is not PathKind.NOT_SHOWN_TWICE for one in proposals(act, library))
        assert [line.next_words for line in paths_at_my_bases(act)] == [
            "Another educator takes over: one who has not decided on this person before"
        ]


def test_opening_restricts_and_completing_ends_it(ready: SmallService, library: Library) -> None:
    failed_twice(ready)
    path_id = opened(ready)
    assert stands(ready, library) is PersonStanding.RESTRICTED
    with pytest.raises(BadInput, match="Not recorded yet"):
        closed(ready, path_id)
    walked(ready, library, path_id)
    closed(ready, path_id)
    assert stands(ready, library) is PersonStanding.NOT_YET_SIGNED_OFF
    with pytest.raises(Conflict, match="closed"):
        stepped(ready, library, path_id, StepName.LEAD_TOLD)


def test_ended_early_the_restriction_stays(ready: SmallService, library: Library) -> None:
    path_id = opened(ready)
    closed(ready, path_id, PathOutcome.ENDED)
    assert stands(ready, library) is PersonStanding.RESTRICTED


def test_one_who_decided_against_is_no_other_educator(ready: SmallService, library: Library) -> None:
    failed_twice(ready)
    decide(ready, library, competencies=("C8",), outcome=Outcome.NOT_YET)
    path_id = opened(ready)
    assert named(ready, library, path_id, Named.OTHER_EDUCATOR) == {"Cleo"}
    with pytest.raises(BadInput) as refusal:
        stepped(ready, library, path_id, StepName.OTHER_EDUCATOR, named="ines")
    assert refusal.value.field == "named_id"


def test_an_assessor_who_saw_it_fail_is_not_proposed(ready: SmallService, library: Library) -> None:
    failed_twice(ready)
    path_id = opened(ready)
    assert named(ready, library, path_id, Named.UNBIASED_ASSESSOR) == {"Una"}
    assert named(ready, library, path_id, Named.COLLEAGUE) == {"Tor", "Una"}
    with pytest.raises(BadInput):
        stepped(ready, library, path_id, StepName.UNBIASED_ASSESSOR, named="tor")


def test_only_the_other_educator_records_the_diagnosis(ready: SmallService, library: Library) -> None:
    path_id = opened(ready)
    with pytest.raises(Conflict, match="Name the other educator first"):
        stepped(ready, library, path_id, StepName.DIAGNOSIS)
    stepped(ready, library, path_id, StepName.OTHER_EDUCATOR, named="cleo")
    with pytest.raises(NotAllowed, match="other educator records"):
        stepped(ready, library, path_id, StepName.DIAGNOSIS)
    stepped(ready, library, path_id, StepName.DIAGNOSIS, by="cleo")


def test_a_path_has_its_own_steps_only(ready: SmallService, library: Library) -> None:
    path_id = opened(ready, PathKind.NEWCOMER)
    with pytest.raises(BadInput, match="no such step"):
        stepped(ready, library, path_id, StepName.DIAGNOSIS)


def test_a_second_path_of_the_same_kind_is_a_conflict(ready: SmallService, library: Library) -> None:
    opened(ready)
    with pytest.raises(Conflict, match="on such a path already"):
        opened(ready)
    opened(ready, PathKind.NEWCOMER)


@pytest.mark.parametrize(
    ("days", "about", "field"), [(-1, "P06", "until_day"), (400, "P06", "until_day"), (30, "", "about")]
)
def test_what_does_not_fit_is_named(ready: SmallService, days: int, about: str, field: str) -> None:
    with pytest.raises(BadInput) as refusal:
        opened(ready, about=about, until_day=ready.now.date() + timedelta(days=days))
    assert refusal.value.field == field


def test_who_opens_and_who_reads(ready: SmallService, library: Library) -> None:
    for name in ("mira", "tor", "leif", "ada"):
        with pytest.raises(NotAllowed):
            opened(ready, by=name, of="una")
    with pytest.raises(NotAllowed, match="themselves"):
        opened(ready, of="ines")
    with pytest.raises(NotFound):
        opened(ready, of="petra")
    path_id = opened(ready)
    for name in ("mira", "ines", "cleo"):
        with ready.acting(name) as act:
            assert path_page(act, library, path_id).person_name == "Mira"
    for name in ("tor", "una", "leif", "ada", "petra", "olaf"):
        with ready.acting(name) as act, pytest.raises(NotFound):
            path_page(act, library, path_id)
    with ready.acting("mira") as act:
        assert [line.id for line in my_paths(act)] == [path_id]


def test_a_locum_works_with_a_colleague_until_the_engagement_ends(ready: SmallService, library: Library) -> None:
    with pytest.raises(BadInput, match="administrator"):
        opened(ready, PathKind.LOCUM)
    last_day = ready.now.date() + timedelta(days=40)
    with ready.acting("ada") as act:
        set_engagement(act, person_id=ready.person_id("mira"), until_day=last_day)
    opened(ready, PathKind.LOCUM)
    with ready.database.reading() as session:
        event = session.scalars(select(StandingEvent)).one()
    assert (event.until_day, event.reason) == (last_day, "Works with a current colleague until the path is complete")


def test_a_newcomer_is_proposed_a_path(ready: SmallService, library: Library) -> None:
    with ready.database.writing() as session:
        session.get_one(Person, ready.person_id("mira")).joined_on = ready.now.date() - timedelta(days=20)
    with ready.acting("ines") as act:
        assert [(one.person_name, one.kind) for one in proposals(act, library)] == [("Mira", PathKind.NEWCOMER)]


def test_a_recorded_step_is_never_changed(ready: SmallService, library: Library) -> None:
    path_id = opened(ready)
    step_id = stepped(ready, library, path_id, StepName.OTHER_EDUCATOR, named="cleo")
    change = update(FairPathStep).where(FairPathStep.id == step_id).values(words="something else")
    with pytest.raises(DBAPIError, match="append-only"), ready.database.writing() as session:
        session.execute(change)
