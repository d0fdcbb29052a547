"""A sign-off names its device revision; each revision in the packs, or coming into them, is decided on by itself."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from sqlalchemy import select

from quizapp.assessment.sign_off import EvidenceOutcome
from quizapp.assessment.standing import CompetencyStanding, Outcome, PersonStanding, ProfileRevision
from quizapp.content.library import Library
from quizapp.errors import NotFound
from quizapp.services.decision_desk import desk, waiting
from quizapp.services.decision_statement import DecisionWanted
from quizapp.services.person_standing import standing_of
from quizapp.services.put_device_in_service import put_in_service, take_out_of_service
from quizapp.services.sign_decision import prepare_decision, sign_decision
from quizapp.store.decisions import Decision
from quizapp.store.devices import DeviceInService
from quizapp.store.evidence import Evidence
from tests.deciding import REASON, decide, show, with_standard
from tests.small_service import PASSWORD, SmallService

ONE, TWO = (ProfileRevision(code="TV-A", revision=revision) for revision in (1, 2))


@pytest.fixture
def mixed(small: SmallService, library: Library) -> SmallService:
    """Mira is signed off on revision 1; revision 2 comes into the packs on 12 March."""
    with_standard(small, library)
    show(small, "C5")
    show(small, "C8", assessor="tor")
    decide(small, library)
    with small.acting("leif") as act:
        put_in_service(act, library, base_id=small.base_id, profile_code="TV-A", profile_revision=2,
                       from_day=date(2026, 3, 12))  # fmt: skip
    return small


def shown_on_two(small: SmallService) -> None:
    """The same evidence again, on revision 2."""
    with small.acting("cleo") as act:
        for row in act.session.scalars(select(Evidence)):
            fields = {column.name: getattr(row, column.name) for column in Evidence.__table__.columns}
            act.session.add(Evidence(**fields | {"id": act.randomness.new_id(), "profile_revision": 2}))


def decide_on(small: SmallService, library: Library, profile: ProfileRevision | None, *, days: int = 0) -> None:
    wanted = DecisionWanted(outcome=Outcome.COMPETENT, competencies=["C5", "C8"], reason=REASON, profile=profile)
    at = small.now + timedelta(days=days)
    with small.acting("ines", at=at) as act:
        intent_id = prepare_decision(act, library, small.person_id("mira"), wanted)
    with small.acting("ines", at=at) as act:
        sign_decision(act, library, intent_id, password=PASSWORD)


def word(small: SmallService, library: Library, days: int) -> PersonStanding:
    with small.acting("ines", at=small.now + timedelta(days=days)) as act:
        return standing_of(act, library, small.person_id("mira")).report.standing


def test_the_desk_opens_with_what_is_in_the_packs_and_knows_what_comes(mixed: SmallService, library: Library) -> None:
    with mixed.acting("ines") as act:
        opened = desk(act, library, mixed.person_id("mira"))
        coming = desk(act, library, mixed.person_id("mira"), profile=TWO)
    assert (opened.profile, opened.profiles) == (ONE, (ONE, TWO))
    assert opened.open_rows == []
    assert [one.competency for one in coming.open_rows] == ["C5", "C8"]
    assert coming.report.standing is PersonStanding.CURRENT
    assert coming.on_profile.of_competency("C5") is CompetencyStanding.NOT_YET_SIGNED_OFF
    with mixed.acting("ines", at=mixed.now + timedelta(days=10)) as act:
        assert desk(act, library, mixed.person_id("mira")).profile == TWO
    with mixed.acting("ines") as act, pytest.raises(NotFound):
        desk(act, library, mixed.person_id("mira"), profile=ProfileRevision(code="TV-B", revision=1))


def test_signed_off_before_it_arrives_nobody_drops_out(mixed: SmallService, library: Library) -> None:
    assert word(mixed, library, 10) is PersonStanding.NOT_YET_SIGNED_OFF
    shown_on_two(mixed)
    with mixed.acting("ines") as act:
        assert [(one.person.name, one.profile) for one in waiting(act, library)] == [("Mira", TWO)]
    decide_on(mixed, library, TWO)
    with mixed.database.reading() as session:
        assert set(session.scalars(select(Decision.profile_revision))) == {1, 2}
    assert (word(mixed, library, 9), word(mixed, library, 10)) == (PersonStanding.CURRENT, PersonStanding.CURRENT)
    with mixed.acting("ines") as act:
        assert waiting(act, library) == []


def test_both_revisions_in_the_packs_need_their_own_sign_off(mixed: SmallService, library: Library) -> None:
    shown_on_two(mixed)
    decide_on(mixed, library, None, days=11)
    assert word(mixed, library, 12) is PersonStanding.CURRENT
    with mixed.acting("leif", at=mixed.now + timedelta(days=12)) as act:
        device = act.session.scalars(select(DeviceInService).where(DeviceInService.profile_revision == 1)).one()
        take_out_of_service(act, device_id=device.id, until_day=act.today)
    assert word(mixed, library, 13) is PersonStanding.CURRENT
    with mixed.acting("ines", at=mixed.now + timedelta(days=13)) as act:
        report = standing_of(act, library, mixed.person_id("mira")).report
        assert desk(act, library, mixed.person_id("mira")).profiles == (TWO,)
    assert {row.profile for row in report.rows} == {TWO}


def test_what_was_not_shown_on_one_revision_waits_there_only(mixed: SmallService, library: Library) -> None:
    show(mixed, "C5", outcome=EvidenceOutcome.NOT_SHOWN, days_ago=0)
    with mixed.acting("ines") as act:
        assert [one.profile for one in waiting(act, library) if one.person.name == "Mira"] == []
