"""Evidence taken away: what it states, what an outsider is told of it later, slowed guesses, looks and revoking."""

from __future__ import annotations

import hashlib
import io
import json
import zipfile
from contextlib import suppress
from datetime import timedelta

import pytest
from sqlalchemy import select

from quizapp.assessment.challenges import ChallengeOutcome
from quizapp.assessment.check_codes import code_from
from quizapp.assessment.standing import Outcome
from quizapp.content.library import Library
from quizapp.errors import BadInput, Conflict, NotFound, TooSoon
from quizapp.services.archive_files import LARGEST_FILE, archive_of, files_in
from quizapp.services.check_take_away import Today, Verdict, check_file
from quizapp.services.my_evidence import my_evidence
from quizapp.services.take_away import own_take_away, own_take_aways, revoke_take_away
from quizapp.store.audit import AuditRow
from quizapp.store.take_aways import TakeAwayLook
from tests.challenging import answered, raised, sat
from tests.deciding import decide, show, with_standard
from tests.knowledge_forms import composed
from tests.observing import set_standing
from tests.small_service import SmallService
from tests.taking_away import checked, outside, signed_off, taken

DAY = timedelta(days=1)


@pytest.fixture
def mira(small: SmallService, library: Library) -> SmallService:
    signed_off(small, library)
    return small


def test_it_states_what_counts_from_whom_until_when_on_which_revision(mira: SmallService, library: Library) -> None:
    found = taken(mira, library)
    stated = {one["code"]: one for one in found.statement["standings"]}
    assert stated["C5"] == {
        "code": "C5",
        "title": library.competencies["C5"].title,
        "device": "TV-A revision 1",
        "standing": "current",
        "last_valid_day": "2027-03-02",
    }
    c8 = next(one for one in found.statement["competencies"] if one["code"] == "C8")
    assert [(row["decided_by"], row["outcome"], row["last_valid_day"]) for row in c8["decisions"]] == [
        ("Ines", "competent", "2027-03-02")
    ]
    assert [(row["from"], row["shows"], row["device"], row["usable_until"]) for row in c8["evidence"]] == [
        ("Tor", "shown", "TV-A revision 1", "2027-03-01")
    ]
    assert found.statement["person"]["staff_number"] == "T-mira"
    assert hashlib.sha256(found.statement_text.encode()).hexdigest() == found.statement_hash


def test_its_hash_stands_on_the_audit_chain(mira: SmallService, library: Library) -> None:
    found = taken(mira, library)
    with mira.database.reading() as session:
        row = session.get_one(AuditRow, found.audit_seq)
    assert row.hash.hex() == found.audit_hash
    assert found.statement_hash in row.body.decode()
    assert "Mira" not in row.body.decode()


def test_an_outsider_is_told_that_it_holds_and_little_else(mira: SmallService, library: Library) -> None:
    found = taken(mira, library)
    answer = checked(mira, library, f" {found.line.code.lower().replace('-', ' ')} ")
    assert answer.verdict is Verdict.STANDS
    assert answer.person == "Mira"
    assert {line.today for line in answer.lines} == {Today.AS_STATED}
    told = str(answer)
    for kept_back in ("T-mira", "Ines", "Tor", "All parts were seen"):
        assert kept_back not in told


def test_a_slip_of_the_pen_looks_nothing_up(mira: SmallService, library: Library) -> None:
    code = taken(mira, library).line.code
    other = "2" if code[0] != "2" else "3"
    for text in (other + code[1:], "", "nonsense", code[:-1]):
        with pytest.raises(BadInput, match="no whole code"):
            checked(mira, library, text)


def test_after_the_last_valid_day_it_has_lapsed(mira: SmallService, library: Library) -> None:
    code = taken(mira, library).line.code
    last_hour = checked(mira, library, code, after=365 * DAY, address="a")
    assert last_hour.verdict is Verdict.STANDS, "the last valid day is included"
    later = checked(mira, library, code, after=366 * DAY, address="b")
    assert later.verdict is Verdict.OLDER
    assert {line.today for line in later.lines} == {Today.LAPSED}


def test_a_later_decision_has_taken_its_place(mira: SmallService, library: Library) -> None:
    code = taken(mira, library).line.code
    later = mira.now
    mira.now = later + 340 * DAY
    show(mira, "C5", days_ago=0)
    decide(mira, library, competencies=("C5",))
    mira.now = later
    answer = checked(mira, library, code, after=341 * DAY)
    assert {line.code: line.today for line in answer.lines} == {"C5": Today.LATER, "C8": Today.AS_STATED}
    assert answer.verdict is Verdict.OLDER


def test_a_suspension_says_only_that_it_no_longer_stands(mira: SmallService, library: Library) -> None:
    code = taken(mira, library).line.code
    set_standing(mira, "mira", "suspended")
    answer = checked(mira, library, code)
    assert {line.today for line in answer.lines} == {Today.GONE}
    assert "suspen" not in str([line.today.value for line in answer.lines])


def test_what_was_not_in_date_is_said_so(small_sqlite: SmallService, library: Library) -> None:
    with_standard(small_sqlite, library)
    show(small_sqlite, "C5")
    decide(small_sqlite, library, competencies=("C5",), outcome=Outcome.NOT_YET)
    answer = checked(small_sqlite, library, taken(small_sqlite, library).line.code)
    assert {line.today for line in answer.lines} == {Today.NOT_THEN}


