"""Files taken over: checked first, with every fault and the difference; then confirmed with the password."""

from __future__ import annotations

from typing import Any

from flask import redirect, render_template, request, url_for

from quizapp.assessment.permissions import Right
from quizapp.errors import BadInput, ContentFaults
from quizapp.services.import_drafts import DraftKind, drop_draft, keep_draft, own_draft
from quizapp.services.import_people import import_people, plan_import
from quizapp.services.import_sign_offs import plan_sign_offs, second_person
from quizapp.services.last_assessors import bases_losing_their_assessors
from quizapp.services.note_covers import note_covers_of_people
from quizapp.services.people_list import bases
from quizapp.web.edge import act, edge
from quizapp.web.forms import do_once
from quizapp.web.pages.people.forms import CheckRosterForm, CheckSignOffsForm, TakeRosterForm
from quizapp.web.pages.people.views import blueprint
from quizapp.web.policy import policy
from quizapp.web.signed_form import show_fault

LARGEST_FILE = 20 * 1_048_576
TAKES_FILES = {"people.check_roster", "people.check_sign_offs"}
PASTED = "pasted rows"
MOST_SHOWN = 200


@blueprint.url_value_preprocessor
def _let_files_be_large(endpoint: str | None, _values: dict[str, Any] | None) -> None:
    """Only here may a request be larger than a form; set before anything reads the form."""
    if endpoint in TAKES_FILES:
        request.max_content_length = LARGEST_FILE
        request.max_form_memory_size = LARGEST_FILE


def _sent(form: CheckRosterForm) -> tuple[bytes, str]:
    """Return what was sent and its name; raise BadInput when nothing was."""
    if form.file.data:
        return form.file.data.read(), form.file.data.filename or "file"
    if form.text.data and form.text.data.strip():
        return form.text.data.encode("utf-8", "surrogatepass"), PASTED
    raise BadInput("Choose a file or paste its rows.", field="file")


@blueprint.get("/import")
@policy(right=Right.IMPORT_PEOPLE)
def roster() -> Any:
    """Ask for the file."""
    return _roster_page(CheckRosterForm())


def _roster_page(form: CheckRosterForm, faults: Any = ()) -> str:
    codes = [base.code for base in bases(act())]
    return render_template("people/import.html", form=form, faults=faults, codes=codes)


@blueprint.post("/import")
@policy(right=Right.IMPORT_PEOPLE)
def check_roster() -> Any:
    """Check the file; with faults show them all, else keep it and show what would change."""
    form = CheckRosterForm()
    if not form.validate():
        return _roster_page(form), 422
    try:
        content, name = _sent(form)
    except BadInput as fault:
        show_fault(form, fault)
        return _roster_page(form), 422
    plan = plan_import(act(), content=content, path=name)
    if plan.errors:
        return _roster_page(form, plan.faults), 422
    draft_id = keep_draft(act(), DraftKind.PEOPLE, file_name=name, content=content)
    return redirect(url_for("people.roster_draft", draft_id=draft_id), code=303)


@blueprint.get("/import/<draft_id>")
@policy(right=Right.IMPORT_PEOPLE)
def roster_draft(draft_id: str) -> Any:
    """Show what taking the file over would change."""
    return _draft_page(draft_id, TakeRosterForm())


def _draft_page(draft_id: str, form: TakeRosterForm) -> str:
    draft = own_draft(act(), DraftKind.PEOPLE, draft_id)
    plan = plan_import(act(), content=draft.content, path=draft.file_name)
    form.leaving.choices = [
        (one.person_id, f"{one.name}, {one.staff_number}, {one.base}") for one in plan.absent[:MOST_SHOWN]
    ]
    movers = [one.person_id for one in plan.movers]
    return render_template(
        "people/import_draft.html", form=form, draft=draft, plan=plan, most=MOST_SHOWN,
        lost=bases_losing_their_assessors(act(), movers),
        at_risk=bases_losing_their_assessors(act(), [*movers, *(one.person_id for one in plan.absent)]),
    )  # fmt: skip


@blueprint.post("/import/<draft_id>")
@policy(right=Right.IMPORT_PEOPLE, reauthenticates=True)
def take_roster(draft_id: str) -> Any:
    """Take the file over."""
    form = TakeRosterForm()
    if not form.validate():
        return _draft_page(draft_id, form), 422
    try:
        done = do_once(lambda: _take_roster(draft_id, form.leaving.data or []))
    except BadInput as fault:
        show_fault(form, fault)
        return _draft_page(draft_id, form), 422
    except ContentFaults as found:
        return _roster_page(CheckRosterForm(formdata=None), found.faults), 409
    return redirect(url_for("people.imported", **done), code=303)


def _take_roster(draft_id: str, leaving: list[str]) -> dict[str, int]:
    draft = own_draft(act(), DraftKind.PEOPLE, draft_id)
    plan = import_people(act(), content=draft.content, path=draft.file_name, leaving=leaving)
    note_covers_of_people(act(), edge().library, [*leaving, *(one.person_id for one in plan.movers)])
    drop_draft(act(), draft_id)
    return {"new": len(plan.new), "changed": len(plan.changed), "same": plan.same_count, "left": len(set(leaving))}


@blueprint.get("/imported")
@policy(right=Right.IMPORT_PEOPLE)
def imported() -> Any:
    """Say what was done; the numbers come from the address, so only whole numbers are shown."""
    counts = {name: request.args.get(name, "0") for name in ("new", "changed", "same", "left")}
    shown = {
        name: text if text.isascii() and text.isdigit() and len(text) < 8 else "0" for name, text in counts.items()
    }
    return render_template("people/imported.html", counts=shown)


@blueprint.get("/sign-offs")
@policy(right=Right.IMPORT_PEOPLE)
def sign_offs() -> Any:
    """Ask for the file of sign-offs given elsewhere."""
    return sign_offs_page(CheckSignOffsForm())


def sign_offs_page(form: CheckSignOffsForm, faults: Any = ()) -> str:
    """Return the page that asks for a list, with the faults of one that was sent."""
    library = edge().library
    profiles = [profile.label for profile in library.profiles]
    return render_template(
        "people/sign_offs.html", form=form, faults=faults, competencies=sorted(library.competencies), profiles=profiles
    )


@blueprint.post("/sign-offs")
@policy(right=Right.IMPORT_PEOPLE)
def check_sign_offs() -> Any:
    """Check the file; with faults show them all, else keep it and show what would be recognised."""
    form = CheckSignOffsForm()
    if not form.validate():
        return sign_offs_page(form), 422
    try:
        second_by = second_person(act(), sign_in_name=form.second.data or "")
        content, name = _sent(form)
    except BadInput as fault:
        show_fault(form, fault)
        return sign_offs_page(form), 422
    plan = plan_sign_offs(act(), edge().library, content=content, path=name, second_by=second_by)
    if plan.errors:
        return sign_offs_page(form, plan.faults), 422
    draft_id = keep_draft(act(), DraftKind.SIGN_OFFS, file_name=name, content=content, second_by=second_by)
    return redirect(url_for("people.sign_offs_first", draft_id=draft_id), code=303)
