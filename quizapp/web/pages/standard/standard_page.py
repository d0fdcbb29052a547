"""What a version of the standard shows, laid out for its templates."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from quizapp.assessment.standard import Requirement, Terms
from quizapp.assessment.standard_change import form_rule_in_words
from quizapp.content.library import Library
from quizapp.psychometrics.binomial_form import FormChances, form_chances


@dataclass(frozen=True, kw_only=True)
class ShownRequirement:
    """One competency: what is asked, how long it holds, and what happens to earlier sign-offs."""

    code: str
    title: str
    is_critical: bool
    asks: tuple[str, ...]
    validity: str
    evidence: str
    practice: str
    renew_by: date | None


@dataclass(frozen=True, kw_only=True)
class ShownTerms:
    """The requirements, the rule for forms in words, and how often it errs (None without a rule of its own)."""

    requirements: tuple[ShownRequirement, ...]
    form_rule: str
    chances: FormChances | None


def shown_terms(terms: Terms, library: Library) -> ShownTerms:
    """Lay out what a version asks."""
    return ShownTerms(
        requirements=tuple(_requirement(one, library) for one in terms.requirements),
        form_rule=form_rule_in_words(terms),
        chances=_chances(terms),
    )


def _chances(terms: Terms) -> FormChances | None:
    is_rule = 0 < terms.form_cut <= terms.form_questions <= 500
    return form_chances(terms.form_questions, terms.form_cut) if is_rule else None


def _requirement(one: Requirement, library: Library) -> ShownRequirement:
    known = library.competencies.get(one.competency)
    return ShownRequirement(
        code=one.competency,
        title=known.title if known else "",
        is_critical=one.is_critical,
        asks=tuple(_asks(one, library)),
        validity=_months(one.validity_months),
        evidence=_months(one.evidence_holds_months),
        practice=_months(one.practice_months),
        renew_by=one.renew_by,
    )


def _asks(one: Requirement, library: Library) -> list[str]:
    asks = []
    if one.needs_knowledge:
        asks.append(f"knowledge, {one.minimum_questions} or more questions on it in a form"
                    if one.minimum_questions > 1 else "knowledge, in a form")  # fmt: skip
    for code in one.procedures:
        title = library.procedures[code].title if code in library.procedures else ""
        here = ", here even where outside evidence is recognised" if code in one.observed_here else ""
        asks.append(f"{code} {title}, watched{here}")
    if one.needs_discussion:
        asks.append("a structured discussion")
    if one.minimum_assessors > 1:
        asks.append("watched or discussed by two different assessors")
    return asks


def _months(count: int) -> str:
    return "1 month" if count == 1 else f"{count} months"
