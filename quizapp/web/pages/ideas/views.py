"""The page of wrong ideas."""

from __future__ import annotations

from typing import Any

from flask import Blueprint, render_template, request

from quizapp.assessment.permissions import Right
from quizapp.services.wrong_ideas_of import wrong_ideas_of
from quizapp.web.edge import act, edge
from quizapp.web.pages.ideas.shares_page import shown_ideas
from quizapp.web.policy import policy

blueprint = Blueprint("ideas", __name__, template_folder="templates", url_prefix="/ideas")


@blueprint.get("")
@policy(right=Right.SEE_STATISTICS)
def show() -> Any:
    """Show the wrong ideas of a base, of an assessment, or of all the educator answers for."""
    base_id, assessment_id = request.args.get("base", ""), request.args.get("assessment", "")
    found = wrong_ideas_of(act(), edge().library, base_id=base_id, assessment_id=assessment_id)
    return render_template(
        "ideas/show.html",
        found=found,
        page=shown_ideas(found),
        titles={code: one.title for code, one in edge().library.competencies.items()},
        base_id=base_id,
        assessment_id=assessment_id,
    )
