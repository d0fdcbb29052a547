"""The terms of a standard as JSON, for a draft that is kept and for the statement that is signed."""

from __future__ import annotations

from datetime import date
from typing import Any

from quizapp.assessment.standard import Requirement, Terms


def terms_to_json(terms: Terms) -> dict[str, Any]:
    """Give the terms as text, whole numbers, booleans and lists."""
    return {
        "name": terms.name,
        "starts_on": terms.starts_on.isoformat(),
        "reason": terms.reason,
        "agreed_by": terms.agreed_by,
        "form_questions": terms.form_questions,
        "form_cut": terms.form_cut,
        "requirements": [_requirement_to_json(one) for one in terms.requirements],
    }


def _requirement_to_json(one: Requirement) -> dict[str, Any]:
    return {
        "competency": one.competency,
        "is_critical": one.is_critical,
        "validity_months": one.validity_months,
        "practice_months": one.practice_months,
        "evidence_months": one.evidence_months or 0,
        "needs_knowledge": one.needs_knowledge,
        "minimum_questions": one.minimum_questions,
        "procedures": list(one.procedures),
        "observed_here": list(one.observed_here),
        "needs_discussion": one.needs_discussion,
        "minimum_assessors": one.minimum_assessors,
        "renew_by": one.renew_by.isoformat() if one.renew_by else "",
    }


def terms_from_json(kept: dict[str, Any]) -> Terms:
    """Read the terms back; raises KeyError or ValueError for what this module did not write."""
    return Terms(
        name=kept["name"],
        starts_on=date.fromisoformat(kept["starts_on"]),
        reason=kept["reason"],
        agreed_by=kept["agreed_by"],
        form_questions=kept["form_questions"],
        form_cut=kept["form_cut"],
        requirements=tuple(_requirement_from_json(one) for one in kept["requirements"]),
    )


def _requirement_from_json(one: dict[str, Any]) -> Requirement:
    return Requirement(
        competency=one["competency"],
        is_critical=one["is_critical"],
        validity_months=one["validity_months"],
        practice_months=one["practice_months"],
        evidence_months=one["evidence_months"] or None,
        needs_knowledge=one["needs_knowledge"],
        minimum_questions=one["minimum_questions"],
        procedures=tuple(one["procedures"]),
        observed_here=tuple(one["observed_here"]),
        needs_discussion=one["needs_discussion"],
        minimum_assessors=one["minimum_assessors"],
        renew_by=date.fromisoformat(one["renew_by"]) if one["renew_by"] else None,
    )
