"""The card: device, setting, scenario, who else marks; from the assessor's own eyes or from a paper sheet."""

from __future__ import annotations

from dataclasses import replace
from datetime import time
from typing import Any

from flask import redirect, render_template, request, url_for

from quizapp.assessment.observation_setting import ObservationSetting
from quizapp.assessment.permissions import Right
from quizapp.errors import BadInput, NotFound
from quizapp.services.assessor_currency import assessor_currency
from quizapp.services.enter_paper_record import assessors_then, enter_paper_record
from quizapp.services.open_observation import (
    Watched,
    devices_for,
    open_observation,
    people_to_observe,
    person_to_observe,
)
from quizapp.services.performance_pairs import sheets_to_join
from quizapp.services.procedures_in_force import procedure_in_force
from quizapp.web.edge import act, edge
from quizapp.web.forms import do_once
from quizapp.web.pages.observe.blueprint import blueprint
from quizapp.web.pages.observe.forms import CardForm, PaperForm
from quizapp.web.policy import policy

MOST_OTHERS = 12
MOST_OFFERED = 40


@blueprint.get("/observe/card")
@policy(right=Right.OBSERVE)
def card() -> Any:
    """Settle device, setting and the steps the scenario calls for."""
    return _card(CardForm(person=request.args.get("person", ""), procedure=request.args.get("procedure", "")))


@blueprint.post("/observe/card")
@policy(right=Right.OBSERVE)
def open_sheet() -> Any:
    """Open the sheet and go to it; with sheets for several people, go to the list of them."""
    form = CardForm()
    _offer(form)
    if not form.validate():
        return _card(form), 422
    try:
        opened = do_once(lambda: _open(form))
    except BadInput as problem:
        getattr(form, problem.field).errors = [str(problem)]
        return _card(form), 422
    if len(opened) > 1:
        return redirect(url_for("observe.index"), code=303)
    return redirect(url_for("observe.sheet", observation_id=opened[0]), code=303)


def _open(form: CardForm) -> list[str]:
    """Open one sheet, and one each for the others of the day; what concerns one person is not said of the others."""
    watched = _watched(form)
    plain = replace(watched, connection="", together_with="")
    wanted = [(str(form.person.data), watched)]
    wanted += [(person_id, plain) for person_id in (form.others.data or [])[:MOST_OTHERS]]
    current = assessor_currency(edge().library)
    return [
        open_observation(
            act(),
            library=edge().library,
            person_id=person_id,
            procedure_code=str(form.procedure.data),
            watched=each,
            is_current=current,
        )
        for person_id, each in wanted
    ]


def _watched(form: CardForm) -> Watched:
    code, _, revision = str(form.device.data).rpartition("-")
    return Watched(
        profile_code=code,
        profile_revision=int(revision),
        setting=ObservationSetting(form.setting.data),
        presented=frozenset(form.presented.data or []),
        connection=form.connection.data or "",
        together_with=form.together.data or "",
    )


def _offer(form: CardForm) -> None:
    """Give the form what the person's base and the procedure have to choose from."""
    if not form.person.data or not form.procedure.data:
        raise NotFound("Choose a person and a procedure first, then settle the card.")
    person = person_to_observe(act(), form.person.data)
    procedure = procedure_in_force(act(), edge().library, form.procedure.data)
    devices = devices_for(act(), person)
    form.device.choices = [(f"{code}-{revision}", f"{code} revision {revision}") for code, revision in devices]
    steps = [step for step in procedure.steps if step.conditional]
    form.presented.choices = [(step.letter, f"{step.letter}, {step.text}") for step in steps]
    if len(devices) == 1 and form.device.data is None:
        form.device.data = form.device.choices[0][0]
    joined = sheets_to_join(act(), person_id=person.id, procedure=procedure.code)
    with_others = [(one.id, f"I and {one.assessor_name}, each on a sheet of our own") for one in joined]
    form.together.choices = [("", "I alone"), *with_others]
    same_base = [one for one in people_to_observe(act()) if one.base_id == person.base_id and one.id != person.id]
    form.others.choices = [(one.id, f"{one.name}, {one.profession}") for one in same_base[:MOST_OFFERED]]


def _card(form: CardForm) -> str:
    _offer(form)
    doing, library = act(), edge().library
    procedure = library.procedure(str(form.procedure.data))
    current = assessor_currency(library)
    return render_template(
        "observe/card.html",
        form=form,
        procedure=procedure,
        person=person_to_observe(doing, str(form.person.data)),
        may_sign=current(doing, person_id=doing.actor.person_id, competencies=procedure.competencies),
    )


@blueprint.get("/observe/paper")
@policy(right=Right.OBSERVE)
def paper() -> Any:
    """Settle the card of a record on paper."""
    return _paper(PaperForm(person=request.args.get("person", ""), procedure=request.args.get("procedure", "")))


@blueprint.post("/observe/paper")
@policy(right=Right.OBSERVE)
def enter_paper() -> Any:
    """Open the sheet on which the paper is written over."""
    form = PaperForm()
    _offer_paper(form)
    if not form.validate():
        return _paper(form), 422
    try:
        observation_id = do_once(lambda: _enter(form))
    except BadInput as problem:
        getattr(form, problem.field).errors = [str(problem)]
        return _paper(form), 422
    return redirect(url_for("observe.sheet", observation_id=observation_id), code=303)


def _enter(form: PaperForm) -> str:
    return enter_paper_record(
        act(),
        library=edge().library,
        person_id=str(form.person.data),
        procedure_code=str(form.procedure.data),
        watched=_watched(form),
        assessor_id=str(form.assessor.data),
        watched_on=form.watched_on.required_day(),
        watched_from=form.watched_from.data or time(),
    )


def _offer_paper(form: PaperForm) -> None:
    _offer(form)
    person = person_to_observe(act(), str(form.person.data))
    day = form.watched_on.data or act().today
    form.assessor.choices = [(one.id, one.name) for one in assessors_then(act(), person, day)]


def _paper(form: PaperForm) -> str:
    _offer_paper(form)
    return render_template(
        "observe/paper.html",
        form=form,
        procedure=edge().library.procedure(str(form.procedure.data)),
        person=person_to_observe(act(), str(form.person.data)),
    )
