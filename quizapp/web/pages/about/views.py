"""The page about the tool; anybody may read it."""

from __future__ import annotations

from typing import Any

from flask import Blueprint, render_template

from quizapp.web.edge import edge
from quizapp.web.policy import policy

blueprint = Blueprint("about", __name__, template_folder="templates", url_prefix="/about")


@blueprint.get("")
@policy(public=True)
def show() -> Any:
    """Say the intended purpose."""
    library = edge().library
    counts = {
        "families": len(library.families),
        "procedures": len(library.procedures),
        "competencies": len(library.competencies),
    }
    return render_template("about/show.html", counts=counts, sources=sorted(library.sources.items()))
