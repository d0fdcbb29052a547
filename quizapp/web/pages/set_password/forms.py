"""The form for setting a password."""

from __future__ import annotations

from wtforms import PasswordField, StringField
from wtforms.validators import EqualTo, InputRequired, Length

from quizapp.web.forms import ActForm


class SetPasswordForm(ActForm):
    """The sign-in name and code somebody was handed, and a password of their own choice, twice."""

    sign_in_name = StringField("Sign-in name", validators=[InputRequired("Write your sign-in name."), Length(max=255)])
    code = StringField("Code", validators=[InputRequired("Write the code you were given."), Length(max=100)])
    new_password = PasswordField("New password", validators=[InputRequired("Choose a password."), Length(max=1000)])
    again = PasswordField(
        "The same once more",
        validators=[InputRequired("Write it once more."), EqualTo("new_password", "The two are not the same.")],
    )
