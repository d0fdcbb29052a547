"""Opening, walking and closing a fair path."""

from __future__ import annotations

from contextlib import suppress
from typing import Any

from flask import Blueprint, redirect, render_template, request, url_for

from quizapp.assessment.fair_paths import PathKind, PathOutcome, StepName
from quizapp.assessment.permissions import Right
from quizapp.errors import BadInput, NotFound
from quizapp.services.discussions import people_to_discuss_with
from quizapp.services.fair_paths import close_path, open_path, person_on_path, record_step
from quizapp.services.fair_paths_list import my_paths, path_page, paths_at_my_bases, proposals
from quizapp.services.recognise_evidence import recognise_evidence
from quizapp.services.sitting_adjustments import adjustments_of
from quizapp.web.edge import act, edge
from quizapp.web.forms import do_once
from quizapp.web.pages.paths.forms import CloseForm, OutsideForm, PathForm, StepForm
from quizapp.web.policy import policy
from quizapp.web.signed_form import show_fault

blueprint = Blueprint("paths", __name__, template_folder="templates", url_prefix="/paths")


@blueprint.get("")
@policy(right=Right.DECIDE)
def index() -> Any:
    """List the open paths, and who should be offered one."""
    return render_template(
        "paths/index.html",
        paths=paths_at_my_bases(act()),
        proposals=proposals(act(), edge().library),
        people=people_to_discuss_with(act()),
    )


@blueprint.get("/mine")
@policy(right=Right.SEE_OWN_RECORD)
def mine() -> Any:
    """List one's own paths."""
    adjusted = bool(adjustments_of(act(), act().actor.person_id))
    return render_template("paths/mine.html", paths=my_paths(act()), adjusted=adjusted)


@blueprint.get("/new")
@policy(right=Right.DECIDE)
def new() -> Any:
    """Show the form, filled in as far as a proposal says."""
    form = _open_form()
    form.person.data = request.args.get("person", "")
    form.about.data = request.args.get("about", "")
    with suppress(ValueError):
        form.kind.data = PathKind(request.args.get("kind", "")).value
    return render_template("paths/new.html", form=form)


@blueprint.post("/new")
@policy(right=Right.DECIDE)
def begin() -> Any:
    """Open the path."""
    form = _open_form()
    if form.validate():
        try:
            path_id = do_once(lambda: open_path(act(), person_id=form.person.data, wanted=form.wanted()))
            return redirect(url_for("paths.show", path_id=path_id), code=303)
        except BadInput as fault:
            show_fault(form, fault, otherwise="reason")
    return render_template("paths/new.html", form=form), 422


def _open_form() -> PathForm:
    form = PathForm()
    form.person.choices = [(one.id, f"{one.name}, {one.profession}") for one in people_to_discuss_with(act())]
    return form


@blueprint.get("/<path_id>")
@policy(right=Right.SEE_OWN_RECORD)
def show(path_id: str) -> Any:
    """Show a path to its person, or to the educators of its base."""
    return _page(path_id, StepForm(done_on=act().today), CloseForm())


@blueprint.post("/<path_id>/steps/<step>")
@policy(right=Right.DECIDE)
def take_step(path_id: str, step: str) -> Any:
    """Record a step."""
    form = StepForm()
    try:
        name = StepName(step)
    except ValueError:
        raise NotFound("There is no such step.") from None
    if form.validate():
        try:
            wanted = form.wanted(name)
            do_once(lambda: record_step(act(), edge().library, path_id=path_id, wanted=wanted))
            return redirect(url_for("paths.show", path_id=path_id), code=303)
        except BadInput as fault:
            show_fault(form, fault, otherwise="words")
    return _page(path_id, form, CloseForm()), 422


@blueprint.post("/<path_id>/close")
@policy(right=Right.DECIDE)
def close(path_id: str) -> Any:
    """Close the path."""
    form = CloseForm()
    if form.validate():
        try:
            outcome, words = PathOutcome(form.outcome.data), form.closing_words.data or ""
            do_once(lambda: close_path(act(), path_id=path_id, outcome=outcome, words=words))
            return redirect(url_for("paths.show", path_id=path_id), code=303)
        except BadInput as fault:
            show_fault(form, fault, otherwise="closing_words")
    return _page(path_id, StepForm(done_on=act().today), form), 422


def _page(path_id: str, form: StepForm, closing: CloseForm) -> str:
    page = path_page(act(), edge().library, path_id)
    own = page.row.person_id == act().actor.person_id
    if page.open_steps:
        form.named_id.choices = [(one.person_id, one.name) for one in page.open_steps[0].proposed]
    return render_template("paths/show.html", page=page, own=own, form=form, closing=closing)


@blueprint.get("/evidence/<person_id>")
@policy(right=Right.DECIDE)
def evidence_form(person_id: str) -> Any:
    """Show the form for outside evidence."""
    return _evidence_page(person_id, _outside_form())


@blueprint.post("/evidence/<person_id>")
@policy(right=Right.DECIDE)
def evidence(person_id: str) -> Any:
    """Recognise it, or not."""
    form = _outside_form()
    if form.validate():
        try:
            do_once(
                lambda: list(recognise_evidence(act(), edge().library, person_id=person_id, outside=form.outside()))
            )
            return redirect(url_for("decisions.show", person_id=person_id), code=303)
        except BadInput as fault:
            show_fault(form, fault, otherwise="words")
    return _evidence_page(person_id, form), 422


def _outside_form() -> OutsideForm:
    form = OutsideForm()
    choices = [(one.code, f"{one.code} {one.title}") for one in edge().library.competencies.values()]
    form.recognised.choices = choices
    form.not_recognised.choices = choices
    return form


def _evidence_page(person_id: str, form: OutsideForm) -> str:
    return render_template("paths/evidence.html", person=person_on_path(act(), person_id), form=form)
