"""A step's mark looked at again: a new version beside the signed sheet, which nobody touches; nothing falls by it."""

from __future__ import annotations

from datetime import timedelta

import pytest
from sqlalchemy import select

from quizapp.assessment.challenges import ChallengeOutcome, Effect
from quizapp.assessment.observation_state import StepMark
from quizapp.assessment.roles import Role
from quizapp.content.library import Library
from quizapp.errors import BadInput, Conflict, NotAllowed, NotFound
from quizapp.services.correct_observation import corrected_sheet
from quizapp.services.evidence_of import evidence_rows
from quizapp.services.messages import unread_messages
from quizapp.services.observation_sheet import sheet_of
from quizapp.services.raise_challenge import Raised, challenge_step
from quizapp.services.rebuild_competence import rebuild_competence
from quizapp.services.signing import faults_of_signature
from quizapp.store.audit import Signature
from quizapp.store.challenges import CorrectedObservation
from quizapp.store.observations import Observation, ObservationEvent
from quizapp.store.roles import RoleGrant
from tests.challenging import REASON, answered, evidence_of
from tests.observing import P06_IN_ORDER, Phone, accept, locked, opened, put_in_service, sent, signed
from tests.small_service import FIRST_DAY, ZONE, SmallService

UPHELD, CORRECTED, VOID = ChallengeOutcome.UPHELD, ChallengeOutcome.CORRECTED, ChallengeOutcome.VOID
AFTER = timedelta(hours=1)


@pytest.fixture
def observed(small: SmallService) -> str:
    """P06 watched and signed; step c was marked not done."""
    put_in_service(small)
    accept(small, "P06")
    return watched_with(small, missed="c")


def watched_with(small: SmallService, *, missed: str = "") -> str:
    observation_id = opened(small)
    phone = Phone(small.now, device_id=f"019cae00-{observation_id[-5:]}")
    phone.start()
    for place, step in enumerate(P06_IN_ORDER, 1):
        phone.mark(step, StepMark.NOT_DONE if step == missed else StepMark.DONE, after_s=3 * place)
    sent(small, observation_id, phone.made)
    locked(small, observation_id)
    signed(small, observation_id)
    return observation_id


def asked(small: SmallService, observation_id: str, step: str = "c", *, name: str = "mira", words: str = "") -> Raised:
    with small.acting(name, at=small.now + AFTER) as act:
        return challenge_step(act, observation_id, step, words=words)


def as_it_stands(small: SmallService, observation_id: str) -> list[object]:
    """The signed sheet and its taps, to the byte."""
    with small.database.reading() as session:
        row = session.get_one(Observation, observation_id)
        signature = session.get_one(Signature, row.signature_id)
        assert faults_of_signature(signature) == []
        taps = session.scalars(select(ObservationEvent).where(ObservationEvent.observation_id == observation_id))
        return [row.result, row.locked_at, signature.signature_hash, sorted(str(one.body) for one in taps)]


def decision_of(small: SmallService, observation_id: str) -> str:
    with small.acting("mira", at=small.now + AFTER) as act:
        sheet, _ = corrected_sheet(act, sheet_of(act, act.session.get_one(Observation, observation_id)))
        return sheet.result.decision.value


def test_a_step_is_asked_about_with_what_was_shown(small: SmallService, observed: str) -> None:
    said = asked(small, observed, words="I did say it, with my back to the assessor.")
    assert said.reviewer_id in {small.person_id("ines"), small.person_id("cleo")}
    assert asked(small, observed) == said
    with pytest.raises(NotFound):
        asked(small, observed, name="una")
    with pytest.raises(BadInput):
        asked(small, observed, step="zz")


def test_before_it_is_signed_there_is_nothing_to_ask(small_sqlite: SmallService) -> None:
    put_in_service(small_sqlite)
    observation_id = opened(small_sqlite)
    with pytest.raises(NotFound):
        asked(small_sqlite, observation_id)
    phone = Phone(small_sqlite.now)
    phone.start()
    phone.mark("a")
    sent(small_sqlite, observation_id, phone.made)
    locked(small_sqlite, observation_id)
    with pytest.raises(Conflict, match="not signed"):
        asked(small_sqlite, observation_id)


