"""What is done about a shift with nobody current: the ways in their order, recorded for good and told to the crew."""

from __future__ import annotations

from datetime import timedelta

import pytest
from sqlalchemy import delete, select
from sqlalchemy.exc import DatabaseError

from quizapp.assessment.shift_answers import AnswerKind
from quizapp.assessment.shift_cover import CoverState, Span
from quizapp.content.library import Library
from quizapp.errors import BadInput, Conflict, NotAllowed, NotFound
from quizapp.services.answer_shift import accept_shift, bring_assessor, restrict_device, swap_member, take_back
from quizapp.services.shift_covers import ShiftSeen, shift_seen
from quizapp.services.ways_out import Ways, ways_out
from quizapp.store.audit import AuditRow
from quizapp.store.challenges import Message
from quizapp.store.shifts import ShiftAnswer
from tests.counted_statements import counted_statements
from tests.crewing import FRIDAY, NIGHT, entered, signed_off
from tests.many_people import add_clinicians
from tests.small_service import SmallService

REASON = "No flight is planned; the road crew of the next base covers."


@pytest.fixture
def hole(small: SmallService, library: Library) -> str:
    """A Friday night with Una on it, who is not signed off; Mira and Tor are."""
    signed_off(small, library, "mira", "tor")
    return entered(small, library, "una")


def seen(small: SmallService, library: Library, shift: str) -> ShiftSeen:
    with small.acting("leif") as act:
        return shift_seen(act, library, shift)


def ways(small: SmallService, library: Library, shift: str) -> Ways:
    with small.acting("leif") as act:
        return ways_out(act, library, shift_seen(act, library, shift))


def told(small: SmallService) -> dict[str, list[str]]:
    """Who was told about the shift, leaving the alert to the lead aside."""
    found: dict[str, list[str]] = {}
    with small.database.reading() as session:
        for one in session.scalars(select(Message).where(Message.about == "shift")):
            found.setdefault(bytes.fromhex(one.person_id).decode().rstrip("\0"), []).append(one.text)
    return found


def test_the_ways_come_with_names(small: SmallService, library: Library, hole: str) -> None:
    entered(
        small, library, "tor", crew="Boat", span=Span(NIGHT.end + timedelta(hours=3), NIGHT.end + timedelta(hours=9))
    )
    found = ways(small, library, hole)
    assert [(one.name, one.is_rested) for one in found.substitutes] == [("Mira", True), ("Tor", False)]
    assert [(one.name, one.competencies, one.procedures, one.minutes) for one in found.needs] == [
        ("Una", ("C5", "C8"), ("P06",), 12)
    ]
    assert found.needs[0].why_not == "a sitting is needed as well, for C5"
    assert [one.name for one in found.assessors] == ["Tor"]
    assert [words for _, words in found.authorities] == [
        "Cleo, clinical lead", "Ines, educator", "Leif, team lead",
    ]  # fmt: skip


def test_who_is_on_another_crew_at_that_time_is_no_way_out(small: SmallService, library: Library, hole: str) -> None:
    entered(small, library, "mira", crew="Boat", span=Span(FRIDAY + timedelta(hours=11), FRIDAY + timedelta(hours=20)))
    assert [one.name for one in ways(small, library, hole).substitutes] == ["Tor"]


def test_a_swap_covers_and_is_told(small: SmallService, library: Library, hole: str) -> None:
    una, mira = small.person_id("una"), small.person_id("mira")
    with small.acting("leif") as act:
        swap_member(act, library, hole, out_id=una, in_id=mira, reason="both agreed")
    found = seen(small, library, hole)
    assert (found.state, [one.name for one in found.members]) == (CoverState.THIN, ["Mira"])
    assert [(one.kind, one.person, one.other, one.recorded_by) for one in found.answers] == [
        (AnswerKind.SWAP, "Una", "Mira", "Leif")
    ]
    assert sorted(told(small)) == ["mira", "una"]
    with small.acting("leif") as act, pytest.raises(Conflict, match="not on this crew any more"):
        swap_member(act, library, hole, out_id=una, in_id=mira)


def test_a_swap_takes_nobody_from_another_crew(small: SmallService, library: Library, hole: str) -> None:
    entered(small, library, "mira", crew="Boat")
    with small.acting("leif") as act, pytest.raises(BadInput, match="Mira is on Boat"):
        swap_member(act, library, hole, out_id=small.person_id("una"), in_id=small.person_id("mira"))


