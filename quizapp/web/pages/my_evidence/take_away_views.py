"""Taking one's evidence away as a file and on paper, seeing who looked, and revoking it."""

from __future__ import annotations

from typing import Any

from flask import Response, redirect, render_template, url_for

from quizapp.assessment.permissions import Right
from quizapp.services.take_away import own_take_away, own_take_aways, revoke_take_away, take_away
from quizapp.services.take_away_signature import public_key
from quizapp.web.edge import act, edge
from quizapp.web.forms import ActForm, do_once
from quizapp.web.pages.my_evidence.archive import archive_bytes
from quizapp.web.pages.my_evidence.blueprint import blueprint
from quizapp.web.pages.my_evidence.taken_page import stated_page
from quizapp.web.policy import policy
from quizapp.web.signed_form import SignedForm


@blueprint.get("/take-away")
@policy(right=Right.SEE_OWN_RECORD)
def taken() -> Any:
    """List what was taken away, and the form to take it away now."""
    return _list_page(SignedForm())


@blueprint.post("/take-away")
@policy(right=Right.SEE_OWN_RECORD, reauthenticates=True)
def take() -> Any:
    """Keep the statement under a new code."""
    form = SignedForm()
    if not form.validate():
        return _list_page(form), 422
    taken_id = do_once(lambda: take_away(act(), edge().library))
    return redirect(url_for("my_evidence.taken_one", take_away_id=taken_id), code=303)


@blueprint.get("/take-away/<take_away_id>")
@policy(right=Right.SEE_OWN_RECORD)
def taken_one(take_away_id: str) -> Any:
    """Show one's own take-away as it is printed, who looked at it, and the way to revoke it."""
    found = own_take_away(act(), take_away_id)
    return render_template(
        "my_evidence/taken_one.html",
        taken=found,
        page=stated_page(found.statement),
        key=public_key(edge().settings.secret),
        check_address=url_for("check.show", _external=True),
        form=ActForm(),
    )


@blueprint.get("/take-away/<take_away_id>/file")
@policy(right=Right.SEE_OWN_RECORD)
def file(take_away_id: str) -> Any:
    """Hand the archive out."""
    found = own_take_away(act(), take_away_id)
    name = f"evidence-{found.statement['made_on']}.zip"
    return Response(
        archive_bytes(found),
        mimetype="application/zip",
        headers={"Content-Disposition": f'attachment; filename="{name}"'},
    )


@blueprint.post("/take-away/<take_away_id>/revoke")
@policy(right=Right.SEE_OWN_RECORD)
def revoke(take_away_id: str) -> Any:
    """Revoke it; from now on its code says only that."""
    do_once(lambda: revoke_take_away(act(), take_away_id))
    return redirect(url_for("my_evidence.taken_one", take_away_id=take_away_id), code=303)


def _list_page(form: SignedForm) -> str:
    return render_template("my_evidence/taken.html", rows=own_take_aways(act()), form=form)
