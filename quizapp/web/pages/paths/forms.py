"""The forms of a fair path."""

from __future__ import annotations

from wtforms import RadioField, SelectField, SelectMultipleField, StringField, TextAreaField
from wtforms.validators import InputRequired

from quizapp.assessment.fair_paths import PathKind, PathOutcome, StepName
from quizapp.services.fair_paths import LONGEST_ABOUT, LONGEST_WORDS, PathWanted, StepWanted
from quizapp.services.recognise_evidence import OutsideEvidence
from quizapp.web.day_field import DayField
from quizapp.web.forms import ActForm, at_most


class PathForm(ActForm):
    """A path to be opened."""

    person = SelectField("For whom", validators=[InputRequired("Choose a person.")])
    kind = RadioField(
        "Which path",
        choices=[(kind.value, kind.words[0].upper() + kind.words[1:]) for kind in PathKind],
        validators=[InputRequired("Choose a path.")],
    )
    about = StringField("What was not shown twice", validators=[at_most(LONGEST_ABOUT)])
    until_day = DayField("Last day with a current colleague")
    reason = TextAreaField("Why, in words the person reads", validators=[at_most(LONGEST_WORDS)])

    def wanted(self) -> PathWanted:
        """Return what was entered in a form that was valid."""
        return PathWanted(
            kind=PathKind(self.kind.data),
            about=self.about.data or "",
            reason=self.reason.data or "",
            until_day=self.until_day.data,
        )


class StepForm(ActForm):
    """One step to be recorded."""

    done_on = DayField("Day", validators=[InputRequired("Give the day, such as 2026-03-14.")])
    named_id = SelectField("Whom", validate_choice=False)
    words = TextAreaField("In words the person reads", validators=[at_most(LONGEST_WORDS)])

    def wanted(self, step: StepName) -> StepWanted:
        """Return what was entered in a form that was valid."""
        return StepWanted(
            step=step,
            done_on=self.done_on.required_day(),
            words=self.words.data or "",
            named_id=self.named_id.data or "",
        )


class CloseForm(ActForm):
    """The end of a path."""

    outcome = RadioField(
        "The path is",
        choices=[(one.value, one.words[0].upper() + one.words[1:]) for one in PathOutcome],
        validators=[InputRequired("Choose how it ends.")],
    )
    closing_words = TextAreaField("In closing, in words the person reads", validators=[at_most(LONGEST_WORDS)])


class OutsideForm(ActForm):
    """Outside evidence, read and judged competency by competency."""

    words = TextAreaField("What you read, and from whom", validators=[at_most(1000)])
    recognised = SelectMultipleField("Recognised")
    last_valid_day = DayField("Last valid day of what is recognised")
    not_recognised = SelectMultipleField("Not recognised")

    def outside(self) -> OutsideEvidence:
        """Return what was entered in a form that was valid."""
        return OutsideEvidence(
            words=self.words.data or "",
            recognised=self.recognised.data or (),
            not_recognised=self.not_recognised.data or (),
            last_valid_day=self.last_valid_day.data,
        )
