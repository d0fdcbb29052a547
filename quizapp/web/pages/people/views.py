"""The list of people, one person, and what an administrator does about either."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar

from flask import Blueprint, redirect, render_template, request, url_for
from wtforms import SelectField

from quizapp.assessment.permissions import Right
from quizapp.errors import BadInput
from quizapp.services.end_belonging import set_engagement
from quizapp.services.last_assessors import bases_losing_their_assessors
from quizapp.services.note_covers import note_covers_of_people
from quizapp.services.people import (
    PersonEntered,
    add_person,
    change_person,
    leave_person,
    move_person,
    return_person,
)
from quizapp.services.people_list import MOST_LISTED, bases, people_count, people_listed, person_listed
from quizapp.services.recognise_sign_offs import sign_offs_waiting
from quizapp.services.role_lists import roles_of_person
from quizapp.web.edge import act, edge
from quizapp.web.forms import ActForm, do_once
from quizapp.web.pages.people.forms import ChangeForm, EngagementForm, LeaveForm, MoveForm, PersonForm, ReturnForm
from quizapp.web.policy import policy
from quizapp.web.signed_form import show_fault

blueprint = Blueprint("people", __name__, template_folder="templates", url_prefix="/people")


@blueprint.get("")
@policy(right=Right.IMPORT_PEOPLE)
def index() -> Any:
    """List people, or those of whom a text is part."""
    search = request.args.get("search", "")[:100]
    found = people_listed(act(), search)
    return render_template(
        "people/index.html",
        people=found,
        count=people_count(act()),
        search=search,
        most=MOST_LISTED,
        lists=len(sign_offs_waiting(act())),
        signed=bool(request.args.get("signed")),
    )


@blueprint.get("/new")
@policy(right=Right.IMPORT_PEOPLE)
def new() -> Any:
    """Show an empty form."""
    return render_template("people/new.html", form=_with_bases(PersonForm(joined_on=act().today)))


@blueprint.post("/new")
@policy(right=Right.IMPORT_PEOPLE)
def add() -> Any:
    """Add a person."""
    form = _with_bases(PersonForm())
    if form.validate():
        entered = PersonEntered(
            staff_number=form.staff_number.data or "",
            name=form.name.data or "",
            profession=form.profession.data or "",
            base_id=form.base_id.data,
            email=form.email.data or "",
            joined_on=form.joined_on.required_day(),
        )
        try:
            person_id = do_once(lambda: add_person(act(), entered))
            return redirect(url_for("people.show", person_id=person_id), code=303)
        except BadInput as fault:
            show_fault(form, fault)
    return render_template("people/new.html", form=form), 422


@blueprint.get("/<person_id>")
@policy(right=Right.IMPORT_PEOPLE)
def show(person_id: str) -> Any:
    """Show one person."""
    person = person_listed(act(), person_id)
    return render_template("people/show.html", person=person, roles=roles_of_person(act(), person_id))


@blueprint.get("/<person_id>/change")
@policy(right=Right.IMPORT_PEOPLE)
def change_form(person_id: str) -> Any:
    """Show the entry to be corrected."""
    person = person_listed(act(), person_id)
    form = ChangeForm(name=person.name, profession=person.profession, email=person.email)
    return render_template("people/change.html", person=person, form=form)


@blueprint.post("/<person_id>/change")
@policy(right=Right.IMPORT_PEOPLE)
def change(person_id: str) -> Any:
    """Correct the entry."""
    form = ChangeForm()

    def do() -> None:
        change_person(
            act(),
            person_id=person_id,
            name=form.name.data or "",
            profession=form.profession.data or "",
            email=form.email.data or "",
        )

    return _done_to(person_id, form, "people/change.html", do)


@blueprint.get("/<person_id>/move")
@policy(right=Right.IMPORT_PEOPLE)
def move_form(person_id: str) -> Any:
    """Ask for the new base."""
    person, lost = person_listed(act(), person_id), bases_losing_their_assessors(act(), [person_id])
    return render_template("people/move.html", person=person, form=_with_bases(MoveForm()), lost=lost)


@blueprint.post("/<person_id>/move")
@policy(right=Right.IMPORT_PEOPLE)
def move(person_id: str) -> Any:
    """Move the person."""
    form = _with_bases(MoveForm())

    def do() -> None:
        move_person(act(), person_id=person_id, base_id=form.base_id.data)
        note_covers_of_people(act(), edge().library, [person_id])

    return _done_to(person_id, form, "people/move.html", do)


@blueprint.get("/<person_id>/leave")
@policy(right=Right.IMPORT_PEOPLE)
def leave_form(person_id: str) -> Any:
    """Ask for the last day."""
    form, lost = LeaveForm(left_on=act().today), bases_losing_their_assessors(act(), [person_id])
    return render_template("people/leave.html", person=person_listed(act(), person_id), form=form, lost=lost)


@blueprint.post("/<person_id>/leave")
@policy(right=Right.IMPORT_PEOPLE, reauthenticates=True)
def leave(person_id: str) -> Any:
    """Record that the person left."""
    form = LeaveForm()

    def do() -> None:
        leave_person(act(), person_id=person_id, left_on=form.left_on.required_day())
        note_covers_of_people(act(), edge().library, [person_id])

    return _done_to(person_id, form, "people/leave.html", do)


@blueprint.get("/<person_id>/engagement")
@policy(right=Right.IMPORT_PEOPLE)
def engagement_form(person_id: str) -> Any:
    """Ask for the last day of an engagement."""
    person = person_listed(act(), person_id)
    form = EngagementForm(until_day=person.engaged_until)
    return render_template("people/engagement.html", person=person, form=form)


@blueprint.post("/<person_id>/engagement")
@policy(right=Right.IMPORT_PEOPLE)
def engage(person_id: str) -> Any:
    """Set the last day of an engagement."""
    form = EngagementForm()

    def do() -> None:
        set_engagement(act(), person_id=person_id, until_day=form.until_day.data)

    return _done_to(person_id, form, "people/engagement.html", do)


@blueprint.get("/<person_id>/return")
@policy(right=Right.IMPORT_PEOPLE)
def return_form(person_id: str) -> Any:
    """Ask where and from when."""
    form = _with_bases(ReturnForm(joined_on=act().today))
    return render_template("people/return.html", person=person_listed(act(), person_id), form=form)


@blueprint.post("/<person_id>/return")
@policy(right=Right.IMPORT_PEOPLE, reauthenticates=True)
def come_back(person_id: str) -> Any:
    """Record that the person is back."""
    form = _with_bases(ReturnForm())

    def do() -> None:
        return_person(act(), person_id=person_id, base_id=form.base_id.data, joined_on=form.joined_on.required_day())

    return _done_to(person_id, form, "people/return.html", do)


def _done_to(person_id: str, form: ActForm, template: str, do: Callable[[], None]) -> Any:
    """Do one act to a person and show the person, or the form again with what is wrong."""
    person = person_listed(act(), person_id)
    if form.validate():
        try:
            do_once(do)
            return redirect(url_for("people.show", person_id=person_id), code=303)
        except BadInput as fault:
            show_fault(form, fault)
    lost = bases_losing_their_assessors(act(), [person_id])
    return render_template(template, person=person, form=form, lost=lost), 422


Form = TypeVar("Form", bound=ActForm)


def _with_bases(form: Form) -> Form:
    """Fill the choice of bases."""
    field: SelectField = form["base_id"]
    field.choices = [(base.id, base.name) for base in bases(act())]
    return form
