"""The form that begins a practice."""

from __future__ import annotations

from wtforms import SelectField
from wtforms.validators import InputRequired

from quizapp.web.forms import ActForm


class PracticeForm(ActForm):
    """Which competency and how many questions."""

    competency = SelectField("Competency", validators=[InputRequired("Choose a competency.")])
    question_count = SelectField(
        "How many", choices=[("3", "3, about 4 minutes"), ("5", "5, about 7 minutes"), ("10", "10, about 14 minutes")]
    )
