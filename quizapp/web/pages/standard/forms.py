"""The forms of drafting a standard and putting it in force."""

from __future__ import annotations

from typing import Any

from wtforms import (
    BooleanField,
    HiddenField,
    PasswordField,
    SelectField,
    SelectMultipleField,
    StringField,
    TextAreaField,
)
from wtforms.validators import InputRequired

from quizapp.assessment.standard import LONGEST_NAME, LONGEST_TEXT, Requirement, Terms
from quizapp.assessment.validity import LONGEST_VALIDITY_MONTHS
from quizapp.psychometrics.binomial_form import LONGEST_FORM
from quizapp.services.accounts import own_sign_in_name
from quizapp.web.day_field import DayField
from quizapp.web.edge import act
from quizapp.web.forms import ActForm, at_most
from quizapp.web.whole_number_field import WholeNumberField

GIVE_MONTHS = InputRequired(f"Write a whole number from 1 to {LONGEST_VALIDITY_MONTHS}.")
GIVE_COUNT = InputRequired(f"Write a whole number from 0 to {LONGEST_FORM}.")


class RevisionForm(ActForm):
    """Any change of a draft, with the revision that the page showed."""

    revision = HiddenField()

    @property
    def revision_shown(self) -> int:
        """The revision the page showed, 0 for anything that is none."""
        text = self.revision.data or ""
        return int(text) if text.isascii() and text.isdigit() and len(text) < 9 else 0


class GeneralForm(RevisionForm):
    """Name, start, reason, who agreed, and the rule for forms."""

    name = StringField("Name", validators=[InputRequired("Give it a name."), at_most(LONGEST_NAME)])
    starts_on = DayField("First day in force", validators=[InputRequired("Give the day, such as 2027-01-01.")])
    reason = TextAreaField("Why it changes", validators=[at_most(LONGEST_TEXT)])
    agreed_by = TextAreaField("Who agreed", validators=[at_most(LONGEST_TEXT)])
    form_questions = WholeNumberField(
        "Fewest questions of a form that counts", lowest=0, highest=LONGEST_FORM, validators=[GIVE_COUNT]
    )
    form_cut = WholeNumberField("Fewest right of so many", lowest=0, highest=LONGEST_FORM, validators=[GIVE_COUNT])

    def changed(self) -> dict[str, Any]:
        """Return what was entered, by the names of the terms."""
        return {
            "name": self.name.data or "",
            "starts_on": self.starts_on.required_day(),
            "reason": self.reason.data or "",
            "agreed_by": self.agreed_by.data or "",
            "form_questions": self.form_questions.data or 0,
            "form_cut": self.form_cut.data or 0,
        }


def general_form(terms: Terms, revision: int) -> GeneralForm:
    """Return the form filled with a draft as it stands."""
    return GeneralForm(
        formdata=None,
        revision=str(revision),
        name=terms.name,
        starts_on=terms.starts_on,
        reason=terms.reason,
        agreed_by=terms.agreed_by,
        form_questions=terms.form_questions,
        form_cut=terms.form_cut,
    )


class RequirementForm(RevisionForm):
    """What is asked for one competency."""

    is_critical = BooleanField("Critical: a lapse makes the person lapsed")
    needs_knowledge = BooleanField("Knowledge, in an assessment form")
    minimum_questions = WholeNumberField(
        "Fewest questions on it in a form", lowest=1, highest=LONGEST_FORM,
        validators=[InputRequired(f"Write a whole number from 1 to {LONGEST_FORM}.")],
    )  # fmt: skip
    procedures = SelectMultipleField("Procedures to be watched")
    observed_here = SelectMultipleField("Of these, watched here even where outside evidence is recognised")
    needs_discussion = BooleanField("A structured discussion")
    minimum_assessors = SelectField("Who may assess", choices=[
        ("1", "Any assessor of the base who is current in it, never oneself"),
        ("2", "Two different assessors, each current in it, never oneself"),
    ])  # fmt: skip
    validity_months = WholeNumberField(
        "Months a new sign-off holds", lowest=1, highest=LONGEST_VALIDITY_MONTHS, validators=[GIVE_MONTHS]
    )
    evidence_months = WholeNumberField(
        "Months old its evidence may be", lowest=1, highest=LONGEST_VALIDITY_MONTHS, validators=[GIVE_MONTHS]
    )
    practice_months = WholeNumberField(
        "Months until practice is due", lowest=1, highest=LONGEST_VALIDITY_MONTHS, validators=[GIVE_MONTHS]
    )
    renew_by = DayField("Earlier sign-offs end on this day at the latest")

    def wanted(self, competency: str) -> Requirement:
        """Return what was entered."""
        validity, evidence = self.validity_months.data or 0, self.evidence_months.data or 0
        return Requirement(
            competency=competency,
            is_critical=bool(self.is_critical.data),
            validity_months=validity,
            practice_months=self.practice_months.data or 0,
            evidence_months=None if evidence == validity else evidence,
            needs_knowledge=bool(self.needs_knowledge.data),
            minimum_questions=self.minimum_questions.data or 0,
            procedures=tuple(sorted(self.procedures.data or ())),
            observed_here=tuple(sorted(self.observed_here.data or ())),
            needs_discussion=bool(self.needs_discussion.data),
            minimum_assessors=int(self.minimum_assessors.data or 1),
            renew_by=self.renew_by.data,
        )


def requirement_form(one: Requirement, revision: int) -> RequirementForm:
    """Return the form filled with what a draft asks for a competency."""
    return RequirementForm(
        formdata=None,
        revision=str(revision),
        is_critical=one.is_critical,
        needs_knowledge=one.needs_knowledge,
        minimum_questions=one.minimum_questions,
        procedures=list(one.procedures),
        observed_here=list(one.observed_here),
        needs_discussion=one.needs_discussion,
        minimum_assessors=str(one.minimum_assessors),
        validity_months=one.validity_months,
        evidence_months=one.evidence_holds_months,
        practice_months=one.practice_months,
        renew_by=one.renew_by,
    )


class SignStandardForm(ActForm):
    """The password for this signature."""

    password = PasswordField("Your password, for this signature", validators=[InputRequired("Write your password.")])

    @property
    def username(self) -> str:
        """The sign-in name the password goes with, so that a password keeper finds the right one."""
        return own_sign_in_name(act())
