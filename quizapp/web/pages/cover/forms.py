"""The forms about crews and shifts."""

from __future__ import annotations

from flask_wtf.file import FileField
from wtforms import RadioField, SelectField, SelectMultipleField, StringField, TextAreaField
from wtforms.validators import InputRequired, Length
from wtforms.widgets import CheckboxInput, ListWidget

from quizapp.web.forms import ActForm, at_most
from quizapp.web.signed_form import SignedForm

LONGEST_REASON = 1000


class SwapForm(ActForm):
    """Who goes, who comes, and what was agreed."""

    out_id = RadioField("Who goes off this crew", validators=[InputRequired("Choose who goes.")])
    in_id = RadioField("Who comes on", validators=[InputRequired("Choose who comes.")])
    reason = TextAreaField("What was agreed", validators=[at_most(LONGEST_REASON)])


class AssessorForm(ActForm):
    """Who is watched by whom, and when."""

    person_id = RadioField("Who is watched", validators=[InputRequired("Choose a member of the crew.")])
    assessor_id = SelectField("Assessor", validators=[InputRequired("Choose an assessor.")])
    reason = TextAreaField(
        "When and where", validators=[InputRequired("Write when and where."), at_most(LONGEST_REASON)]
    )


class RestrictForm(SignedForm):
    """Until when the device is not used, on whose authority, and why."""

    authority_id = SelectField("On whose authority", validators=[InputRequired("Name somebody who answers for it.")])
    ends_at = StringField("Until", validators=[InputRequired("Give the day and time."), Length(max=40)])
    reason = TextAreaField("What is used instead, and why", validators=[
        InputRequired("Write it in a sentence; the crew reads it."), at_most(LONGEST_REASON)])  # fmt: skip


class AcceptForm(SignedForm):
    """On whose authority a shift goes ahead with nobody current, and why."""

    authority_id = SelectField("On whose authority", validators=[InputRequired("Name somebody who answers for it.")])
    reason = TextAreaField("Why", validators=[
        InputRequired("Write it in a sentence; the crew reads it."), at_most(LONGEST_REASON)])  # fmt: skip


class TakeBackForm(ActForm):
    """Why something recorded is taken back."""

    reason = TextAreaField("Why", validators=[
        InputRequired("Write it in a sentence; the crew reads it."), at_most(LONGEST_REASON)])  # fmt: skip


class CrewForm(ActForm):
    """The crew of a shift, a line a member."""

    members = TextAreaField("Crew", validators=[at_most(4000)])


class ShiftForm(CrewForm):
    """A new shift."""

    base_id = SelectField("Base", validators=[InputRequired("Choose a base.")])
    crew = StringField("Name of the crew", validators=[InputRequired("Give the crew a name."), Length(max=60)])
    starts = StringField("Starts", validators=[InputRequired("Give the day and time."), Length(max=40)])
    ends = StringField("Ends", validators=[InputRequired("Give the day and time."), Length(max=40)])


class CheckCrewsForm(ActForm):
    """A file of crews, or its text pasted."""

    file = FileField("CSV file")
    text = TextAreaField("Or paste the rows here, with the header")


class TakeCrewsForm(ActForm):
    """What is taken over: shifts that are not in the file go only when chosen here."""

    remove = SelectMultipleField(
        "Shifts that are not in the file: mark those to remove; all others stay", choices=[],
        option_widget=CheckboxInput(), widget=ListWidget(prefix_label=False),
    )  # fmt: skip
