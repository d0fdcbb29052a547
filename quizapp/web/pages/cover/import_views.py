"""Crews taken over from a file: checked first, with every fault and the difference; then all of it, or nothing."""

from __future__ import annotations

from typing import Any

from flask import redirect, render_template, request, url_for

from quizapp.assessment.crew_plan import CrewPlan
from quizapp.assessment.permissions import Right
from quizapp.errors import BadInput, ContentFaults
from quizapp.services.import_crews import bases_planned, import_crews, plan_crew_import
from quizapp.services.import_drafts import Draft, DraftKind, drop_draft, keep_draft, own_draft
from quizapp.web.edge import act, edge
from quizapp.web.forms import do_once
from quizapp.web.pages.cover.blueprint import blueprint
from quizapp.web.pages.cover.calendar_page import when
from quizapp.web.pages.cover.forms import CheckCrewsForm, TakeCrewsForm
from quizapp.web.policy import policy
from quizapp.web.signed_form import show_fault

LARGEST_FILE = 20 * 1_048_576
PASTED = "pasted rows"
MOST_SHOWN = 200


@blueprint.url_value_preprocessor
def _let_files_be_large(endpoint: str | None, _values: dict[str, Any] | None) -> None:
    """Only here may a request be larger than a form; set before anything reads the form."""
    if endpoint == "cover.check_crews":
        request.max_content_length = LARGEST_FILE
        request.max_form_memory_size = LARGEST_FILE


def _sent(form: CheckCrewsForm) -> tuple[bytes, str]:
    if form.file.data:
        return form.file.data.read(), form.file.data.filename or "file"
    if form.text.data and form.text.data.strip():
        return form.text.data.encode("utf-8", "surrogatepass"), PASTED
    raise BadInput("Choose a file or paste its rows.", field="file")


def _file_page(form: CheckCrewsForm, faults: Any = ()) -> str:
    return render_template("cover/import.html", form=form, faults=faults, codes=sorted(bases_planned(act())))


@blueprint.get("/import")
@policy(right=Right.PLAN_CREWS)
def crews() -> Any:
    """Ask for the file."""
    return _file_page(CheckCrewsForm())


@blueprint.post("/import")
@policy(right=Right.PLAN_CREWS)
def check_crews() -> Any:
    """Check the file; with faults show them all, else keep it and show what would change."""
    form = CheckCrewsForm()
    if not form.validate():
        return _file_page(form), 422
    try:
        content, name = _sent(form)
    except BadInput as fault:
        show_fault(form, fault)
        return _file_page(form), 422
    plan = plan_crew_import(act(), content=content, path=name)
    if plan.errors:
        return _file_page(form, plan.faults), 422
    draft_id = keep_draft(act(), DraftKind.CREWS, file_name=name, content=content)
    return redirect(url_for("cover.crews_draft", draft_id=draft_id), code=303)


@blueprint.get("/import/<draft_id>")
@policy(right=Right.PLAN_CREWS)
def crews_draft(draft_id: str) -> Any:
    """Show what taking the file over would change."""
    draft = own_draft(act(), DraftKind.CREWS, draft_id)
    plan = plan_crew_import(act(), content=draft.content, path=draft.file_name)
    return _draft_page(draft, plan, _take_form(plan))


def _take_form(plan: CrewPlan) -> TakeCrewsForm:
    form = TakeCrewsForm()
    form.remove.choices = [
        (one.shift_id, f"{one.crew}, {when(one.span, act().zone)}") for one in plan.absent[:MOST_SHOWN]
    ]
    return form


def _draft_page(draft: Draft, plan: CrewPlan, form: TakeCrewsForm) -> str:
    new = [(row.base, row.crew, when(row.span, act().zone), len(row.members)) for row in plan.new[:MOST_SHOWN]]
    changed = [
        (one.row.base, one.row.crew, when(one.row.span, act().zone), ", ".join(one.joining), ", ".join(one.leaving),
         one.is_otherwise_changed)
        for one in plan.changed[:MOST_SHOWN]
    ]  # fmt: skip
    return render_template("cover/import_draft.html", draft=draft, plan=plan, form=form, new=new, changed=changed)


@blueprint.post("/import/<draft_id>")
@policy(right=Right.PLAN_CREWS)
def take_crews(draft_id: str) -> Any:
    """Take the file over."""
    chosen = request.form.getlist("remove")
    try:
        do_once(lambda: _take(draft_id, chosen))
    except ContentFaults as found:
        return _file_page(CheckCrewsForm(formdata=None), found.faults), 409
    except BadInput as fault:
        draft = own_draft(act(), DraftKind.CREWS, draft_id)
        plan = plan_crew_import(act(), content=draft.content, path=draft.file_name)
        form = _take_form(plan)
        show_fault(form, fault)
        return _draft_page(draft, plan, form), 422
    return redirect(url_for("cover.show"), code=303)


def _take(draft_id: str, chosen: list[str]) -> dict[str, int]:
    draft = own_draft(act(), DraftKind.CREWS, draft_id)
    plan, lost = import_crews(act(), edge().library, content=draft.content, path=draft.file_name, remove=chosen)
    drop_draft(act(), draft_id)
    return {"new": len(plan.new), "changed": len(plan.changed), "uncovered": len(lost)}
