"""One signature, found by its receipt and verified."""

from __future__ import annotations

from typing import Any

from flask import Blueprint, redirect, render_template, request, url_for

from quizapp.assessment.permissions import Right
from quizapp.errors import BadInput, NotFound
from quizapp.services.signature_seen import verified_by_receipt
from quizapp.web.edge import act
from quizapp.web.pages.signatures.signature_page import shown_statement
from quizapp.web.policy import policy

blueprint = Blueprint("signatures", __name__, template_folder="templates", url_prefix="/signatures")
LONGEST = 100


@blueprint.get("")
@policy(right=Right.CHECK_RECEIPT)
def index() -> Any:
    """Ask for a receipt; with one, go to its page or say why there is none."""
    receipt = request.args.get("receipt", "").strip()[:LONGEST]
    if not receipt:
        return render_template("signatures/index.html", receipt="", error="")
    try:
        verified_by_receipt(act(), receipt)
    except (BadInput, NotFound) as fault:
        return render_template("signatures/index.html", receipt=receipt, error=str(fault)), 422
    return redirect(url_for("signatures.show", receipt=receipt.casefold()), code=303)


@blueprint.get("/<receipt>")
@policy(right=Right.CHECK_RECEIPT)
def show(receipt: str) -> Any:
    """Show who signed what and when, and each step of the check."""
    try:
        found, may_read = verified_by_receipt(act(), receipt[:LONGEST])
    except BadInput as fault:
        raise NotFound(str(fault)) from None
    rows = shown_statement(found.statement) if may_read and found.statement else []
    return render_template("signatures/show.html", found=found, may_read=may_read, rows=rows)
