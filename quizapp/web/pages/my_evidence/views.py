"""One's own evidence."""

from __future__ import annotations

from typing import Any

from flask import render_template

from quizapp.assessment.permissions import Right
from quizapp.services.my_evidence import my_evidence
from quizapp.web.edge import act, edge
from quizapp.web.pages.my_evidence import take_away_views
from quizapp.web.pages.my_evidence.blueprint import blueprint
from quizapp.web.policy import policy

__all__ = ["blueprint", "take_away_views"]


@blueprint.get("")
@policy(right=Right.SEE_OWN_RECORD)
def show() -> Any:
    """Show everything that counts for or against the person."""
    competencies = my_evidence(act(), edge().library)
    pieces = sum(len(one.evidence) for one in competencies)
    return render_template("my_evidence/show.html", competencies=competencies, pieces=pieces)
