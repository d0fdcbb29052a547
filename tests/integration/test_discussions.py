"""A structured discussion: written down, shown then signed, evidence afterwards; never with oneself, never changed."""

from __future__ import annotations

from dataclasses import replace

import pytest
from sqlalchemy import select
from sqlalchemy.exc import IntegrityError

from quizapp.assessment.sign_off_record import EvidenceKind, EvidenceOutcome
from quizapp.content.library import Library
from quizapp.errors import BadInput, Conflict, NotAllowed, NotFound
from quizapp.services.decision_desk import desk
from quizapp.services.discussions import (
    DiscussionKept,
    Said,
    discard_discussion,
    discussion_sheet,
    my_discussions,
    open_discussion,
    people_to_discuss_with,
)
from quizapp.services.sign_discussion import prepare_discussion, sign_discussion
from quizapp.services.verify_signature import verify_signature
from quizapp.store.audit import AuditRow, Signature
from quizapp.store.discussions import Discussion
from quizapp.store.evidence import Evidence
from tests.deciding import decide, requirement, show, with_standard
from tests.discussing import (
    accept_guides,
    everybody_is_current,
    held,
    kept,
    nobody_is_current,
    opened,
    signed,
    written,
)
from tests.small_service import PASSWORD, SmallService


@pytest.fixture
def ready(small: SmallService, library: Library) -> SmallService:
    """The guides are accepted, and TV-A revision 1 is in the packs."""
    accept_guides(small, library)
    return with_standard(small, library)


def evidence(small: SmallService) -> list[Evidence]:
    with small.database.reading() as session:
        return list(session.scalars(select(Evidence)))


def test_signed_it_becomes_evidence_with_a_signature(ready: SmallService, library: Library) -> None:
    discussion_id = held(ready, library)
    (row,) = evidence(ready)
    assert (row.kind, row.competency, row.outcome) == (EvidenceKind.DISCUSSION, "C10", EvidenceOutcome.SHOWN)
    assert (row.source_id, row.counts_for_sign_off, row.profile_code) == (discussion_id, True, None)
    assert row.assessor_id == ready.person_id("tor")
    with ready.database.reading() as session:
        (signature,) = session.scalars(select(Signature))
        events = list(session.scalars(select(AuditRow.event).order_by(AuditRow.seq)))
    assert (signature.record_id, signature.meaning, signature.role) == (discussion_id, "discussed", "assessor")
    assert b"said to a" in signature.shown
    assert events[-3:] == ["discussion_opened", "discussion_kept", "discussion_signed"]


def test_the_signature_is_checked_against_what_is_stored(ready: SmallService, library: Library) -> None:
    discussion_id = held(ready, library)

    def failing() -> list[str]:
        with ready.database.reading() as session:
            (signature,) = session.scalars(select(Signature))
            return [step.found for step in verify_signature(session, signature).steps if not step.fits]

    assert failing() == []
    with ready.database.writing() as session:
        row = session.get_one(Discussion, discussion_id)
        row.answers = {**row.answers, "c": {"words": "something else", "mark": 2}}
    assert "the discussion: the answer to c is not what was shown" in failing()[0]


def test_where_the_standard_asks_for_it_it_carries_the_sign_off(small: SmallService, library: Library) -> None:
    """Held by an educator alone, it is for another educator to decide."""
    accept_guides(small, library)
    wanted = requirement("C10", knowledge=True)
    with_standard(small, library, replace(wanted, needs_discussion=True))
    show(small, "C10")
    with pytest.raises(BadInput, match="still missing a structured discussion"):
        decide(small, library, competencies=("C10",))
    held(small, library, by="ines")
    with pytest.raises(NotAllowed, match="only assessor"):
        decide(small, library, competencies=("C10",))
    decide(small, library, by="cleo", competencies=("C10",))


def test_one_about_the_device_names_the_revision_in_service(ready: SmallService, library: Library) -> None:
    held(ready, library, code="D01")
    (row,) = evidence(ready)
    assert (row.competency, row.profile_code, row.profile_revision) == ("C1", "TV-A", 1)


def test_the_desk_shows_it_as_evidence(ready: SmallService, library: Library) -> None:
    held(ready, library)
    with ready.acting("ines") as act:
        page = desk(act, library, ready.person_id("mira"))
    assert [row.summary for row in page.evidence.values()] == [
        "D02 Moving, flying, and handing over, discussed: 12 of 12 points, shown."
    ]


@pytest.mark.parametrize(
    ("marks", "outcome"), [("122222", EvidenceOutcome.NOT_SHOWN), ("22222-", EvidenceOutcome.INCOMPLETE)]
)
def test_what_speaks_against_is_evidence_too(
    ready: SmallService, library: Library, marks: str, outcome: EvidenceOutcome
) -> None:
    held(ready, library, marks=marks)
    assert [row.outcome for row in evidence(ready)] == [outcome]


def test_a_guide_nobody_accepted_serves_practice(small: SmallService, library: Library) -> None:
    with_standard(small, library)
    held(small, library)
    assert [row.counts_for_sign_off for row in evidence(small)] == [False]


def test_nobody_holds_one_with_themselves(ready: SmallService, library: Library) -> None:
    with ready.acting("tor") as act, pytest.raises(NotAllowed, match="themselves"):
        open_discussion(act, library, person_id=act.actor.person_id, code="D02")
    discussion_id = opened(ready, library)
    with pytest.raises(IntegrityError), ready.database.writing() as session:
        session.get_one(Discussion, discussion_id).person_id = ready.person_id("tor")


