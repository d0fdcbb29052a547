"""One person at a minute gone by: as it was known then, whatever was recorded, corrected or voided since."""

from __future__ import annotations

from datetime import timedelta

import pytest
from sqlalchemy import select, update

from quizapp.assessment.record_looks import LookKind
from quizapp.assessment.sign_off import EvidenceOutcome
from quizapp.assessment.standing import Outcome, PersonStanding
from quizapp.assessment.standing_event_kind import StandingEventKind
from quizapp.content.library import Library
from quizapp.errors import BadInput, NotAllowed, NotFound
from quizapp.services.change_standing import StandingChange, change_standing
from quizapp.services.people import move_person
from quizapp.services.put_device_in_service import put_in_service
from quizapp.services.record_looks import looks_at_me, note_page
from quizapp.services.standing_then import StandingThen, ask_standing, people_to_ask, standing_then
from quizapp.store.audit import AuditRow
from quizapp.store.decisions import Decision
from quizapp.store.evidence import Evidence
from quizapp.store.record_looks import RecordLook
from tests.deciding import decide, show, with_standard
from tests.small_service import SmallService

PURPOSE = "review of a call in March"
HOUR = timedelta(hours=1)
DAY = timedelta(days=1)


@pytest.fixture
def signed_off(small: SmallService, library: Library) -> SmallService:
    with_standard(small, library)
    show(small, "C5")
    show(small, "C8", assessor="tor")
    decide(small, library)
    return small


def asked(small: SmallService, library: Library, after: timedelta, *, by: str = "leif", late: timedelta = 400 * DAY,
          who: str = "mira") -> StandingThen:  # fmt: skip
    with small.acting(by, at=small.now + late) as act:
        look_id = ask_standing(act, person_id=small.person_id(who), at=small.now + after, purpose=PURPOSE)
    with small.acting(by, at=small.now + late) as act:
        return standing_then(act, library, look_id)


def known(page: StandingThen) -> tuple[object, ...]:
    """Everything the answer says but which question it answers."""
    said = {name: value for name, value in vars(page).items() if name not in {"look_id", "person"}}
    return tuple((name, repr(value)) for name, value in sorted(said.items()))


def test_the_answer_names_standing_revision_decisions_and_evidence(signed_off: SmallService, library: Library) -> None:
    page = asked(signed_off, library, HOUR, by="ines")
    assert page.report.standing is PersonStanding.CURRENT
    assert [str(one) for one in page.revisions] == ["TV-A revision 1"]
    assert page.base_name == "Cairnlow"
    assert {(one.competency, one.outcome, one.carries_the_standing) for one in page.decisions} == {
        ("C5", "competent", True), ("C8", "competent", True)
    }  # fmt: skip
    assert {(one.competency, one.summary, one.by, one.device) for one in page.evidence} == {
        ("C5", "C5 seen", "", "TV-A revision 1"), ("C8", "C8 seen", "Tor", "TV-A revision 1")
    }  # fmt: skip
    before = asked(signed_off, library, -HOUR, by="ines")
    assert before.report.standing is PersonStanding.NOT_YET_SIGNED_OFF
    assert before.decisions == ()
    assert before.evidence == ()


def test_a_lead_reads_outcomes_and_dates_and_no_reasons(signed_off: SmallService, library: Library) -> None:
    page = asked(signed_off, library, HOUR)
    assert {one.reason for one in page.decisions} == {""}
    assert {one.summary for one in page.evidence} == {""}
    assert all(one.outcome for one in page.evidence)


def test_nothing_that_comes_later_changes_what_is_said_of_a_minute(signed_off: SmallService, library: Library) -> None:
    """Corrected evidence, a void, a suspension, a new revision, a move to another base, another renewal: none does."""
    before = known(asked(signed_off, library, HOUR, by="cleo"))
    small, mira = signed_off, signed_off.person_id("mira")
    with small.acting("cleo", at=small.now + 2 * DAY) as act:
        old = act.session.scalars(select(Evidence).where(Evidence.competency == "C5")).one()
        fields = {c.name: getattr(old, c.name) for c in Evidence.__table__.columns}
        act.session.add(Evidence(**{**fields, "id": "e" * 32, "outcome": EvidenceOutcome.NOT_SHOWN.value,
                                    "recorded_at": act.now, "replaces_id": old.id}))  # fmt: skip
        act.session.execute(update(Decision).where(Decision.competency == "C8").values(voided_at=act.now))
        wanted = StandingChange(
            kind=StandingEventKind.SUSPENDED, from_day=act.today, until_day=None, reason="as decided here"
        )
        change_standing(act, mira, wanted)
        put_in_service(act, library, base_id=small.base_id, profile_code="TV-A", profile_revision=2,
                       from_day=act.today - 5 * DAY)  # fmt: skip
    with small.acting("ada", at=small.now + 4 * DAY) as act:
        move_person(act, person_id=mira, base_id=small.other_base_id)
    assert known(asked(small, library, HOUR, by="cleo")) == before
    after = asked(small, library, 3 * DAY, by="cleo")
    assert after.report.standing is PersonStanding.SUSPENDED
    assert {one.outcome for one in after.evidence if one.competency == "C5"} == {"not shown"}
    assert {one.is_void for one in after.decisions if one.competency == "C8"} == {True}


