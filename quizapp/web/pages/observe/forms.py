"""The forms around an observation: opening, locking, signing; the sheet itself is buttons."""

from __future__ import annotations

from wtforms import HiddenField, PasswordField, RadioField, SelectMultipleField, TextAreaField
from wtforms.validators import InputRequired, Length

from quizapp.assessment.observation_setting import ObservationSetting
from quizapp.assessment.observation_state import GlobalRating
from quizapp.services.lock_observation import LONGEST_COMMENT
from quizapp.web.forms import ActForm

CONFIRMED = "seen"
NOT_CONFIRMED = "not_seen"


class CardForm(ActForm):
    """Device, setting, and the steps that only some scenarios present."""

    person = HiddenField()
    procedure = HiddenField()
    device = RadioField("Device", validators=[InputRequired("Choose the device that is used.")])
    setting = RadioField(
        "Where",
        choices=[(setting.value, setting.words.capitalize()) for setting in ObservationSetting],
        validators=[InputRequired("Choose where you watch.")],
    )
    presented = SelectMultipleField("Steps the scenario calls for")


class LockForm(ActForm):
    """The global rating, and the word of the person observed."""

    global_rating = RadioField(
        "Your overall judgement",
        choices=[(str(rating.value), f"{rating.value}, {rating.anchor}") for rating in GlobalRating],
        validators=[InputRequired("Choose one of the five ratings.")],
    )
    confirmed = RadioField(
        "The person observed",
        choices=[
            (CONFIRMED, "I have seen what was marked, here and now"),
            (NOT_CONFIRMED, "I have not seen it, or I do not agree"),
        ],
        validators=[InputRequired("Let the person observed choose one of the two.")],
    )
    person_comment = TextAreaField(
        "Own words of the person observed",
        validators=[Length(max=LONGEST_COMMENT, message=f"At most {LONGEST_COMMENT} characters can be kept.")],
    )


class SignForm(ActForm):
    """The password that makes the signature."""

    password = PasswordField("Your password", validators=[InputRequired("Write your password."), Length(max=1000)])
