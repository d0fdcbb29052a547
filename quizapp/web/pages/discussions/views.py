"""Holding a structured discussion and signing it."""

from __future__ import annotations

from typing import Any

from flask import Blueprint, redirect, render_template, request, url_for

from quizapp.assessment.permissions import Right
from quizapp.content.markdown_text import to_html
from quizapp.errors import BadInput
from quizapp.services.assessor_currency import assessor_currency
from quizapp.services.discussions import (
    DiscussionKept,
    DiscussionSheet,
    critical_errors_of,
    discard_discussion,
    discussion_sheet,
    my_discussions,
    open_discussion,
    people_to_discuss_with,
    save_discussion,
)
from quizapp.services.sign_discussion import (
    OUTCOME_WORDS,
    discussion_intent,
    prepare_discussion,
    sign_discussion,
)
from quizapp.services.signing import signatures_of
from quizapp.web.edge import act, edge
from quizapp.web.forms import ActForm, do_once
from quizapp.web.markup import trusted
from quizapp.web.pages.discussions.forms import DiscardForm, OpenForm, SignForm, kept_from
from quizapp.web.policy import policy
from quizapp.web.signed_form import show_fault

blueprint = Blueprint("discussions", __name__, template_folder="templates", url_prefix="/discussions")


@blueprint.get("")
@policy(right=Right.DISCUSS)
def index() -> Any:
    """List one's own discussions."""
    lines = my_discussions(act())
    return render_template(
        "discussions/index.html",
        open_ones=[one for one in lines if not one.is_signed],
        signed=[one for one in lines if one.is_signed],
        guides=list(edge().library.discussions.values()),
    )


@blueprint.get("/guides/<code>")
@policy(right=Right.PREVIEW_CONTENT)
def guide(code: str) -> Any:
    """Show a guide to those who accept or withdraw content; who discusses it reads it while holding the discussion."""
    found = edge().library.discussion(code)
    errors = critical_errors_of(edge().library, found)
    return render_template("discussions/guide.html", guide=found, errors=errors, case=trusted(to_html(found.case)))


@blueprint.get("/new")
@policy(right=Right.DISCUSS)
def new() -> Any:
    """Choose a person and a discussion."""
    return render_template("discussions/new.html", form=_open_form())


@blueprint.post("/new")
@policy(right=Right.DISCUSS)
def begin() -> Any:
    """Open the discussion."""
    form = _open_form()
    if form.validate():
        try:
            discussion_id = do_once(
                lambda: open_discussion(
                    act(),
                    edge().library,
                    person_id=form.person.data,
                    code=form.code.data,
                    connection=form.connection.data or "",
                )
            )
            return redirect(url_for("discussions.show", discussion_id=discussion_id), code=303)
        except BadInput as fault:
            show_fault(form, fault, otherwise="code")
    return render_template("discussions/new.html", form=form), 422


def _open_form() -> OpenForm:
    form = OpenForm()
    form.person.choices = [(one.id, f"{one.name}, {one.profession}") for one in people_to_discuss_with(act())]
    form.code.choices = [
        (one.code, f"{one.code} {one.title} ({one.competency}, {one.minutes} min)")
        for one in edge().library.discussions.values()
    ]
    return form


@blueprint.get("/<discussion_id>")
@policy(right=Right.SEE_OWN_RECORD)
def show(discussion_id: str) -> Any:
    """Show the sheet to its holder, and once it is signed the record to whoever may see it."""
    sheet = discussion_sheet(act(), discussion_id)
    if sheet.row.signature_id is not None or sheet.row.discarded_at is not None:
        signatures = signatures_of(act(), sheet.row.id)
        own = sheet.row.person_id == act().actor.person_id
        return render_template(
            "discussions/record.html", sheet=sheet, words=OUTCOME_WORDS, signatures=signatures, own=own
        )
    return _sheet_page(sheet, sheet.kept)


@blueprint.post("/<discussion_id>")
@policy(right=Right.DISCUSS)
def keep(discussion_id: str) -> Any:
    """Keep what was written down; with `next` sign, go on to the page on which it is signed."""
    sheet = discussion_sheet(act(), discussion_id)
    kept = kept_from(sheet.guide, request.form, request.form.getlist("critical_errors"))
    try:
        wants_to_sign = request.form.get("next") == "sign"
        intent_id = do_once(lambda: _kept(discussion_id, kept, wants_to_sign=wants_to_sign))
    except BadInput as fault:
        return _sheet_page(sheet, kept, fault=fault), 422
    if not wants_to_sign:
        return redirect(url_for("discussions.show", discussion_id=discussion_id, kept=1), code=303)
    return redirect(url_for("discussions.show_signing", intent_id=intent_id), code=303)


def _kept(discussion_id: str, kept: DiscussionKept, *, wants_to_sign: bool) -> str:
    save_discussion(act(), edge().library, discussion_id=discussion_id, kept=kept)
    if not wants_to_sign:
        return ""
    is_current = assessor_currency(edge().library)
    return prepare_discussion(act(), discussion_id=discussion_id, is_current=is_current)


def _sheet_page(sheet: DiscussionSheet, kept: DiscussionKept, *, fault: BadInput | None = None) -> str:
    return render_template(
        "discussions/sheet.html",
        sheet=sheet,
        kept=kept,
        case=trusted(to_html(sheet.guide.case)),
        errors=[(error, error) for error in critical_errors_of(edge().library, sheet.guide)],
        faults={fault.field: str(fault)} if fault else {},
        just_kept=request.args.get("kept", "") == "1",
        form=ActForm(),
    )


@blueprint.get("/<discussion_id>/discard")
@policy(right=Right.DISCUSS)
def discard_form(discussion_id: str) -> Any:
    """Ask why."""
    return render_template("discussions/discard.html", sheet=discussion_sheet(act(), discussion_id), form=DiscardForm())


@blueprint.post("/<discussion_id>/discard")
@policy(right=Right.DISCUSS)
def discard(discussion_id: str) -> Any:
    """Set it aside."""
    form, sheet = DiscardForm(), discussion_sheet(act(), discussion_id)
    if form.validate():
        try:
            do_once(lambda: discard_discussion(act(), discussion_id=discussion_id, reason=form.reason.data or ""))
            return redirect(url_for("discussions.index"), code=303)
        except BadInput as fault:
            show_fault(form, fault, otherwise="reason")
    return render_template("discussions/discard.html", sheet=sheet, form=form), 422


@blueprint.get("/sign/<intent_id>")
@policy(right=Right.DISCUSS)
def show_signing(intent_id: str) -> Any:
    """Show exactly what will be signed."""
    return _signing_page(intent_id, SignForm())


@blueprint.post("/sign/<intent_id>")
@policy(right=Right.DISCUSS, reauthenticates=True)
def sign(intent_id: str) -> Any:
    """Sign it with the password in this request."""
    form = SignForm()
    if not form.validate():
        return _signing_page(intent_id, form), 422
    try:
        is_current = assessor_currency(edge().library)
        discussion_id = do_once(
            lambda: sign_discussion(
                act(), intent_id=intent_id, password=form.password.data or "", is_current=is_current
            )
        )
    except BadInput as fault:
        show_fault(form, fault, otherwise="password")
        return _signing_page(intent_id, form), 422
    return redirect(url_for("discussions.show", discussion_id=discussion_id), code=303)


def _signing_page(intent_id: str, form: SignForm) -> str:
    intent = discussion_intent(act(), intent_id)
    return render_template("discussions/sign.html", intent=intent, statement=intent.statement, form=form)
