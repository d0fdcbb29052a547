"""The forms around an observation: opening, locking, signing; the sheet itself is buttons."""

from __future__ import annotations

from wtforms import (
    HiddenField,
    PasswordField,
    RadioField,
    SelectField,
    SelectMultipleField,
    StringField,
    TextAreaField,
    TimeField,
)
from wtforms.validators import InputRequired, Length, Optional

from quizapp.assessment.double_settlement import Settlement
from quizapp.assessment.observation_setting import ObservationSetting
from quizapp.assessment.observation_state import GlobalRating
from quizapp.services.accounts import own_sign_in_name
from quizapp.services.lock_observation import LONGEST_COMMENT
from quizapp.services.open_observation import LONGEST_CONNECTION
from quizapp.web.day_field import DayField
from quizapp.web.edge import act
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
    together = RadioField("Who marks this performance", validators=[Optional()], default="")
    connection = StringField(
        "Connection between you and this person",
        validators=[Length(max=LONGEST_CONNECTION, message=f"At most {LONGEST_CONNECTION} characters can be kept.")],
    )
    others = SelectMultipleField("Open a sheet each for")


class PaperForm(CardForm):
    """The card of a record on paper: also who watched, and when."""

    assessor = SelectField("Who watched", validators=[InputRequired("Choose who watched.")])
    watched_on = DayField("Day it was watched", validators=[InputRequired("Give the day.")])
    watched_from = TimeField("Started at, as on the paper", validators=[InputRequired("Give the time as 09:30.")])


class ReasonForm(ActForm):
    """A reason in one's own words."""

    reason = TextAreaField("Why", validators=[InputRequired("Write why.")])


class SettleForm(ReasonForm):
    """What becomes of two sheets of one performance."""

    outcome = RadioField(
        "What becomes of the two sheets",
        choices=[(one.value, one.words[0].upper() + one.words[1:]) for one in Settlement],
        validators=[InputRequired("Choose what becomes of the two sheets.")],
    )
    stands = RadioField("Where one stands, which", validators=[Optional()])
    third = RadioField("Third assessor, where it is observed again", validators=[Optional()])


class LateForm(ReasonForm):
    """What becomes of one late mark."""

    outcome = RadioField("This mark is", validators=[InputRequired("Choose what becomes of this mark.")])


class FaultForm(ActForm):
    """A device that failed."""

    lot_number = StringField("Lot number, as on the label", validators=[InputRequired("Write the lot number.")])
    step = SelectField("Step at which it showed", validators=[Optional()])
    what = TextAreaField("What you saw", validators=[InputRequired("Write what you saw.")])


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

    @property
    def username(self) -> str:
        """The sign-in name the password goes with, so that a password keeper finds the right one."""
        return own_sign_in_name(act())
