"""Composing and assigning assessments."""

from __future__ import annotations

from typing import Any

from flask import Blueprint, redirect, render_template, url_for

from quizapp.assessment.permissions import Right
from quizapp.errors import BadInput
from quizapp.services.assessments_composed import assessment_in_full, assessments_composed, assignable
from quizapp.services.assign_assessment import assign_assessment
from quizapp.services.close_assessment import close_assessment, people_in_the_middle
from quizapp.services.compose_assessment import Composition, compose_assessment, proposed_form
from quizapp.services.start_sitting import practice_profile
from quizapp.web.edge import act, edge
from quizapp.web.forms import ActForm, do_once
from quizapp.web.pages.assessments.forms import AssignForm, ComposeForm, parts_from, sent_counts
from quizapp.web.policy import policy
from quizapp.web.signed_form import show_fault

blueprint = Blueprint("assessments", __name__, template_folder="templates", url_prefix="/assessments")


@blueprint.get("")
@policy(right=Right.COMPOSE_ASSESSMENT)
def index() -> Any:
    """List the assessments."""
    return render_template("assessments/index.html", rows=assessments_composed(act()))


@blueprint.get("/new")
@policy(right=Right.COMPOSE_ASSESSMENT)
def new() -> Any:
    """Show an empty form."""
    return _compose_page(_compose_form(), {})


@blueprint.post("/new")
@policy(right=Right.COMPOSE_ASSESSMENT)
def compose() -> Any:
    """Store the assessment, or show the form again with what is wrong."""
    form, library = _compose_form(), edge().library
    sent = sent_counts(library.competencies)
    if not form.validate():
        return _compose_page(form, sent), 422
    code, _, revision = form.profile.data.rpartition("-")
    try:
        composition = Composition(
            title=form.title.data or "",
            parts=parts_from(sent),
            cut=form.cut.data or 0,
            cut_reason=form.cut_reason.data or "",
            profile_code=code,
            profile_revision=int(revision),
            time_allowance_min=form.time_allowance_min.data,
        )
        assessment_id = do_once(lambda: compose_assessment(act(), library, composition))
    except BadInput as fault:
        return _compose_page(form, sent, fault), 422
    return redirect(url_for("assessments.show", assessment_id=assessment_id), code=303)


@blueprint.get("/<assessment_id>")
@policy(right=Right.COMPOSE_ASSESSMENT)
def show(assessment_id: str) -> Any:
    """Show one assessment, its chances and who has it."""
    page = assessment_in_full(act(), assessment_id)
    return render_template("assessments/show.html", page=page, form=_assign_form())


@blueprint.post("/<assessment_id>/assign")
@policy(right=Right.ASSIGN_ASSESSMENT)
def assign(assessment_id: str) -> Any:
    """Give it to people, bases or everybody."""
    form = _assign_form()
    page = assessment_in_full(act(), assessment_id)
    if not form.validate():
        return render_template("assessments/show.html", page=page, form=form), 422
    try:
        do_once(lambda: _assign(assessment_id, form))
    except BadInput as fault:
        show_fault(form, fault, otherwise="to")
        return render_template("assessments/show.html", page=page, form=form), 422
    return redirect(url_for("assessments.show", assessment_id=assessment_id), code=303)


@blueprint.get("/<assessment_id>/close")
@policy(right=Right.COMPOSE_ASSESSMENT)
def close_form(assessment_id: str) -> Any:
    """Say what closing means, and who is in the middle of it."""
    page = assessment_in_full(act(), assessment_id)
    in_the_middle = people_in_the_middle(act(), assessment_id)
    return render_template("assessments/close.html", page=page, in_the_middle=in_the_middle, form=ActForm())


@blueprint.post("/<assessment_id>/close")
@policy(right=Right.COMPOSE_ASSESSMENT)
def close(assessment_id: str) -> Any:
    """Close it for everybody."""
    do_once(lambda: close_assessment(act(), assessment_id))
    return redirect(url_for("assessments.show", assessment_id=assessment_id), code=303)


def _assign(assessment_id: str, form: AssignForm) -> int:
    return assign_assessment(
        act(),
        assessment_id,
        person_ids=(form.people.data or ()) if form.to.data == "people" else (),
        base_ids=(form.bases.data or ()) if form.to.data == "bases" else (),
        everybody=form.to.data == "everybody",
        due_on=form.due_on.data,
    ).new


def _compose_form() -> ComposeForm:
    usual = practice_profile(act(), edge().library)
    form = ComposeForm(profile=f"{usual.code}-{usual.revision}")
    form.profile.choices = [
        (f"{profile.code}-{profile.revision}", f"{profile.code} revision {profile.revision}")
        for profile in reversed(edge().library.profiles)
    ]
    return form


def _assign_form() -> AssignForm:
    form, choices = AssignForm(), assignable(act())
    form.bases.choices = [(base.id, base.name) for base in choices.bases]
    form.people.choices = [(person.id, f"{person.name}, {person.staff_number}") for person in choices.people]
    return form


def _compose_page(form: ComposeForm, sent: dict[str, tuple[str, str]], fault: BadInput | None = None) -> str:
    about_parts = fault is not None and fault.field not in form
    if fault is not None and not about_parts:
        show_fault(form, fault)
    return render_template(
        "assessments/new.html",
        form=form,
        sent=sent,
        parts_error=str(fault) if about_parts else "",
        competencies=list(edge().library.competencies.values()),
        proposal=proposed_form(),
    )
