"""The forms about content; each asks for the password."""

from __future__ import annotations

from wtforms import SelectField, SelectMultipleField, TextAreaField
from wtforms.validators import InputRequired, Length

from quizapp.services.accept_content import LONGEST_TEXT
from quizapp.web.signed_form import SignedForm


class AcceptForm(SignedForm):
    """Which items, and where local procedure differs from them."""

    items = SelectMultipleField("Not accepted yet", validators=[InputRequired("Choose at least one item.")])
    local_changes = TextAreaField("Where local procedure differs", validators=[Length(max=LONGEST_TEXT)])


class WithdrawForm(SignedForm):
    """What of it, and why."""

    step = SelectField("What")
    reason = TextAreaField("Why", validators=[InputRequired("Say why."), Length(max=LONGEST_TEXT)])


class LiftForm(SignedForm):
    """The password alone."""
