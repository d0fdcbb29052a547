"""Two pages for educators: how far the estimate can be believed, and for whom it proposes an earlier booster."""

from __future__ import annotations

from typing import Any

from flask import Blueprint, render_template, request

from quizapp.assessment.permissions import Right
from quizapp.psychometrics.calibration import FEWEST_NOT_SHOWN, FEWEST_OUTCOMES
from quizapp.services.competence_calibration import calibration_of_service
from quizapp.services.competence_concerns import concerns_at
from quizapp.services.fit_competence import fits_kept
from quizapp.web.edge import act, edge
from quizapp.web.pages.estimates.boosters_page import shown_concerns
from quizapp.web.pages.estimates.calibration_page import finding, shown_fits, shown_track
from quizapp.web.policy import policy

blueprint = Blueprint("estimates", __name__, template_folder="templates", url_prefix="/estimates")


@blueprint.get("")
@policy(right=Right.SEE_STATISTICS)
def show() -> Any:
    """Show forecasts beside outcomes for the whole service."""
    tracks = calibration_of_service(act().session).values()
    return render_template(
        "estimates/show.html",
        finding=finding(list(tracks)),
        tracks=[shown_track(one) for one in tracks],
        fits=shown_fits(fits_kept(act().session)),
        fewest=FEWEST_OUTCOMES,
        fewest_not_shown=FEWEST_NOT_SHOWN,
        today=act().today,
    )


@blueprint.get("/boosters")
@policy(right=Right.SEE_STATISTICS)
def boosters() -> Any:
    """Show for whom at a base an earlier booster is worth a word."""
    base_id = request.args.get("base", "")
    found = concerns_at(act(), edge().library, base_id)
    tracks = calibration_of_service(act().session).values()
    return render_template(
        "estimates/boosters.html",
        found=found,
        page=shown_concerns(found, list(tracks)),
        today=act().today,
    )