def test_a_corrected_mark_is_a_new_version(small: SmallService, library: Library, observed: str) -> None:
    before = as_it_stands(small, observed)
    assert decision_of(small, observed) == "not_yet"
    answered(small, library, asked(small, observed).id, CORRECTED, mark="done")
    assert as_it_stands(small, observed) == before, "the signed sheet stays as it was signed"
    assert decision_of(small, observed) == "shown"
    with small.database.reading() as session:
        version = session.scalars(select(CorrectedObservation)).one()
    assert (version.step, version.mark_before, version.mark, version.effect) == ("c", "not_done", "done", Effect.RAISED)
    with small.acting("ines") as act:
        counted = evidence_rows(act, [small.person_id("mira")])[small.person_id("mira")]
    everything = evidence_of(small, "mira")
    assert {row.outcome for row in counted} == {"shown"}
    assert len(everything) == 2 * len(counted)
    assert "Step c was corrected" in counted[0].summary
    assert {row.assessor_id for row in counted} == {small.person_id("tor")}
    with small.database.writing() as session:
        rebuilt = rebuild_competence(session, small.now + 2 * AFTER, ZONE, [small.person_id("mira")])
    assert rebuilt.differed == 0, "the estimate took the corrected mark in already"


def test_person_and_assessor_are_told(small: SmallService, library: Library, observed: str) -> None:
    answered(small, library, asked(small, observed).id, CORRECTED, mark="done")
    for name, says in (("mira", "was looked at again and corrected"), ("tor", "counts as done now; the result rises")):
        with small.acting(name, at=small.now + 2 * AFTER) as act:
            texts = [one.text for one in unread_messages(act)]
        assert any(says in text and REASON in text for text in texts), name


def test_upheld_leaves_no_version(small: SmallService, library: Library, observed: str) -> None:
    answered(small, library, asked(small, observed).id, UPHELD)
    assert decision_of(small, observed) == "not_yet"
    with small.database.reading() as session:
        assert session.scalars(select(CorrectedObservation)).all() == []


def test_void_counts_as_not_seen(small: SmallService, library: Library, observed: str) -> None:
    answered(small, library, asked(small, observed).id, VOID)
    assert decision_of(small, observed) == "incomplete"


def test_a_result_that_would_fall_is_kept(small: SmallService, library: Library, observed: str) -> None:
    """All steps done, one of them asked about: the reviewer finds it was not; what was shown stays shown."""
    whole = watched_with(small)
    before = [(row.id, row.outcome) for row in evidence_of(small, "mira") if row.source_id == whole]
    answered(small, library, asked(small, whole).id, CORRECTED, mark="not_done")
    assert decision_of(small, whole) == "shown"
    with small.database.reading() as session:
        assert session.scalars(select(CorrectedObservation.effect)).all() == [Effect.KEPT]
    assert [(row.id, row.outcome) for row in evidence_of(small, "mira") if row.source_id == whole] == before


def test_two_steps_one_after_the_other(small: SmallService, library: Library, observed: str) -> None:
    answered(small, library, asked(small, observed).id, CORRECTED, mark="done")
    answered(small, library, asked(small, observed, "d").id, VOID, after=2 * AFTER)
    assert decision_of(small, observed) == "shown", "the second one would lower it, so the first result is kept"


def test_the_mark_that_stands_corrects_nothing(small_sqlite: SmallService, library: Library) -> None:
    small = small_sqlite
    put_in_service(small)
    observation_id = watched_with(small, missed="c")
    challenge = asked(small, observation_id)
    for mark in ("not_done", "", "perfect"):
        with pytest.raises(BadInput):
            answered(small, library, challenge.id, CORRECTED, mark=mark)


def test_the_assessor_does_not_review_the_own_mark(small: SmallService, library: Library, observed: str) -> None:
    with small.database.writing() as session:
        session.add(
            RoleGrant(
                id=small.randomness.new_id(), person_id=small.person_id("tor"), role=Role.EDUCATOR.value,
                base_id=small.base_id, from_day=FIRST_DAY, until_day=None, reason="test", granted_at=small.now,
            )
        )  # fmt: skip
    challenge = asked(small, observed)
    assert challenge.reviewer_id != small.person_id("tor")
    with pytest.raises(NotAllowed, match="marked this"):
        answered(small, library, challenge.id, UPHELD, by="tor")
