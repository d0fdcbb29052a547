"""The sign-in form."""

from __future__ import annotations

from flask_wtf import FlaskForm
from wtforms import HiddenField, PasswordField, StringField
from wtforms.validators import InputRequired, Length


class SignInForm(FlaskForm):  # type: ignore[misc]
    """Name and password; `next` is where the person was going."""

    name = StringField("Sign-in name", validators=[InputRequired("Write your sign-in name."), Length(max=255)])
    password = PasswordField("Password", validators=[InputRequired("Write your password."), Length(max=1000)])
    next = HiddenField()
