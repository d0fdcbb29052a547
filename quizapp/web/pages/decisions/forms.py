"""The forms of deciding and signing."""

from __future__ import annotations

from wtforms import PasswordField, RadioField, SelectMultipleField, StringField, TextAreaField
from wtforms.validators import InputRequired

from quizapp.assessment.amending import amended_outcomes
from quizapp.assessment.standing import Outcome, ProfileRevision
from quizapp.services.accounts import own_sign_in_name
from quizapp.services.amend_decision import AmendmentWanted
from quizapp.services.decision_statement import DecisionWanted
from quizapp.web.day_field import DayField
from quizapp.web.edge import act
from quizapp.web.forms import ActForm, at_most

OUTCOME_WORDS = {
    Outcome.COMPETENT: "Competent",
    Outcome.NOT_YET: "Not yet",
    Outcome.RESTRICTED: "Restricted, under conditions",
}


class DecideForm(ActForm):
    """What is decided, on which competencies, why; a restriction also under which conditions and until when."""

    outcome = RadioField(
        "Decision",
        choices=[(outcome.value, words) for outcome, words in OUTCOME_WORDS.items()],
        validators=[InputRequired("Choose a decision. Nothing is chosen beforehand.")],
    )
    competencies = SelectMultipleField("Competencies")
    reason = TextAreaField("Reason, which the person will read", validators=[at_most(2000)])
    conditions = TextAreaField("Conditions of a restriction", validators=[at_most(2000)])
    restricted_until = DayField("Last day of a restriction")

    def wanted(self, profile: ProfileRevision | None = None) -> DecisionWanted:
        """Return what the educator entered, on the device revision the page was about."""
        return DecisionWanted(
            outcome=Outcome(self.outcome.data),
            competencies=sorted(self.competencies.data or (), key=lambda code: (len(code), code)),
            reason=self.reason.data or "",
            conditions=self.conditions.data or "",
            restricted_until=self.restricted_until.data,
            profile=profile,
        )


class SignForm(ActForm):
    """The password for this signature, and the second person's where two are needed."""

    password = PasswordField("Your password, for this signature", validators=[InputRequired("Write your password.")])
    second_name = StringField("Second educator's sign-in name", validators=[at_most(255)])
    second_password = PasswordField("Second educator's password")

    @property
    def username(self) -> str:
        """The sign-in name the first password goes with, so that a password keeper finds the right one."""
        return own_sign_in_name(act())


class AmendForm(ActForm):
    """What the decision shall say from now on, and why it is amended."""

    outcome = RadioField("Decision", validators=[InputRequired("Choose what it shall say.")])
    last_valid_day = DayField("Last valid day")
    conditions = TextAreaField("Conditions of a restriction", validators=[at_most(2000)])
    reason = TextAreaField("Reason, which the person will read", validators=[at_most(2000)])
    why = TextAreaField("Why it is amended", validators=[at_most(2000)])

    def wanted(self) -> AmendmentWanted:
        """Return what the educator entered."""
        return AmendmentWanted(
            outcome=Outcome(self.outcome.data),
            last_valid_day=self.last_valid_day.data,
            conditions=self.conditions.data or "",
            reason=self.reason.data or "",
            why=self.why.data or "",
        )


def with_outcomes(form: AmendForm, before: Outcome) -> AmendForm:
    """Offer what the decision may become: the same, or less."""
    form.outcome.choices = [(outcome.value, OUTCOME_WORDS[outcome]) for outcome in amended_outcomes(before)]
    return form


class VoidForm(ActForm):
    """Why the decision is void."""

    reason = TextAreaField("Why it is void, which the person will read", validators=[at_most(2000)])


class SettleForm(ActForm):
    """What the second educator answers, and why."""

    answer = RadioField(
        "Your answer",
        choices=[("confirm", "Void it: I looked at it and agree"), ("decline", "Decline: the decision stands")],
        validators=[InputRequired("Choose one. Nothing is chosen beforehand.")],
    )
    reason = TextAreaField("Why, which the person will read", validators=[at_most(2000)])
