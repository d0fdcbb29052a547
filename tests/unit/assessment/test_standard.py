"""What a standard may ask, what its change says in words, and for how many people it changes something."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quizapp.assessment.standard import Requirement, Shortening, Terms, faults_of, last_day_under
from quizapp.assessment.standard_change import differences, effect_of, form_rule_in_words, in_words, shortenings_of
from quizapp.assessment.standard_json import terms_from_json, terms_to_json
from quizapp.assessment.standing import (
    Decision,
    InService,
    Outcome,
    PersonStanding,
    ProfileRevision,
    RequiredCompetency,
    StandingRecord,
)

ZONE = ZoneInfo("Europe/London")
TODAY = date(2026, 3, 2)
TV_A_1 = ProfileRevision(code="TV-A", revision=1)
C5 = Requirement(
    competency="C5", is_critical=True, validity_months=12, practice_months=6, needs_knowledge=True, procedures=("P02",)
)
C1 = Requirement(
    competency="C1", is_critical=False, validity_months=24, practice_months=12, needs_knowledge=False, procedures=(),
    needs_discussion=True,
)  # fmt: skip
TERMS = Terms(
    name="Standard", starts_on=TODAY, reason="what the year before taught us", agreed_by="the three educators",
    requirements=(C1, C5), form_questions=20, form_cut=16,
)  # fmt: skip


def fields(terms: Terms, earliest: date | None = TODAY) -> list[str]:
    found = faults_of(terms, competencies={"C1", "C5"}, procedures={"P02", "P06"}, earliest=earliest)
    return [fault.field for fault in found]


def test_a_standard_that_can_be_put_in_force_has_no_fault() -> None:
    assert fields(TERMS) == []
    assert fields(replace(TERMS, form_questions=0, form_cut=0)) == []


@pytest.mark.parametrize(
    ("changed", "field"),
    [
        ({"name": "  "}, "name"),
        ({"name": "n" * 201}, "name"),
        ({"reason": "short"}, "reason"),
        ({"agreed_by": "a" * 1001}, "agreed_by"),
        ({"starts_on": date(2026, 3, 1)}, "starts_on"),
        ({"form_questions": 501}, "form_questions"),
        ({"form_cut": 21}, "form_cut"),
        ({"form_cut": 0}, "form_cut"),
        ({"form_questions": 0}, "form_cut"),
        ({"requirements": ()}, "requirements"),
        ({"requirements": (C5, C5)}, "requirements"),
        ({"requirements": (replace(C5, competency="C9"),)}, "competency"),
        ({"requirements": (replace(C5, procedures=("P99",)),)}, "procedures"),
        ({"requirements": (replace(C5, observed_here=("P06",)),)}, "observed_here"),
        ({"requirements": (replace(C5, validity_months=61),)}, "validity_months"),
        ({"requirements": (replace(C5, practice_months=0),)}, "practice_months"),
        ({"requirements": (replace(C5, evidence_months=61),)}, "evidence_months"),
        ({"requirements": (replace(C5, minimum_questions=0),)}, "minimum_questions"),
        ({"requirements": (replace(C5, minimum_assessors=3),)}, "minimum_assessors"),
        ({"requirements": (replace(C5, minimum_assessors=2),)}, "minimum_assessors"),
        ({"requirements": (replace(C5, needs_knowledge=False, procedures=()),)}, "needs_knowledge"),
        ({"requirements": (replace(C5, renew_by=date(2026, 3, 1)),)}, "renew_by"),
    ],
    ids=str,
)
def test_what_cannot_be_is_named_with_its_field(changed: dict[str, object], field: str) -> None:
    assert fields(replace(TERMS, **changed)) == [field]  # type: ignore[arg-type]


def test_the_first_version_may_start_on_any_day() -> None:
    assert fields(replace(TERMS, starts_on=date(2020, 1, 1)), earliest=None) == []


def test_terms_are_read_back_as_they_were_written() -> None:
    full = replace(C5, evidence_months=6, observed_here=("P02",), renew_by=date(2026, 9, 30), minimum_questions=5)
    terms = replace(TERMS, requirements=(replace(C1, evidence_months=24), full))
    assert terms_from_json(terms_to_json(terms)) == terms


def test_the_difference_is_said_in_sentences() -> None:
    after = replace(
        TERMS,
        form_cut=17,
        requirements=(
            replace(
                C5, procedures=("P02", "P06"), validity_months=6, minimum_assessors=2, observed_here=("P06",),
                renew_by=date(2026, 9, 30),
            ),
            replace(C1, competency="C10"),
        ),
    )  # fmt: skip
    assert differences(TERMS, after) == (
        "The rule for forms was at least 20 questions and a cut of at least 16 of 20; it becomes at least 20 questions "
        "and a cut of at least 17 of 20.",
        "C5 also asks for P06.",
        "C5 asks that P06 be watched here even where outside evidence is recognised.",
        "C5 changes: a new sign-off holds 6 months instead of 12.",
        "C5 changes: evidence may be as old as 6 months instead of 12.",
        "C5 changes: 2 different assessors at least instead of 1.",
        "C5: sign-offs given before end on 30 September 2026 at the latest.",
        "C10 is new: a structured discussion; not critical, valid 24 months.",
        "C1 is no longer asked for.",
    )
    assert differences(None, TERMS) == ("This is the first version.",)
    assert differences(TERMS, TERMS) == ("Nothing is asked for that was not asked before.",)


def test_without_a_word_about_them_people_keep_their_dates() -> None:
    said = differences(TERMS, replace(TERMS, requirements=(C1, replace(C5, is_critical=False, needs_discussion=True))))
    assert said == (
        "C5 also asks for a structured discussion.",
        "C5 becomes not critical; it was critical.",
        "C5: people already signed off keep their dates.",
    )


def test_a_requirement_and_the_rule_for_forms_in_words() -> None:
    asked = replace(C5, minimum_questions=5, procedures=("P01", "P02", "P06"), minimum_assessors=2)
    assert in_words(asked) == (
        "knowledge (5 questions or more), P01, P02 and P06 watched, from two assessors; critical, valid 12 months"
    )
    assert form_rule_in_words(replace(TERMS, form_questions=0, form_cut=0)) == "each form's own cut"


DAYS = st.dates(date(2025, 1, 1), date(2029, 12, 31))


@given(DAYS, DAYS, st.lists(st.builds(Shortening, competency=st.sampled_from(["C1", "C5"]), given_before=DAYS,
                                      renew_by=DAYS), max_size=5))  # fmt: skip
def test_a_standard_only_ever_shortens(valid_from: date, last_day: date, words: list[Shortening]) -> None:
    found = last_day_under("C5", valid_from, last_day, words)
    assert found <= last_day
    assert found == last_day or any(one.renew_by == found and valid_from < one.given_before for one in words)
    assert last_day_under("C5", valid_from, last_day, [*words, *words]) == found
    more = Shortening(competency="C5", given_before=date.max, renew_by=found)
    assert last_day_under("C5", valid_from, last_day, [*words, more]) == found


def record(last_day: date = date(2026, 12, 1), codes: tuple[str, ...] = ("C1", "C5")) -> StandingRecord:
    return StandingRecord(
        required=(
            RequiredCompetency(code="C1", is_critical=False),
            RequiredCompetency(code="C5", is_critical=True),
        ),
        in_service=(InService(profile=TV_A_1, from_day=date(2025, 1, 1)),),
        decisions=tuple(
            Decision(
                reference=code, competency=code, profile=TV_A_1, outcome=Outcome.COMPETENT,
                decided_at=datetime(2025, 12, 1, tzinfo=UTC), valid_from=date(2025, 12, 1), last_valid_day=last_day,
            )
            for code in codes
        ),
    )  # fmt: skip


def test_the_effect_counts_people_and_not_names() -> None:
    minute = datetime(2026, 3, 2, 0, 0, tzinfo=UTC)
    records = [record(), record(), record(date(2026, 4, 1)), record(codes=())]
    nothing = effect_of(records, TERMS, minute, ZONE)
    assert nothing.sentences == ("Nothing changes for anybody: 4 people looked at, all keep their dates.",)
    stricter = replace(
        TERMS, requirements=(replace(C1, renew_by=date(2026, 9, 30)), C5, replace(C5, competency="C3"))
    )  # fmt: skip
    assert [one.renew_by for one in shortenings_of(stricter)] == [date(2026, 9, 30)]
    found = effect_of(records, stricter, minute, ZONE)
    assert found.moves == (
        (PersonStanding.CURRENT, PersonStanding.NOT_YET_SIGNED_OFF, 2),
        (PersonStanding.LAPSING, PersonStanding.NOT_YET_SIGNED_OFF, 1),
    )
    assert (found.people, found.shortened, found.soonest) == (4, 2, date(2026, 9, 30))
    assert found.sentences == (
        "2 people would go from current to not yet signed off on the first day.",
        "1 person would go from lapsing to not yet signed off on the first day.",
        "For 2 people a sign-off ends earlier, the first on 30 September 2026.",
        "Nothing changes for anybody else of the 4 looked at.",
    )