def test_who_may_ask_about_whom(signed_off: SmallService, library: Library) -> None:
    small, mira = signed_off, signed_off.person_id("mira")
    with small.acting("olaf") as act, pytest.raises(NotFound):
        ask_standing(act, person_id=mira, at=act.now, purpose=PURPOSE)
    for who in ("tor", "ada", "petra", "mira"):
        with small.acting(who) as act, pytest.raises(NotFound):
            ask_standing(act, person_id=mira, at=act.now, purpose=PURPOSE)
        with small.acting(who) as act, pytest.raises(NotAllowed):
            people_to_ask(act)
    with small.acting("leif") as act:
        names = [one.name for one in people_to_ask(act)]
        assert "Mira" in names
        assert "Petra" not in names
        assert "Leif" not in names
        with pytest.raises(NotFound):
            ask_standing(act, person_id="0" * 32, at=act.now, purpose=PURPOSE)


def test_a_mover_is_asked_about_by_the_lead_of_then_for_then_and_by_the_lead_of_now(
    signed_off: SmallService, library: Library
) -> None:
    small, mira = signed_off, signed_off.person_id("mira")
    with small.acting("ada", at=small.now + 10 * DAY) as act:
        move_person(act, person_id=mira, base_id=small.other_base_id)
    assert asked(small, library, HOUR, late=20 * DAY).base_name == "Cairnlow"
    with small.acting("leif", at=small.now + 20 * DAY) as act, pytest.raises(NotFound):
        ask_standing(act, person_id=mira, at=small.now + 15 * DAY, purpose=PURPOSE)
    assert asked(small, library, 15 * DAY, by="olaf", late=20 * DAY).base_name == "Skerrandy"


@pytest.mark.parametrize("purpose", ["", "   ", "too short", "x" * 501])
def test_a_purpose_is_stated(signed_off: SmallService, library: Library, purpose: str) -> None:
    with signed_off.acting("leif") as act, pytest.raises(BadInput) as refused:
        ask_standing(act, person_id=signed_off.person_id("mira"), at=act.now, purpose=purpose)
    assert refused.value.field == "purpose"
    with signed_off.acting("leif") as act, pytest.raises(BadInput, match="still to come"):
        ask_standing(act, person_id=signed_off.person_id("mira"), at=act.now + HOUR, purpose=PURPOSE)
    with signed_off.acting("mira") as act:
        assert looks_at_me(act) == ()


def test_every_look_is_written_down_and_its_person_reads_it(signed_off: SmallService, library: Library) -> None:
    small = signed_off
    page = asked(small, library, HOUR, late=2 * DAY)
    with small.acting("mira", at=small.now + 3 * DAY) as act:
        (look,) = looks_at_me(act)
    assert (look.who, look.kind, look.purpose) == ("Leif", LookKind.STANDING_THEN, PURPOSE)
    assert (look.looked_at, look.asked_about) == (small.now + 2 * DAY, small.now + HOUR)
    with small.database.reading() as session:
        row = session.scalars(select(AuditRow).order_by(AuditRow.seq.desc())).first()
    assert row is not None
    assert (row.event, row.object_id) == ("record_seen", page.look_id)
    assert PURPOSE.encode() not in row.body
    with small.acting("tor") as act:
        assert looks_at_me(act) == ()


def test_an_answer_is_for_its_asker_and_for_twelve_hours(signed_off: SmallService, library: Library) -> None:
    small = signed_off
    with small.acting("leif") as act:
        look_id = ask_standing(act, person_id=small.person_id("mira"), at=act.now, purpose=PURPOSE)
    for who, later in (("ines", HOUR), ("leif", 13 * HOUR)):
        with small.acting(who, at=small.now + later) as act, pytest.raises(NotFound):
            standing_then(act, library, look_id)
    with small.acting("leif", at=small.now + 12 * HOUR) as act:
        assert standing_then(act, library, look_id).purpose == PURPOSE


def test_a_look_cannot_be_changed_or_taken_away(signed_off: SmallService, library: Library) -> None:
    asked(signed_off, library, HOUR)
    for change in (update(RecordLook).values(purpose="another"), RecordLook.__table__.delete()):
        with pytest.raises(Exception, match="append-only"), signed_off.database.writing() as session:
            session.connection().execute(change)


def test_the_same_page_opened_again_within_half_an_hour_is_one_look(signed_off: SmallService) -> None:
    small, mira = signed_off, signed_off.person_id("mira")
    for minutes in (0, 10, 29, 31):
        with small.acting("ines", at=small.now + timedelta(minutes=minutes)) as act:
            note_page(act, mira, LookKind.DECISION_DESK)
    with small.acting("mira") as act:
        note_page(act, mira, LookKind.DECISION_DESK)
        note_page(act, "0" * 32, LookKind.DECISION_DESK)
        assert [one.looked_at - small.now for one in looks_at_me(act)] == [timedelta(minutes=31), timedelta()]


def test_a_decision_turned_to_not_yet_is_told_as_of_its_minute(signed_off: SmallService, library: Library) -> None:
    show(signed_off, "C8", assessor="una", outcome=EvidenceOutcome.NOT_SHOWN, days_ago=0)
    decide(signed_off, library, competencies=("C8",), outcome=Outcome.NOT_YET, after=2 * HOUR)
    assert asked(signed_off, library, HOUR).report.standing is PersonStanding.CURRENT
    assert asked(signed_off, library, 3 * HOUR).report.standing is PersonStanding.NOT_YET_SIGNED_OFF
