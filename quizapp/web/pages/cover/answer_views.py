"""The four ways out of a shift with nobody current, each on a page of its own, and taking one back."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from flask import redirect, render_template, url_for

from quizapp.assessment.local_times import parse_local_moment
from quizapp.assessment.permissions import Right
from quizapp.errors import BadInput
from quizapp.services.answer_shift import accept_shift, bring_assessor, restrict_device, swap_member, take_back
from quizapp.services.shift_covers import ShiftSeen, shift_seen
from quizapp.services.ways_out import Ways, ways_out
from quizapp.web.edge import act, edge
from quizapp.web.filters import local_moment
from quizapp.web.forms import ActForm, do_once
from quizapp.web.pages.cover.blueprint import blueprint
from quizapp.web.pages.cover.calendar_page import when
from quizapp.web.pages.cover.forms import AcceptForm, AssessorForm, RestrictForm, SwapForm, TakeBackForm
from quizapp.web.policy import policy
from quizapp.web.signed_form import show_fault


def _seen(shift_id: str) -> tuple[ShiftSeen, Ways]:
    seen = shift_seen(act(), edge().library, shift_id)
    return seen, ways_out(act(), edge().library, seen)


def _page(name: str, seen: ShiftSeen, form: ActForm, **more: Any) -> str:
    return render_template(f"cover/{name}.html", shift=seen, when=when(seen.span, act().zone), form=form, **more)


def _done(name: str, seen: ShiftSeen, form: ActForm, do: Callable[[], object], **more: Any) -> Any:
    """Do a valid form's act and go back to the shift; otherwise show the form again with what is wrong."""
    if form.validate():
        try:
            do_once(do)
            return redirect(url_for("cover.shift", shift_id=seen.id), code=303)
        except BadInput as fault:
            show_fault(form, fault, otherwise="reason")
    return _page(name, seen, form, **more), 422


def _swap_form(seen: ShiftSeen, ways: Ways) -> SwapForm:
    form = SwapForm()
    members = sorted(seen.members, key=lambda one: one.is_current)
    form.out_id.choices = [
        (one.person_id, f"{one.name}, {one.crew_role}{'' if one.is_current else ': not current on this shift'}")
        for one in members
    ]
    form.in_id.choices = [
        (one.person_id, one.name if one.is_rested else f"{one.name}: less than 11 hours off beside another shift")
        for one in ways.substitutes
    ]
    return form


@blueprint.get("/shift/<shift_id>/swap")
@policy(right=Right.PLAN_CREWS)
def swap_form(shift_id: str) -> Any:
    """Ask who goes and who comes."""
    seen, ways = _seen(shift_id)
    return _page("swap", seen, _swap_form(seen, ways))


@blueprint.post("/shift/<shift_id>/swap")
@policy(right=Right.PLAN_CREWS)
def swap(shift_id: str) -> Any:
    """Swap."""
    seen, ways = _seen(shift_id)
    form = _swap_form(seen, ways)
    return _done("swap", seen, form, lambda: swap_member(
        act(), edge().library, shift_id, out_id=form.out_id.data, in_id=form.in_id.data, reason=form.reason.data or ""
    ))  # fmt: skip


def _assessor_form(seen: ShiftSeen, ways: Ways) -> AssessorForm:
    form = AssessorForm()
    needs = {one.person_id: one for one in ways.needs}
    form.person_id.choices = [
        (one.person_id, f"{one.name}: {', '.join(needs[one.person_id].competencies)} still open")
        for one in seen.members
        if one.person_id in needs
    ]
    form.assessor_id.choices = [
        (one.person_id, one.name if one.last_on is None else f"{one.name}, on shift {local_moment(one.last_on)}")
        for one in ways.assessors
    ]
    return form


@blueprint.get("/shift/<shift_id>/assessor")
@policy(right=Right.PLAN_CREWS)
def assessor_form(shift_id: str) -> Any:
    """Ask who is watched by whom, and when."""
    seen, ways = _seen(shift_id)
    return _page("assessor", seen, _assessor_form(seen, ways), needs=ways.needs)


@blueprint.post("/shift/<shift_id>/assessor")
@policy(right=Right.PLAN_CREWS)
def assessor(shift_id: str) -> Any:
    """Record that an assessor comes."""
    seen, ways = _seen(shift_id)
    form = _assessor_form(seen, ways)
    return _done("assessor", seen, form, lambda: bring_assessor(
        act(), shift_id, person_id=form.person_id.data, assessor_id=form.assessor_id.data, reason=form.reason.data or ""
    ), needs=ways.needs)  # fmt: skip


def _restrict_form(ways: Ways, **values: Any) -> RestrictForm:
    form = RestrictForm(**values)
    form.authority_id.choices = list(ways.authorities)
    return form


@blueprint.get("/shift/<shift_id>/restrict")
@policy(right=Right.PLAN_CREWS)
def restrict_form(shift_id: str) -> Any:
    """Ask until when, on whose authority and why; the end of the shift is proposed."""
    seen, ways = _seen(shift_id)
    proposed = seen.span.end.astimezone(act().zone).strftime("%Y-%m-%d %H:%M")
    return _page("restrict", seen, _restrict_form(ways, ends_at=proposed))


@blueprint.post("/shift/<shift_id>/restrict")
@policy(right=Right.PLAN_CREWS, reauthenticates=True)
def restrict(shift_id: str) -> Any:
    """Record that the device is not used."""
    seen, ways = _seen(shift_id)
    form = _restrict_form(ways)

    def do() -> str:
        ends_at = parse_local_moment(form.ends_at.data or "", act().zone, field="ends_at")
        return restrict_device(
            act(), shift_id, authority_id=form.authority_id.data, ends_at=ends_at, reason=form.reason.data or ""
        )

    return _done("restrict", seen, form, do)


def _accept_form(ways: Ways) -> AcceptForm:
    form = AcceptForm()
    form.authority_id.choices = list(ways.authorities)
    return form


@blueprint.get("/shift/<shift_id>/accept")
@policy(right=Right.PLAN_CREWS)
def accept_form(shift_id: str) -> Any:
    """Ask on whose authority, and why."""
    seen, ways = _seen(shift_id)
    return _page("accept", seen, _accept_form(ways))


@blueprint.post("/shift/<shift_id>/accept")
@policy(right=Right.PLAN_CREWS, reauthenticates=True)
def accept(shift_id: str) -> Any:
    """Record that the shift goes ahead."""
    seen, ways = _seen(shift_id)
    form = _accept_form(ways)
    return _done("accept", seen, form, lambda: accept_shift(
        act(), shift_id, authority_id=form.authority_id.data, reason=form.reason.data or ""
    ))  # fmt: skip


@blueprint.get("/shift/<shift_id>/answers/<answer_id>/take-back")
@policy(right=Right.PLAN_CREWS)
def take_back_form(shift_id: str, answer_id: str) -> Any:
    """Ask why."""
    seen = shift_seen(act(), edge().library, shift_id)
    return _page("take_back", seen, TakeBackForm(), answer_id=answer_id)


@blueprint.post("/shift/<shift_id>/answers/<answer_id>/take-back")
@policy(right=Right.PLAN_CREWS)
def take_answer_back(shift_id: str, answer_id: str) -> Any:
    """Take it back."""
    seen = shift_seen(act(), edge().library, shift_id)
    form = TakeBackForm()
    do = lambda: take_back(act(), answer_id, reason=form.reason.data or "")  # noqa: E731 - the act behind this form
    return _done("take_back", seen, form, do, answer_id=answer_id)
