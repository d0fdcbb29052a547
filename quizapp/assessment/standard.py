"""The standard for the year: what it asks for each competency, its pass rules, and what cannot be asked."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass
from datetime import date

from quizapp.assessment.validity import LONGEST_VALIDITY_MONTHS
from quizapp.psychometrics.binomial_form import LONGEST_FORM

SHORTEST_REASON = 10
LONGEST_TEXT = 1000
LONGEST_NAME = 200
MOST_ASSESSORS = 2


@dataclass(frozen=True, kw_only=True)
class Requirement:
    """What a standard asks for one competency.

    `validity_months` (1 to 60): how long a sign-off holds. `evidence_months` (1 to 60, None: as long): how old its
    evidence may be. `practice_months` reminds and never lapses anybody. `minimum_questions`: the fewest that a sitting
    asks on it. `observed_here`: those of `procedures` that outside evidence never stands in for.
    `minimum_assessors` (1 or 2): from how many people what was watched or discussed must come.
    `renew_by`: sign-offs given before the standard began end on that day at the latest (None: they keep their dates).
    """

    competency: str
    is_critical: bool
    validity_months: int
    practice_months: int
    needs_knowledge: bool
    procedures: tuple[str, ...]
    evidence_months: int | None = None
    minimum_questions: int = 1
    observed_here: tuple[str, ...] = ()
    needs_discussion: bool = False
    minimum_assessors: int = 1
    renew_by: date | None = None

    @property
    def evidence_holds_months(self) -> int:
        """How old the evidence may be on the day of the decision, in months."""
        return self.validity_months if self.evidence_months is None else self.evidence_months

    @property
    def is_watched(self) -> bool:
        """Whether people other than the clinician carry part of the evidence."""
        return bool(self.procedures) or self.needs_discussion


@dataclass(frozen=True, kw_only=True)
class Terms:
    """One version of a standard in full; `agreed_by` says in words who agreed to it.

    A form counts where it asks at least `form_questions` and lets nobody pass below `form_cut` of so many, in
    proportion; 0 and 0 is no rule beyond each form's own cut.
    """

    name: str
    starts_on: date
    reason: str
    agreed_by: str
    requirements: tuple[Requirement, ...]
    form_questions: int = 0
    form_cut: int = 0

    def requirement(self, competency: str) -> Requirement | None:
        """What it asks for one competency, None when it asks nothing."""
        return next((one for one in self.requirements if one.competency == competency), None)


@dataclass(frozen=True, kw_only=True)
class TermsFault:
    """One thing that cannot be: the field it is about, the competency ("" for the standard), and a sentence."""

    field: str
    message: str
    competency: str = ""


def faults_of(
    terms: Terms, *, competencies: Collection[str], procedures: Collection[str], earliest: date | None
) -> tuple[TermsFault, ...]:
    """Name everything that keeps a version from being put in force.

    `competencies` and `procedures` are the codes the content knows. `earliest` is the first day on which it may begin
    (None: any day, for the first version of a service).
    """
    return (
        *_text_faults(terms, earliest),
        *_form_faults(terms),
        *_list_faults(terms.requirements),
        *(fault for one in terms.requirements for fault in requirement_faults(one, competencies, procedures)),
        *(fault for one in terms.requirements for fault in _renewal_faults(one, terms.starts_on)),
    )


def _text_faults(terms: Terms, earliest: date | None) -> Iterator[TermsFault]:
    if not 1 <= len(" ".join(terms.name.split())) <= LONGEST_NAME:
        yield TermsFault(field="name", message=f"Give the standard a name of 1 to {LONGEST_NAME} characters.")
    if earliest is not None and terms.starts_on < earliest:
        yield TermsFault(field="starts_on", message=f"A new version starts on {earliest.isoformat()} or later.")
    for field, words in (("reason", "why it changes"), ("agreed_by", "who agreed")):
        if not SHORTEST_REASON <= len(getattr(terms, field).strip()) <= LONGEST_TEXT:
            message = (
                f"Write {words} in {SHORTEST_REASON} to {LONGEST_TEXT} characters; everybody bound by it reads it."
            )
            yield TermsFault(field=field, message=message)


def _form_faults(terms: Terms) -> Iterator[TermsFault]:
    if not 0 <= terms.form_questions <= LONGEST_FORM:
        yield TermsFault(field="form_questions", message=f"A form has 0 to {LONGEST_FORM} questions (0: no rule).")
    elif not 0 <= terms.form_cut <= terms.form_questions or bool(terms.form_cut) != bool(terms.form_questions):
        message = f"The fewest right lie between 1 and the {terms.form_questions} questions, or both are 0."
        yield TermsFault(field="form_cut", message=message)


def _list_faults(requirements: Iterable[Requirement]) -> Iterator[TermsFault]:
    codes = [one.competency for one in requirements]
    if not codes or len(set(codes)) < len(codes):
        yield TermsFault(field="requirements", message="Name at least one competency, and each only once.")


def requirement_faults(
    one: Requirement, competencies: Collection[str], procedures: Collection[str]
) -> Iterator[TermsFault]:
    """Give what cannot be asked for one competency, given the codes the content knows."""
    found = (*_unknown(one, competencies, procedures), *_out_of_range(one), *_too_little(one))
    for field, message in found:
        yield TermsFault(field=field, message=f"{one.competency}: {message}", competency=one.competency)


def _unknown(
    one: Requirement, competencies: Collection[str], procedures: Collection[str]
) -> Iterator[tuple[str, str]]:  # fmt: skip
    if one.competency not in competencies:
        yield "competency", "there is no such competency."
    for procedure in one.procedures:
        if procedure not in procedures:
            yield "procedures", f"there is no procedure {procedure}."
    if not set(one.observed_here) <= set(one.procedures):
        yield "observed_here", "what must be observed here must be among the procedures asked for."


def _out_of_range(one: Requirement) -> Iterator[tuple[str, str]]:
    for field, months in (
        ("validity_months", one.validity_months),
        ("practice_months", one.practice_months),
        ("evidence_months", one.evidence_months),
    ):
        if months is not None and not 1 <= months <= LONGEST_VALIDITY_MONTHS:
            yield field, f"{months} months is outside 1 to {LONGEST_VALIDITY_MONTHS}."
    if not 1 <= one.minimum_questions <= LONGEST_FORM:
        yield "minimum_questions", f"a sitting asks 1 to {LONGEST_FORM} questions on it."
    if not 1 <= one.minimum_assessors <= MOST_ASSESSORS:
        yield "minimum_assessors", f"ask for 1 to {MOST_ASSESSORS} assessors."


def _too_little(one: Requirement) -> Iterator[tuple[str, str]]:
    if not one.needs_knowledge and not one.is_watched:
        yield "needs_knowledge", "ask for knowledge, for a procedure or for a discussion."
    elif one.minimum_assessors == MOST_ASSESSORS and len(one.procedures) + one.needs_discussion < MOST_ASSESSORS:
        yield "minimum_assessors", "two assessors need two things to watch or discuss."


def _renewal_faults(one: Requirement, starts_on: date) -> Iterator[TermsFault]:
    if one.renew_by is not None and one.renew_by < starts_on:
        message = f"{one.competency}: sign-offs given before may end on {starts_on.isoformat()} at the earliest."
        yield TermsFault(field="renew_by", message=message, competency=one.competency)


@dataclass(frozen=True, kw_only=True)
class Shortening:
    """A standard's word that earlier sign-offs of a competency end on a day at the latest."""

    competency: str
    given_before: date
    renew_by: date


def last_day_under(competency: str, valid_from: date, last_valid_day: date, shortenings: Iterable[Shortening]) -> date:
    """Give the last valid day of a sign-off once every shortening is heard; it is never later than the one signed."""
    days = [
        one.renew_by for one in shortenings if one.competency == competency and valid_from < one.given_before
    ]  # fmt: skip
    return min([last_valid_day, *days])
