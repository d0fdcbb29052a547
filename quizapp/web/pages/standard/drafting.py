"""The next standard is drafted: begun from the newest version, changed part by part, dropped if need be."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from flask import redirect, render_template, url_for

from quizapp.assessment.permissions import Right
from quizapp.assessment.standard import Requirement
from quizapp.assessment.standard_change import differences
from quizapp.errors import BadInput, Conflict, NotFound
from quizapp.services.draft_standard import (
    Draft,
    begin_draft,
    change_general,
    change_requirement,
    draft,
    drop_draft,
    leave_out,
)
from quizapp.web.edge import act, edge
from quizapp.web.forms import ActForm, do_once
from quizapp.web.pages.standard.forms import (
    GeneralForm,
    RequirementForm,
    RevisionForm,
    general_form,
    requirement_form,
)
from quizapp.web.pages.standard.standard_page import shown_terms
from quizapp.web.pages.standard.views import blueprint
from quizapp.web.policy import policy
from quizapp.web.signed_form import show_fault


@blueprint.post("/draft")
@policy(right=Right.SET_STANDARD)
def begin() -> Any:
    """Begin the next standard, or go on with the draft under way."""
    draft_id = do_once(lambda: begin_draft(act(), edge().library))
    return redirect(url_for("standard.edit", draft_id=draft_id), code=303)


@blueprint.get("/draft/<draft_id>")
@policy(right=Right.SET_STANDARD)
def edit(draft_id: str) -> Any:
    """Show the draft: what stands in the way, its parts, and what it changes."""
    written = _draft(draft_id)
    return draft_page(written, general_form(written.terms, written.revision))


def _draft(draft_id: str) -> Draft:
    return draft(act(), edge().library, draft_id)


def draft_page(written: Draft, form: GeneralForm) -> str:
    """Return the page of a draft around its general form."""
    asked = {one.competency for one in written.terms.requirements}
    return render_template(
        "standard/draft.html",
        draft=written,
        form=form,
        terms=shown_terms(written.terms, edge().library),
        changes=differences(written.before, written.terms),
        others=[one for one in edge().library.competencies.values() if one.code not in asked],
        plain=ActForm(),
    )


@blueprint.post("/draft/<draft_id>")
@policy(right=Right.SET_STANDARD)
def save(draft_id: str) -> Any:
    """Keep name, start, reason, who agreed and the rule for forms."""
    form, written = GeneralForm(), _draft(draft_id)
    if not form.validate():
        return draft_page(written, form), 422
    revision = form.revision_shown
    try:
        do_once(lambda: change_general(act(), draft_id, revision=revision, changed=form.changed()))
    except Conflict as fault:
        return draft_page(written, _with_conflict(form, fault)), 409
    return redirect(url_for("standard.edit", draft_id=draft_id), code=303)


def _with_conflict(form: Any, fault: Conflict) -> Any:
    """Keep what was typed and say beside it that somebody else was faster."""
    first = next(field for field in form if field.type not in {"CSRFTokenField", "HiddenField"})
    first.errors = [str(fault)]
    return form


@blueprint.get("/draft/<draft_id>/<competency>")
@policy(right=Right.SET_STANDARD)
def edit_competency(draft_id: str, competency: str) -> Any:
    """Show what the draft asks for one competency, or what the framework suggests for a new one."""
    written = _draft(draft_id)
    form = requirement_form(_requirement(written, competency), written.revision)
    return _competency_page(written, competency, form)


def _requirement(written: Draft, competency: str) -> Requirement:
    asked = written.terms.requirement(competency)
    known = edge().library.competencies.get(competency)
    if asked is not None:
        return asked
    if known is None:
        raise NotFound("There is no such competency.")
    return Requirement(
        competency=competency,
        is_critical=known.is_critical,
        validity_months=known.valid_months,
        practice_months=known.practise_months,
        needs_knowledge=True,
        procedures=(),
    )


def _with_choices(form: RequirementForm) -> RequirementForm:
    procedures = [(code, f"{code} {one.title}") for code, one in sorted(edge().library.procedures.items())]
    form.procedures.choices = procedures
    form.observed_here.choices = procedures
    return form


def _competency_page(written: Draft, competency: str, form: RequirementForm) -> str:
    known = edge().library.competencies.get(competency)
    return render_template(
        "standard/competency.html",
        draft=written,
        code=competency,
        title=known.title if known else "",
        is_asked=written.terms.requirement(competency) is not None,
        form=_with_choices(form),
        plain=RevisionForm(revision=str(written.revision), formdata=None),
    )


@blueprint.post("/draft/<draft_id>/<competency>")
@policy(right=Right.SET_STANDARD)
def save_competency(draft_id: str, competency: str) -> Any:
    """Keep what is asked for one competency."""
    form, written = _with_choices(RequirementForm()), _draft(draft_id)
    _requirement(written, competency)
    if not form.validate():
        return _competency_page(written, competency, form), 422
    revision, wanted = form.revision_shown, form.wanted(competency)
    try:
        do_once(lambda: change_requirement(act(), edge().library, draft_id, revision=revision, wanted=wanted))
    except BadInput as fault:
        show_fault(form, fault, otherwise="needs_knowledge")
        return _competency_page(written, competency, form), 422
    except Conflict as fault:
        return _competency_page(written, competency, _with_conflict(form, fault)), 409
    return _to_draft(draft_id)


def _to_draft(draft_id: str) -> Any:
    return redirect(url_for("standard.edit", draft_id=draft_id), code=303)


@blueprint.post("/draft/<draft_id>/<competency>/leave-out")
@policy(right=Right.SET_STANDARD)
def leave_out_competency(draft_id: str, competency: str) -> Any:
    """Ask nothing for a competency any more."""
    revision = RevisionForm().revision_shown
    return _done(lambda: leave_out(act(), draft_id, revision=revision, competency=competency), draft_id)


def _done(do: Callable[[], None], draft_id: str) -> Any:
    do_once(do)
    return _to_draft(draft_id)


@blueprint.post("/draft/<draft_id>/drop")
@policy(right=Right.SET_STANDARD)
def drop(draft_id: str) -> Any:
    """Give the draft up; what is in force stays in force."""
    do_once(lambda: drop_draft(act(), draft_id))
    return redirect(url_for("standard.show"), code=303)
