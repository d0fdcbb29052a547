"""The forms around a structured discussion; the questions themselves stand in the guide."""

from __future__ import annotations

from collections.abc import Mapping

from wtforms import PasswordField, SelectField, StringField, TextAreaField
from wtforms.validators import InputRequired, Length

from quizapp.assessment.discussions import DiscussionGuide, DiscussionMark
from quizapp.services.accounts import own_sign_in_name
from quizapp.services.discussions import LONGEST_LINE, DiscussionKept, Said
from quizapp.web.edge import act
from quizapp.web.forms import ActForm, at_most

MARKS = {str(int(mark)): mark for mark in DiscussionMark}


class OpenForm(ActForm):
    """With whom, about what, and whether the two are connected."""

    person = SelectField("With whom", validators=[InputRequired("Choose a person.")])
    code = SelectField("Which discussion", validators=[InputRequired("Choose a discussion.")])
    connection = StringField("Connection between you and this person", validators=[at_most(LONGEST_LINE)])


class DiscardForm(ActForm):
    """Why it is set aside."""

    reason = TextAreaField("Why", validators=[InputRequired("Write why."), at_most(LONGEST_LINE)])


class SignForm(ActForm):
    """The password that makes the signature."""

    password = PasswordField("Your password", validators=[InputRequired("Write your password."), Length(max=1000)])

    @property
    def username(self) -> str:
        """The sign-in name the password goes with, so that a password keeper finds the right one."""
        return own_sign_in_name(act())


def kept_from(guide: DiscussionGuide, sent: Mapping[str, str], errors: list[str]) -> DiscussionKept:
    """Return what a sent sheet says: `said_a` and `mark_a` for each question, the errors, the person's words."""
    return DiscussionKept(
        answers={
            letter: Said(words=sent.get(f"said_{letter}", ""), mark=MARKS.get(sent.get(f"mark_{letter}", "")))
            for letter in guide.letters
        },
        critical_errors=errors,
        person_words=sent.get("person_words", ""),
    )
