"""Devices in service."""

from __future__ import annotations

from datetime import date
from typing import Any

from flask import Blueprint, redirect, render_template, url_for

from quizapp.assessment.permissions import Right
from quizapp.assessment.shift_answers import AlertCause
from quizapp.errors import BadInput
from quizapp.services.devices_list import bases_to_record_for, device_listed, devices_listed
from quizapp.services.note_covers import note_covers
from quizapp.services.put_device_in_service import put_in_service, take_out_of_service
from quizapp.web.edge import act, edge
from quizapp.web.forms import do_once
from quizapp.web.pages.devices.forms import PutForm, TakeOutForm
from quizapp.web.policy import policy
from quizapp.web.signed_form import show_fault

blueprint = Blueprint("devices", __name__, template_folder="templates", url_prefix="/devices")


@blueprint.get("")
@policy(right=Right.SET_DEVICE_IN_SERVICE)
def index() -> Any:
    """List every base with its revisions, and offer to add one."""
    return _index(PutForm(from_day=act().today))


def _index(form: PutForm) -> str:
    lines = devices_listed(act())
    return render_template("devices/index.html", form=_with_choices(form), lines=lines)


def _with_choices(form: PutForm) -> PutForm:
    form.base_id.choices = [(base.id, base.name) for base in bases_to_record_for(act())]
    form.profile.choices = [(profile.slug, f"{profile.label}, {profile.name}") for profile in edge().library.profiles]
    return form


@blueprint.post("/put")
@policy(right=Right.SET_DEVICE_IN_SERVICE)
def put() -> Any:
    """Put a revision in service."""
    form = _with_choices(PutForm())
    if not form.validate():
        return _index(form), 422
    profile = edge().library.profile_files[form.profile.data].profile

    def do() -> str:
        device_id = put_in_service(
            act(),
            edge().library,
            base_id=form.base_id.data,
            profile_code=profile.code,
            profile_revision=profile.revision,
            from_day=form.from_day.required_day(),
        )
        note_covers(act(), edge().library, [form.base_id.data], AlertCause.TIME_OR_RECORD)
        return device_id

    do_once(do)
    return redirect(url_for("devices.index"), code=303)


@blueprint.get("/<device_id>/take-out")
@policy(right=Right.SET_DEVICE_IN_SERVICE)
def take_out_form(device_id: str) -> Any:
    """Ask for the last day."""
    form = TakeOutForm(until_day=act().today)
    return render_template("devices/take_out.html", line=device_listed(act(), device_id), form=form)


@blueprint.post("/<device_id>/take-out")
@policy(right=Right.SET_DEVICE_IN_SERVICE)
def take_out(device_id: str) -> Any:
    """Record the last day."""
    form, line = TakeOutForm(), device_listed(act(), device_id)
    if form.validate():
        try:
            do_once(lambda: _take_out(device_id, line.base.id, form.until_day.required_day()))
            return redirect(url_for("devices.index"), code=303)
        except BadInput as fault:
            show_fault(form, fault)
    return render_template("devices/take_out.html", line=line, form=form), 422


def _take_out(device_id: str, base_id: str, until_day: date) -> None:
    take_out_of_service(act(), device_id=device_id, until_day=until_day)
    note_covers(act(), edge().library, [base_id], AlertCause.TIME_OR_RECORD)
