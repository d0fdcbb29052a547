"""The author's preview of a family."""

from __future__ import annotations

import re
from typing import Any

from flask import redirect, render_template, request, url_for

from quizapp.assessment.permissions import Right
from quizapp.services.preview_family import families_like, preview_family
from quizapp.web.edge import act, edge
from quizapp.web.pages.content.blueprint import blueprint
from quizapp.web.pages.content.preview_page import shown_preview
from quizapp.web.policy import policy

SEED = re.compile(r"[0-9]{1,10}")
LONGEST_CODE = 40


@blueprint.get("/preview")
@policy(right=Right.PREVIEW_CONTENT)
def find_preview() -> Any:
    """Go to the preview of the family named in the entry."""
    code = request.args.get("family", "").strip()[:LONGEST_CODE]
    known = edge().library.families
    if code.upper() in known:
        return redirect(url_for("content.preview", code=code.upper()))
    return _unknown(code)


@blueprint.get("/preview/<code>")
@policy(right=Right.PREVIEW_CONTENT)
def preview(code: str) -> Any:
    """Show twenty draws of a family with keys, wrong ideas and both shares, warnings first."""
    library = edge().library
    if code not in library.families:
        return _unknown(code[:LONGEST_CODE])
    sent = request.args.get("from", "0")
    found = preview_family(
        act(),
        library,
        code,
        profile_slug=request.args.get("device", ""),
        first_seed=int(sent) if SEED.fullmatch(sent) else 0,
    )
    return render_template("content/preview.html", preview=found, page=shown_preview(found))


def _unknown(code: str) -> tuple[str, int]:
    near = families_like(edge().library, code) if code else ()
    return render_template("content/unknown.html", code=code, near=near), 404 if code else 200