def test_only_assessors_and_educators_of_the_base_hold_one(ready: SmallService, library: Library) -> None:
    for name in ("mira", "leif", "ada", "cleo"):
        if name == "cleo":
            opened(ready, library, by=name)
            continue
        with ready.acting(name) as act, pytest.raises((NotFound, NotAllowed)):
            open_discussion(act, library, person_id=ready.person_id("una"), code="D02")
    with ready.acting("tor") as act:
        assert {"petra", "tor"} & {one.name.lower() for one in people_to_discuss_with(act)} == set()
        with pytest.raises(NotFound):
            open_discussion(act, library, person_id=ready.person_id("petra"), code="D02")


def test_an_assessor_who_is_not_current_may_write_and_not_sign(ready: SmallService, library: Library) -> None:
    discussion_id = opened(ready, library)
    written(ready, library, discussion_id, kept())
    with ready.acting("tor") as act, pytest.raises(NotAllowed, match="not current"):
        prepare_discussion(act, discussion_id=discussion_id, is_current=nobody_is_current)
    assert evidence(ready) == []


def test_an_educator_needs_no_hands_on_currency(ready: SmallService, library: Library) -> None:
    discussion_id = opened(ready, library, by="ines")
    written(ready, library, discussion_id, kept(), by="ines")
    with ready.acting("ines") as act:
        intent_id = prepare_discussion(act, discussion_id=discussion_id, is_current=nobody_is_current)
        sign_discussion(act, intent_id=intent_id, password=PASSWORD, is_current=nobody_is_current)
    assert len(evidence(ready)) == 1


def test_a_wrong_password_signs_nothing(ready: SmallService, library: Library) -> None:
    discussion_id = opened(ready, library)
    written(ready, library, discussion_id, kept())
    with pytest.raises(BadInput, match="not your password"):
        signed(ready, discussion_id, password="another one altogether")
    assert evidence(ready) == []


def test_what_changed_since_it_was_shown_is_not_signed(ready: SmallService, library: Library) -> None:
    discussion_id = opened(ready, library)
    written(ready, library, discussion_id, kept())
    with ready.acting("tor") as act:
        intent_id = prepare_discussion(act, discussion_id=discussion_id, is_current=everybody_is_current)
    written(ready, library, discussion_id, kept("222221"))
    with ready.acting("tor") as act, pytest.raises(Conflict, match="changed since"):
        sign_discussion(act, intent_id=intent_id, password=PASSWORD, is_current=everybody_is_current)


def test_signed_it_stands(ready: SmallService, library: Library) -> None:
    discussion_id = held(ready, library)
    with pytest.raises(Conflict, match="stands as it is"):
        written(ready, library, discussion_id, kept("000000"))
    with ready.acting("tor") as act, pytest.raises(Conflict):
        discard_discussion(act, discussion_id=discussion_id, reason="opened with the wrong person")


@pytest.mark.parametrize(
    ("said", "field"),
    [(Said(words="", mark=kept().answers["a"].mark), "said_a"), (Said(words="something"), "mark_a")],
)
def test_words_and_mark_go_together(ready: SmallService, library: Library, said: Said, field: str) -> None:
    discussion_id = opened(ready, library)
    written(ready, library, discussion_id, DiscussionKept(answers={"a": said}))
    with ready.acting("tor") as act, pytest.raises(BadInput) as refusal:
        prepare_discussion(act, discussion_id=discussion_id, is_current=everybody_is_current)
    assert refusal.value.field == field


def test_nothing_written_is_nothing_to_sign(ready: SmallService, library: Library) -> None:
    discussion_id = opened(ready, library)
    with ready.acting("tor") as act, pytest.raises(BadInput, match="nothing to sign"):
        prepare_discussion(act, discussion_id=discussion_id, is_current=everybody_is_current)


def test_discarded_it_is_kept_and_counts_for_nothing(ready: SmallService, library: Library) -> None:
    discussion_id = opened(ready, library)
    with ready.acting("tor") as act:
        with pytest.raises(BadInput, match="in a sentence"):
            discard_discussion(act, discussion_id=discussion_id, reason="oops")
        discard_discussion(act, discussion_id=discussion_id, reason="opened with the wrong person")
    with ready.acting("tor") as act:
        assert my_discussions(act) == ()
        assert discussion_sheet(act, discussion_id).row.discard_reason == "opened with the wrong person"
    with pytest.raises(Conflict, match="was discarded"):
        written(ready, library, discussion_id, kept())


def test_who_may_see_it(ready: SmallService, library: Library) -> None:
    discussion_id = opened(ready, library)
    written(ready, library, discussion_id, kept())

    def seen_by(name: str) -> bool:
        with ready.acting(name) as act:
            try:
                discussion_sheet(act, discussion_id)
            except NotFound:
                return False
            return True

    assert [name for name in ("mira", "tor", "una", "ines", "leif", "ada", "petra") if seen_by(name)] == ["tor"]
    signed(ready, discussion_id)
    after = [name for name in ("mira", "tor", "una", "ines", "leif", "ada", "petra") if seen_by(name)]
    assert after == ["mira", "tor", "ines"]


def test_only_errors_of_the_competency_are_kept(ready: SmallService, library: Library) -> None:
    discussion_id = opened(ready, library)
    known = library.competencies["C10"].critical_errors[0]
    written(ready, library, discussion_id, kept(errors=[known, "made up"]))
    with ready.acting("tor") as act:
        sheet = discussion_sheet(act, discussion_id)
    assert sheet.kept.critical_errors == (known,)
    assert sheet.result.outcome is EvidenceOutcome.NOT_SHOWN


def test_too_long_words_are_named(ready: SmallService, library: Library) -> None:
    discussion_id = opened(ready, library)
    with pytest.raises(BadInput, match="2000") as refusal:
        written(ready, library, discussion_id, DiscussionKept(answers={"b": Said(words="x" * 2001)}))
    assert refusal.value.field == "said_b"
