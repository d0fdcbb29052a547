"""One's own places on session days."""

from __future__ import annotations

from typing import Any

from flask import Blueprint, redirect, render_template, url_for
from wtforms import StringField
from wtforms.validators import InputRequired

from quizapp.assessment.dates import day_in_words
from quizapp.assessment.permissions import Right, has_right
from quizapp.errors import BadInput
from quizapp.services.hold_place import book_place, give_up_place
from quizapp.services.my_places import MyPlaces, my_place, my_places
from quizapp.web.edge import act
from quizapp.web.forms import ActForm, at_most, do_once
from quizapp.web.policy import policy
from quizapp.web.signed_form import show_fault

blueprint = Blueprint("my_places", __name__, template_folder="templates", url_prefix="/my-places")


class GiveUpForm(ActForm):
    """Why one gives a place up."""

    reason = StringField("Why", validators=[InputRequired("Say why in a few words."), at_most(300)])


@blueprint.get("")
@policy(right=Right.BOOK_PLACE)
def show() -> Any:
    """Show the places one holds and the free ones one may take."""
    page = my_places(act())
    watches = has_right(act().actor, Right.OBSERVE, act().today)
    return render_template("my_places/show.html", page=page, finding=finding_of(page), watches=watches, form=ActForm())


def finding_of(page: MyPlaces) -> str:
    """Say in one sentence which place comes next."""
    if not page.held:
        return "You hold no place on a session day."
    first = page.held[0]
    return f"Your place is on {day_in_words(first.day)}, {first.starts_at}, {first.base_name}."


@blueprint.post("/<day_id>/take")
@policy(right=Right.BOOK_PLACE)
def take(day_id: str) -> Any:
    """Take a free place."""
    do_once(lambda: book_place(act(), day_id))
    return redirect(url_for("my_places.show"), code=303)


@blueprint.get("/<place_id>/give-up")
@policy(right=Right.BOOK_PLACE)
def give_up_form(place_id: str) -> Any:
    """Ask why."""
    return render_template("my_places/give_up.html", place=my_place(act(), place_id), form=GiveUpForm())


@blueprint.post("/<place_id>/give-up")
@policy(right=Right.BOOK_PLACE)
def give_up(place_id: str) -> Any:
    """Give one's place up."""
    place, form = my_place(act(), place_id), GiveUpForm()
    if form.validate():
        try:
            do_once(lambda: give_up_place(act(), place_id, reason=form.reason.data or ""))
            return redirect(url_for("my_places.show"), code=303)
        except BadInput as fault:
            show_fault(form, fault, otherwise="reason")
    return render_template("my_places/give_up.html", place=place, form=form), 422
