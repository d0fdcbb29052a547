"""Sign-offs given elsewhere: two names, dates kept, never one's own, never over what was decided here."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from small_service import PASSWORD, SmallService
from sqlalchemy import func, select

from quizapp.content.library import Library
from quizapp.errors import BadInput, ContentFaults, NotAllowed, NotFound
from quizapp.services.import_drafts import DraftKind, keep_draft
from quizapp.services.import_sign_offs import SignOffPlan, plan_sign_offs, second_person
from quizapp.services.people import leave_person
from quizapp.services.person_standing import standing_of
from quizapp.services.recognise_sign_offs import sign_as_first, sign_as_second, to_sign_first, to_sign_second
from quizapp.store.audit import AuditRow, Signature
from quizapp.store.decisions import Decision, StandingEvent
from quizapp.store.evidence import Evidence

HEADER = "staff_number,competency,signed_on,last_valid_day,profile,revision,recognised_reason\n"
ROW = "{who},C5,{on},{until},TV-A,1,Signed in the paper log of last year\n"


def row(who: str = "T-mira", on: str = "2025-06-01", until: str = "2026-06-01") -> str:
    return ROW.format(who=who, on=on, until=until)


def take_over(
    small: SmallService, library: Library, *rows: str, by: str = "ada", second: str = "bea", dry_run: bool = False
) -> SignOffPlan:
    content = (HEADER + "".join(rows)).encode()
    if dry_run:
        with small.acting(by) as act:
            return plan_sign_offs(act, library, content=content, path="s.csv", second_by=small.person_id(second))
    return recognised(small, library, kept(small, content, by=by, second=second), by=by, second=second)


def kept(small: SmallService, content: bytes, *, by: str = "ada", second: str = "bea") -> str:
    with small.acting(by) as act:
        return keep_draft(
            act, DraftKind.SIGN_OFFS, file_name="s.csv", content=content, second_by=small.person_id(second)
        )  # fmt: skip


def first_signs(small: SmallService, library: Library, draft_id: str, *, by: str = "ada") -> None:
    with small.acting(by) as act:
        shown = to_sign_first(act, library, draft_id)
        sign_as_first(act, library, draft_id, shown_hash=shown.shown_hash, password=PASSWORD)


def recognised(
    small: SmallService, library: Library, draft_id: str, *, by: str = "ada", second: str = "bea"
) -> SignOffPlan:
    """Both people see the list and sign it, one after the other."""
    first_signs(small, library, draft_id, by=by)
    with small.acting(second) as act:
        shown = to_sign_second(act, library, draft_id)
        return sign_as_second(act, library, draft_id, shown_hash=shown.shown_hash, password=PASSWORD)


def refusals(small: SmallService, library: Library, *rows: str, by: str = "ada", second: str = "bea") -> list[str]:
    plan = take_over(small, library, *rows, by=by, second=second, dry_run=True)
    with pytest.raises(ContentFaults):
        take_over(small, library, *rows, by=by, second=second)
    with small.database.reading() as session:
        assert not session.scalar(select(func.count()).select_from(Evidence))
    return [fault.message for fault in plan.errors]


def decided(small: SmallService, **changed: object) -> None:
    """Store a decision on mira that was taken here."""
    values: dict[str, object] = {
        "id": "7" * 32, "person_id": small.person_id("mira"), "base_id": small.base_id, "competency": "C5",
        "outcome": "not_yet", "origin": "decided_here", "reason": "test", "valid_from": date(2024, 1, 1),
        "profile_code": "TV-A", "profile_revision": 1, "evidence_ids": [],
        "decided_by": small.person_id("ines"), "decided_at": small.now - timedelta(days=400),
    }  # fmt: skip
    with small.database.writing() as session:
        session.add(Decision(**{**values, **changed}))


def test_it_becomes_a_recognised_decision_with_its_dates_and_two_names(small: SmallService, library: Library) -> None:
    plan = take_over(small, library, row())
    assert (len(plan.new), plan.same_count) == (1, 0)
    with small.database.reading() as session:
        decision = session.scalars(select(Decision)).one()
        evidence = session.scalars(select(Evidence)).one()
        audit = session.scalars(select(AuditRow).where(AuditRow.object_id == decision.id)).one()
        signers = [session.get_one(Signature, one) for one in (decision.signature_id, decision.second_signature_id)]
    assert (decision.origin, decision.outcome) == ("recognised", "competent")
    assert (decision.valid_from, decision.last_valid_day) == (date(2025, 6, 1), date(2026, 6, 1))
    assert (decision.decided_by, decision.second_by) == (small.person_id("ada"), small.person_id("bea"))
    assert [(one.printed_name, one.meaning) for one in signers] == [("Ada", "recognises"), ("Bea", "recognises")]
    assert audit.actor_id == small.person_id("bea")
    assert decision.evidence_ids == [evidence.id]
    assert (evidence.kind, evidence.person_id) == ("recognised", small.person_id("mira"))
    assert evidence.happened_at.date() == date(2025, 6, 1)
    assert audit.event == "evidence_recognised"


def test_a_recognised_sign_off_counts_until_its_last_valid_day(small: SmallService, library: Library) -> None:
    take_over(small, library, row())
    with small.acting("ines") as act:
        found = standing_of(act, library, small.person_id("mira"))
    assert [(one.competency, one.last_valid_day) for one in found.record.decisions] == [("C5", date(2026, 6, 1))]


def test_a_dry_run_changes_nothing_and_the_same_file_twice_changes_nothing(
    small: SmallService, library: Library
) -> None:
    assert len(take_over(small, library, row(), dry_run=True).new) == 1
    take_over(small, library, row())
    again = take_over(small, library, row())
    assert (len(again.new), again.same_count) == (0, 1)
    with small.database.reading() as session:
        assert session.scalar(select(func.count()).select_from(Decision)) == 1


def test_nobody_recognises_their_own_nor_stands_second_for_it(small_sqlite: SmallService, library: Library) -> None:
    assert refusals(small_sqlite, library, row(), row("T-ada")) == [
        "staff_number: nobody recognises a sign-off of their own; another person must take over this row"
    ]
    assert "second person named" in refusals(small_sqlite, library, row("T-bea"))[0]


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (row("T-nobody"), "staff_number: nobody here has T-nobody"),
        (row().replace("C5", "C99"), "competency: there is no competency C99"),
        (row().replace(",1,", ",9,"), "profile: There is no device profile TV-A revision 9"),
        (row(on="2026-03-03", until="2027-03-03"), "signed_on: 2026-03-03 lies in the future"),
    ],
)
def test_a_row_that_fits_nothing_here(small_sqlite: SmallService, library: Library, text: str, words: str) -> None:
    assert [message.startswith(words) for message in refusals(small_sqlite, library, text)] == [True]


def test_what_was_decided_here_stands(small_sqlite: SmallService, library: Library) -> None:
    decided(small_sqlite)
    assert "that decision stands" in refusals(small_sqlite, library, row())[0]


def test_a_voided_recognition_is_not_slipped_in_again(small_sqlite: SmallService, library: Library) -> None:
    decided(small_sqlite, origin="recognised", voided_at=small_sqlite.now)
    assert "was voided here" in refusals(small_sqlite, library, row())[0]


def test_an_older_or_different_sign_off_never_covers_a_recognised_one(small: SmallService, library: Library) -> None:
    take_over(small, library, row())
    for text, words in (
        (row(on="2025-05-01", until="2026-05-01"), "a later sign-off"),
        (row(until="2026-07-01"), "another last valid day"),
    ):
        assert words in take_over(small, library, text, dry_run=True).errors[0].message
    assert len(take_over(small, library, row(on="2026-01-01", until="2027-01-01")).new) == 1


def test_who_is_suspended_or_has_left_is_not_signed_off_by_a_file(small_sqlite: SmallService, library: Library) -> None:
    with small_sqlite.database.writing() as session:
        session.add(
            StandingEvent(
                id="6" * 32, person_id=small_sqlite.person_id("mira"), kind="suspended", from_day=date(2026, 1, 1),
                reason="test", recorded_by=small_sqlite.person_id("ines"), recorded_at=small_sqlite.now,
            )
        )  # fmt: skip
    with small_sqlite.acting("ada") as act:
        leave_person(act, person_id=small_sqlite.person_id("tor"), left_on=date(2026, 3, 1))
    found = refusals(small_sqlite, library, row(), row("T-tor"))
    assert ["suspended" in found[0], "left the service" in found[1]] == [True, True]


def test_an_educator_recognises_only_for_the_own_base(small_sqlite: SmallService, library: Library) -> None:
    found = refusals(small_sqlite, library, row(), row("T-petra"), by="ines", second="ada")
    assert found == ["staff_number: you are no educator for the base of T-petra"]
    assert len(take_over(small_sqlite, library, row(), by="ines", second="ada").new) == 1


@pytest.mark.parametrize("name", ["mira", "tor", "leif"])
def test_others_recognise_nothing(small_sqlite: SmallService, library: Library, name: str) -> None:
    with pytest.raises(NotAllowed):
        take_over(small_sqlite, library, row("T-una"), by=name)


def test_the_second_person_is_somebody_else_who_may_recognise_too(small_sqlite: SmallService, library: Library) -> None:
    with small_sqlite.acting("ada") as act:
        assert second_person(act, sign_in_name=" BEA ") == small_sqlite.person_id("bea")
        assert second_person(act, sign_in_name="ines") == small_sqlite.person_id("ines")
        for name in ("ada", "mira", "leif", "nobody"):
            with pytest.raises(BadInput):
                second_person(act, sign_in_name=name)
    with pytest.raises(NotFound):
        take_over(small_sqlite, library, row(), second="ada")
