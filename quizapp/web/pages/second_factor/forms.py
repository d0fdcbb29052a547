"""The forms of the second factor."""

from __future__ import annotations

from wtforms import HiddenField, StringField
from wtforms.validators import InputRequired, Length

from quizapp.web.forms import ActForm
from quizapp.web.signed_form import SignedForm

SIX = "Write the six digits that your app shows now."


class ShowCodeForm(ActForm):
    """A code or a recovery code at sign-in; `next` is where the person was going."""

    code = StringField("Code", validators=[InputRequired(SIX), Length(max=64)])
    next = HiddenField()


class BeginForm(ActForm):
    """A button."""


class ConfirmForm(SignedForm):
    """The first code made with a new secret, and the password."""

    code = StringField("The six digits your app shows now", validators=[InputRequired(SIX), Length(max=64)])
