"""What is missing for a sign-off, and what may never make up for it."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quizapp.assessment.sign_off import (
    CompetencyReadiness,
    EvidenceItem,
    EvidenceKind,
    EvidenceOutcome,
    PartKind,
    Requirement,
    readiness_to_decide,
)
from quizapp.assessment.standing_record import ProfileRevision

TV_A_1 = ProfileRevision(code="TV-A", revision=1)
TV_A_2 = ProfileRevision(code="TV-A", revision=2)
TODAY = date(2026, 6, 1)
C8 = Requirement(competency="C8", is_critical=True, needs_knowledge=True, procedures=("P06", "P07"))


def item(kind: EvidenceKind, day: int = 1, month: int = 5, **changes: object) -> EvidenceItem:
    fields: dict[str, object] = {
        "reference": f"{kind}-{month}-{day}",
        "competency": "C8",
        "kind": kind,
        "outcome": EvidenceOutcome.SHOWN,
        "happened_at": datetime(2026, month, day, 9, tzinfo=UTC),
        "happened_on": date(2026, month, day),
        "profile": TV_A_2,
        "is_content_accepted": True,
        "questions": 8 if kind is EvidenceKind.SITTING else 0,
    }
    return EvidenceItem(**(fields | changes))  # type: ignore[arg-type]


def sitting(day: int = 1, **changes: object) -> EvidenceItem:
    return item(EvidenceKind.SITTING, day, **changes)


def seen(procedure: str, day: int = 1, assessor: str = "a1", **changes: object) -> EvidenceItem:
    return item(EvidenceKind.OBSERVATION, day, procedure=procedure, assessor_ids=(assessor,), **changes)


ALL = (sitting(), seen("P06"), seen("P07"))


def readiness(*evidence: EvidenceItem, requirement: Requirement = C8, today: date = TODAY) -> CompetencyReadiness:
    (found,) = readiness_to_decide([requirement], evidence, TV_A_2, today)
    return found


def test_every_part_shown_may_be_signed_off_by_an_educator():
    found = readiness(*ALL)
    assert found.may_sign_off
    assert found.sentence == "C8: everything the standard asks for was shown; an educator may decide."
    assert [part.words for part in found.parts] == ["knowledge", "P06", "P07"]


@pytest.mark.parametrize("left_out", [0, 1, 2])
def test_nothing_makes_up_for_a_missing_part(left_out):
    rest = [one for place, one in enumerate(ALL) if place != left_out]
    found = readiness(*rest, *(sitting(day) for day in range(2, 9) if left_out))
    assert not found.may_sign_off
    assert "no evidence yet" in found.sentence


@pytest.mark.parametrize(
    ("change", "why"),
    [
        ({"outcome": EvidenceOutcome.NOT_SHOWN}, "not shown on 1 May 2026"),
        ({"outcome": EvidenceOutcome.INCOMPLETE}, "incomplete on 1 May 2026: to be observed again"),
        ({"is_content_accepted": False}, "not accepted for sign-off"),
        ({"profile": TV_A_1}, "on TV-A revision 1, not on TV-A revision 2"),
        ({"profile": None}, "no device revision"),
        ({"is_used": True}, "fresh evidence is needed"),
        ({"happened_on": date(2025, 5, 31)}, "held until 31 May 2026"),
        ({"happened_on": date(2026, 6, 2)}, "no evidence yet"),
    ],
)
def test_evidence_that_does_not_carry_says_why(change, why):
    found = readiness(sitting(), seen("P06", **change), seen("P07"))
    assert not found.may_sign_off
    (missing,) = (part for part in found.parts if not part.is_present)
    assert missing.procedure == "P06"
    assert why in missing.why


def test_evidence_holds_on_its_last_day():
    assert readiness(*ALL, today=date(2027, 5, 1)).may_sign_off
    assert not readiness(*ALL, today=date(2027, 5, 2)).may_sign_off


def test_the_latest_of_a_kind_wins_and_an_incomplete_one_decides_nothing():
    later_not = seen("P06", 10, outcome=EvidenceOutcome.NOT_SHOWN)
    assert not readiness(*ALL, later_not).may_sign_off
    assert readiness(*ALL, later_not, seen("P06", 11)).may_sign_off
    assert readiness(*ALL, seen("P06", 12, outcome=EvidenceOutcome.INCOMPLETE)).may_sign_off
    assert not readiness(*ALL, later_not, seen("P06", 12, outcome=EvidenceOutcome.INCOMPLETE)).may_sign_off


def test_of_two_at_the_same_instant_the_one_that_speaks_against_wins():
    against = seen("P06", outcome=EvidenceOutcome.NOT_SHOWN, reference="a")
    assert not readiness(against, *ALL).may_sign_off
    assert not readiness(*ALL, against).may_sign_off


def test_practice_content_and_another_revision_speak_neither_for_nor_against():
    for change in ({"is_content_accepted": False}, {"profile": TV_A_1}):
        assert readiness(*ALL, seen("P06", 20, outcome=EvidenceOutcome.NOT_SHOWN, **change)).may_sign_off


HELD = {
    "outcome": EvidenceOutcome.NOT_SHOWN,
    "is_held_by_danger": True,
    "dangerous_families": frozenset({"n29"}),
}


def test_a_dangerous_answer_stands_until_that_family_is_answered_right_in_a_new_draw():
    held = sitting(10, **HELD)
    assert "n29 was answered in the dangerous direction" in readiness(*ALL, held).sentence
    other_form = sitting(11, families_right=frozenset({"n30"}))
    assert not readiness(*ALL, held, other_form).may_sign_off
    new_draw = sitting(12, questions=1, is_redraw=True, families_right=frozenset({"n29"}))
    assert readiness(*ALL, held, new_draw).may_sign_off
    assert not readiness(*ALL, new_draw, sitting(13, **HELD)).may_sign_off


def test_a_family_right_and_dangerous_in_one_sitting_stays_open():
    both = sitting(10, **(HELD | {"families_right": frozenset({"n29"})}))
    assert not readiness(*ALL, both).may_sign_off


def test_a_new_draw_does_not_turn_a_form_below_its_cut_into_one_that_was_shown():
    below = sitting(10, **(HELD | {"is_held_by_danger": False}))
    new_draw = sitting(12, questions=1, is_redraw=True, families_right=frozenset({"n29"}))
    assert "not shown on 10 May 2026" in readiness(*ALL, below, new_draw).sentence
    assert "only a question" in readiness(new_draw, seen("P06"), seen("P07")).sentence


def test_a_sitting_has_to_ask_enough_questions():
    demanding = Requirement(competency="C8", is_critical=True, needs_knowledge=True, minimum_questions=5)
    assert readiness(sitting(questions=5), requirement=demanding).may_sign_off
    assert "asked 4 of the 5" in readiness(sitting(questions=4), requirement=demanding).sentence


def test_outside_evidence_stands_for_everything_but_what_is_always_observed_here():
    requirement = Requirement(
        competency="C8",
        is_critical=True,
        needs_knowledge=True,
        procedures=("P06", "P07"),
        observed_here=frozenset({"P06"}),
    )
    recognised = item(EvidenceKind.RECOGNISED, last_valid_day=date(2026, 12, 31))
    found = readiness(recognised, requirement=requirement)
    assert [(part.words, part.is_present) for part in found.parts] == [
        ("knowledge", True),
        ("P06", False),
        ("P07", True),
    ]
    assert readiness(recognised, seen("P06"), requirement=requirement).may_sign_off
    late = readiness(recognised, seen("P06"), requirement=requirement, today=date(2027, 1, 1))
    assert not late.may_sign_off
    own = sitting(20, outcome=EvidenceOutcome.NOT_SHOWN)
    assert not readiness(recognised, seen("P06"), own, requirement=requirement).may_sign_off


def test_a_discussion_counts_only_where_the_standard_asks_for_one():
    asked = Requirement(competency="C8", is_critical=False, needs_knowledge=False, needs_discussion=True)
    talk = item(EvidenceKind.DISCUSSION, profile=None, assessor_ids=("a7",))
    assert readiness(talk, requirement=asked).may_sign_off
    assert readiness(talk, requirement=asked).sole_assessor_id == "a7"
    assert not readiness(talk).may_sign_off


def test_who_alone_carries_a_decision():
    assert readiness(*ALL).sole_assessor_id == "a1"
    assert readiness(sitting(), seen("P06"), seen("P07", assessor="a2")).sole_assessor_id is None
    assert readiness(sitting(), seen("P06", 2, "a2"), seen("P07", 2, "a2"), seen("P06", 1)).sole_assessor_id == "a2"
    knowledge = Requirement(competency="C8", is_critical=True, needs_knowledge=True)
    assert readiness(sitting(), requirement=knowledge).sole_assessor_id is None


def test_a_standard_that_asks_for_nothing_signs_nobody_off():
    empty = Requirement(competency="C8", is_critical=False, needs_knowledge=False)
    assert not readiness(*ALL, requirement=empty).may_sign_off


@given(
    st.lists(
        st.builds(
            lambda kind, day, outcome, procedure, accepted, reference: item(
                kind, day, outcome=outcome, procedure=procedure, is_content_accepted=accepted, reference=reference
            ),
            st.sampled_from(EvidenceKind),
            st.integers(1, 20),
            st.sampled_from(EvidenceOutcome),
            st.sampled_from([None, "P06", "P07"]),
            st.booleans(),
            st.sampled_from("abcdef"),
        ),
        max_size=8,
    ),
    st.randoms(use_true_random=False),
)
def test_the_order_of_the_evidence_and_other_competencies_change_nothing(evidence, shuffler):
    here = readiness(*evidence)
    assert here.may_sign_off == all(part.is_present for part in here.parts)
    shuffled = list(evidence)
    shuffler.shuffle(shuffled)
    noise = sitting(30, competency="C9", outcome=EvidenceOutcome.NOT_SHOWN)
    there = readiness(*shuffled, noise)
    assert [part.is_present for part in there.parts] == [part.is_present for part in here.parts]
    assert {part.kind for part in there.parts} == {PartKind.KNOWLEDGE, PartKind.PROCEDURE}


def test_two_assessors_are_two_people():
    both = replace(C8, minimum_assessors=2)
    alone = readiness(*ALL, requirement=both)
    assert not alone.may_sign_off
    assert alone.sentence == "C8: still missing a second assessor (one person watched it all)."
    together = readiness(sitting(), seen("P06"), seen("P07", assessor="a2"), requirement=both)
    assert together.may_sign_off
    assert together.sole_assessor_id is None
    nobody = readiness(sitting(), requirement=both)
    assert nobody.parts[-1].why == "nobody watched it yet"


@pytest.mark.parametrize(
    ("questions", "cut", "counts"),
    [(20, 16, True), (20, 15, False), (19, 19, False), (25, 20, True), (25, 19, False), (30, 24, True), (0, 0, False)],
)
def test_a_form_counts_when_it_is_long_and_strict_enough(questions, cut, counts):
    """16 of 20 is a proportion of 0.8: 20 of 25 and 24 of 30 are as strict, worked in whole numbers."""
    strict = replace(C8, form_questions=20, form_cut=16)
    found = readiness(sitting(form_questions=questions, form_cut=cut), seen("P06"), seen("P07"), requirement=strict)
    assert found.may_sign_off is counts
    if not counts:
        assert f"people pass at {cut} of {questions}; the standard asks for at least 16 of 20" in found.sentence