def test_a_newer_one_is_said(mira: SmallService, library: Library) -> None:
    first = taken(mira, library)
    second = taken(mira, library, after=2 * DAY)
    answer = checked(mira, library, first.line.code, after=3 * DAY)
    assert (answer.verdict, answer.newer_made_at) == (Verdict.OLDER, second.line.made_at)
    assert checked(mira, library, second.line.code, after=3 * DAY).verdict is Verdict.STANDS


def test_revoked_it_says_nothing_else(mira: SmallService, library: Library) -> None:
    found = taken(mira, library)
    for name in ("tor", "ines"):
        with mira.acting(name) as act, pytest.raises(NotFound):
            revoke_take_away(act, found.line.id)
    with mira.acting("mira") as act:
        revoke_take_away(act, found.line.id)
    with mira.acting("mira") as act, pytest.raises(Conflict):
        revoke_take_away(act, found.line.id)
    answer = checked(mira, library, found.line.code)
    assert (answer.verdict, answer.person, answer.lines) == (Verdict.REVOKED, "", ())


def test_each_look_is_kept_for_the_person_alone(mira: SmallService, library: Library) -> None:
    found = taken(mira, library)
    checked(mira, library, found.line.code)
    with outside(mira, mira.now + 2 * DAY) as act:
        check_file(act, library, found.statement_text.encode(), address="two")
    with mira.acting("mira", at=mira.now + 3 * DAY) as act:
        looks = own_take_away(act, found.line.id).looks
        (line,) = own_take_aways(act)
    assert [(one.how, one.told) for one in looks] == [("file", "stands"), ("code", "stands")]
    assert (line.look_count, line.last_look_at) == (2, mira.now + 2 * DAY)
    with mira.acting("tor") as act, pytest.raises(NotFound):
        own_take_away(act, found.line.id)


def test_guessing_waits_longer_and_longer_and_nobody_else_waits(mira: SmallService, library: Library) -> None:
    code = taken(mira, library).line.code
    guesses = (code_from(f"guess {number}") for number in range(10_000))
    at = timedelta(hours=1)
    told = []
    for number in range(60):
        with suppress(TooSoon):
            told.append(checked(mira, library, next(guesses), after=at + number * timedelta(seconds=1)).verdict)
    assert set(told) == {Verdict.UNKNOWN}
    assert len(told) <= 11, "five at once, then 1, 2, 4, 8 and so on seconds within one minute"
    with pytest.raises(TooSoon):
        checked(mira, library, code, after=at + timedelta(minutes=1))
    assert checked(mira, library, code, after=at, address="two").verdict is Verdict.STANDS


def test_one_code_is_not_looked_at_without_end(mira: SmallService, library: Library) -> None:
    code = taken(mira, library).line.code
    for number in range(30):
        checked(mira, library, code, address=f"from {number}")
    with pytest.raises(TooSoon):
        checked(mira, library, code, address="another")
    with mira.database.reading() as session:
        assert len(session.scalars(select(TakeAwayLook)).all()) == 30


def test_a_changed_file_is_not_known(mira: SmallService, library: Library) -> None:
    found = taken(mira, library)
    changed = found.statement_text.replace("2027-03-02", "2029-03-02").encode()
    with outside(mira, mira.now + DAY) as act:
        assert check_file(act, library, changed, address="one").verdict is Verdict.UNKNOWN


@pytest.mark.parametrize("content", [b"", b"hello", b"PK\x03\x04 no archive", b"[1]", b"\x00" * 100])
def test_what_is_no_evidence_is_said_so(small_sqlite: SmallService, library: Library, content: bytes) -> None:
    with outside(small_sqlite, small_sqlite.now) as act, pytest.raises(BadInput, match="cannot be read as evidence"):
        check_file(act, library, content, address="one")


def test_an_archive_that_swells_is_not_unpacked() -> None:
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("evidence.json", b"0" * (20 * LARGEST_FILE))
    assert len(made.getvalue()) < 100_000
    with pytest.raises(BadInput):
        files_in(made.getvalue())
    many = archive_of({f"file-{number}": b"" for number in range(21)} | {"evidence.json": b"{}"})
    with pytest.raises(BadInput):
        files_in(many)


def test_corrected_evidence_stands_once(small_sqlite: SmallService, library: Library) -> None:
    small = small_sqlite
    first = sat(small, library, composed(small, library), ["wrong", "right", "right"])
    before = evidence_shown(small, library)
    answered(small, library, raised(small, library, first, 1).id, ChallengeOutcome.VOID)
    after = evidence_shown(small, library)
    assert len(after) == len(before)
    assert after != before


def evidence_shown(small: SmallService, library: Library) -> list[str]:
    with small.acting("mira", at=small.now + DAY) as act:
        return [line.summary for one in my_evidence(act, library) for line in one.evidence]


def test_the_statement_is_plain_json_without_numbers_that_round(mira: SmallService, library: Library) -> None:
    text = taken(mira, library).statement_text
    assert json.dumps(json.loads(text), sort_keys=True, ensure_ascii=False, separators=(",", ":")) == text