def test_an_assessor_who_comes_closes_nothing_by_itself(small: SmallService, library: Library, hole: str) -> None:
    una, tor = small.person_id("una"), small.person_id("tor")
    with small.acting("leif") as act:
        bring_assessor(act, hole, person_id=una, assessor_id=tor, reason="Thursday at 10:00")
    assert seen(small, library, hole).situation.needs_somebody
    assert sorted(told(small)) == ["tor", "una"]
    with small.acting("leif") as act, pytest.raises(BadInput, match="Nobody watches themselves"):
        bring_assessor(act, hole, person_id=una, assessor_id=una, reason="")
    with small.acting("leif") as act, pytest.raises(BadInput, match="assessor for this base"):
        bring_assessor(act, hole, person_id=una, assessor_id=small.person_id("mira"), reason="")


def test_a_restricted_device_has_an_authority_and_an_end(small: SmallService, library: Library, hole: str) -> None:
    cleo = small.person_id("cleo")
    until = FRIDAY + timedelta(hours=5)
    with small.acting("leif") as act:
        answer = restrict_device(act, hole, authority_id=cleo, ends_at=until, reason=REASON)
    found = seen(small, library, hole)
    assert found.situation.open_gaps == (Span(until, NIGHT.end),)
    assert (found.answers[0].authority, found.answers[0].ends_at) == ("Cleo", until)
    assert "The device is not used on Helicopter, 6 March 2026" in told(small)["una"][0]
    with small.acting("leif") as act:
        take_back(act, answer, reason="The pack was changed after all.")
    found = seen(small, library, hole)
    assert (found.situation.open_gaps, found.answers[0].taken_back_by) == ((NIGHT,), "Leif")
    with small.acting("leif") as act, pytest.raises(Conflict, match="taken back already"):
        take_back(act, answer, reason="once more for good measure")


def test_an_acceptance_is_signed_for_by_name(small: SmallService, library: Library, hole: str) -> None:
    with small.acting("leif") as act:
        accept_shift(act, hole, authority_id=small.person_id("ines"), reason=REASON)
    found = seen(small, library, hole)
    assert (found.situation.needs_somebody, found.situation.is_answered) == (False, True)
    assert REASON in told(small)["una"][0]
    with small.database.reading() as session:
        assert "shift_answered" in list(session.scalars(select(AuditRow.event)))


@pytest.mark.parametrize("authority", ["mira", "tor", "olaf", "ada"])
def test_who_cannot_say_yes(small_sqlite: SmallService, library: Library, authority: str) -> None:
    small = small_sqlite
    signed_off(small, library)
    shift = entered(small, library, "una")
    with small.acting("leif") as act, pytest.raises(BadInput, match="for this base today"):
        accept_shift(act, shift, authority_id=small.person_id(authority), reason=REASON)


def test_what_is_refused(small_sqlite: SmallService, library: Library) -> None:
    small = small_sqlite
    signed_off(small, library)
    shift = entered(small, library, "una")
    cleo = small.person_id("cleo")
    for ends_at in (FRIDAY, NIGHT.end + timedelta(days=15)):
        with small.acting("leif") as act, pytest.raises(BadInput) as refused:
            restrict_device(act, shift, authority_id=cleo, ends_at=ends_at, reason=REASON)
        assert refused.value.field == "ends_at"
    with small.acting("leif") as act, pytest.raises(BadInput, match="reason in a sentence"):
        accept_shift(act, shift, authority_id=cleo, reason="short")
    for name in ("ines", "una", "olaf"):
        with small.acting(name) as act, pytest.raises(NotAllowed):
            accept_shift(act, shift, authority_id=cleo, reason=REASON)
    with small.acting("leif", at=NIGHT.end) as act, pytest.raises(Conflict, match="is over"):
        accept_shift(act, shift, authority_id=cleo, reason=REASON)
    with small.acting("leif") as act, pytest.raises(NotFound):
        take_back(act, "0" * 32, reason=REASON)


def test_what_was_recorded_stands(small: SmallService, library: Library, hole: str) -> None:
    with small.acting("leif") as act:
        accept_shift(act, hole, authority_id=small.person_id("ines"), reason=REASON)
    with pytest.raises(DatabaseError, match="append-only"), small.database.writing() as session:
        session.execute(delete(ShiftAnswer).where(ShiftAnswer.shift_id == hole))


def test_many_people_take_no_more_statements(small: SmallService, library: Library, hole: str) -> None:
    found = []
    for start, number in ((0, 3), (3, 97)):
        add_clinicians(small, number, start=start)
        with counted_statements(small.database) as statements:
            ways(small, library, hole)
        found.append(len(statements))
    assert found[0] == found[1]
