"""The form for changing one's own password."""

from __future__ import annotations

from wtforms import PasswordField
from wtforms.validators import EqualTo, InputRequired, Length

from quizapp.web.signed_form import SignedForm


class ChangePasswordForm(SignedForm):
    """The password now, and a new one twice."""

    new_password = PasswordField("New password", validators=[InputRequired("Choose a password."), Length(max=1000)])
    again = PasswordField(
        "The new one once more",
        validators=[InputRequired("Write it once more."), EqualTo("new_password", "The two are not the same.")],
    )
