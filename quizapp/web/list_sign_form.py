"""The form by which a list that was shown is signed: what was shown by its hash, and the password."""

from __future__ import annotations

from wtforms import HiddenField, PasswordField
from wtforms.validators import InputRequired, Length

from quizapp.services.accounts import own_sign_in_name
from quizapp.web.edge import act
from quizapp.web.forms import ActForm

MOST_SHOWN = 200


class ListSignForm(ActForm):
    """The password for this signature, and the hash of the exact bytes that were shown."""

    shown_hash = HiddenField()
    password = PasswordField(
        "Your password, for this signature", validators=[InputRequired("Write your password."), Length(max=1000)]
    )

    @property
    def username(self) -> str:
        """The sign-in name the password goes with, so that a password keeper finds the right one."""
        return own_sign_in_name(act())
