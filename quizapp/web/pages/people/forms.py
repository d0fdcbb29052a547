"""The forms of the list of people."""

from __future__ import annotations

from flask_wtf.file import FileField
from wtforms import RadioField, SelectField, SelectMultipleField, StringField, TextAreaField
from wtforms.validators import InputRequired, Length, Optional

from quizapp.web.day_field import DayField
from quizapp.web.forms import ActForm
from quizapp.web.signed_form import SignedForm


class PersonForm(ActForm):
    """A new person."""

    staff_number = StringField("Staff number", validators=[InputRequired("Write the staff number."), Length(max=64)])
    name = StringField("Name", validators=[InputRequired("Write the name."), Length(max=200)])
    profession = StringField("Profession", validators=[InputRequired("Write the profession."), Length(max=100)])
    base_id = SelectField("Base", validators=[InputRequired("Choose a base.")])
    email = StringField("E-mail", validators=[Length(max=255)])
    joined_on = DayField("First day", validators=[InputRequired("Give the first day, such as 2026-03-14.")])


class ChangeForm(ActForm):
    """What is written about somebody, corrected."""

    name = StringField("Name", validators=[InputRequired("Write the name."), Length(max=200)])
    profession = StringField("Profession", validators=[InputRequired("Write the profession."), Length(max=100)])
    email = StringField("E-mail", validators=[Length(max=255)])


class MoveForm(ActForm):
    """Another base."""

    base_id = SelectField("New base", validators=[InputRequired("Choose a base.")])


class LeaveForm(SignedForm):
    """The last day."""

    left_on = DayField("Last day", validators=[InputRequired("Give the last day, such as 2026-03-14.")])


class EngagementForm(ActForm):
    """The last day of an engagement; empty for somebody who stays."""

    until_day = DayField("Last day of the engagement")


class ReturnForm(SignedForm):
    """Somebody who left is back."""

    base_id = SelectField("Base", validators=[InputRequired("Choose a base.")])
    joined_on = DayField("First day back", validators=[InputRequired("Give the day, such as 2026-03-14.")])


class AccountForm(SignedForm):
    """What is done to an account; the choices depend on how far it is."""

    what = RadioField("What to do", validators=[InputRequired("Choose what to do.")])
    sign_in_name = StringField("Sign-in name", validators=[Optional(), Length(max=64)])


class CheckRosterForm(ActForm):
    """A file, or its text pasted."""

    file = FileField("CSV file")
    text = TextAreaField("Or paste the rows here, with the header")


class CheckSignOffsForm(CheckRosterForm):
    """A file of sign-offs, with the second person who stands for them."""

    second = StringField(
        "Sign-in name of the second person", validators=[InputRequired("Name the second person."), Length(max=64)]
    )


class TakeRosterForm(SignedForm):
    """The password, and by name those who left; nobody leaves for not being in the file."""

    leaving = SelectMultipleField("Mark those who left; all others stay", choices=[], validate_choice=False)


class ConfirmForm(SignedForm):
    """The password alone."""
