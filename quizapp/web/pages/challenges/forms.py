"""The forms of asking and of answering; what can be corrected depends on the kind of question."""

from __future__ import annotations

from decimal import Decimal

from wtforms import PasswordField, RadioField, SelectMultipleField, StringField, TextAreaField
from wtforms.validators import InputRequired

from quizapp.assessment.challenges import ChallengeOutcome, Scope
from quizapp.assessment.corrected_key import CorrectedBlank, Correction, pair_name
from quizapp.assessment.numbers import Parsed, PlausibleRange, read_number
from quizapp.assessment.observation_state import StepMark
from quizapp.assessment.questions import Blank, Question
from quizapp.errors import BadInput
from quizapp.services.accounts import own_sign_in_name
from quizapp.services.challenge_statement import AnswerWanted
from quizapp.services.raise_challenge import LONGEST_WORDS
from quizapp.web.edge import act
from quizapp.web.forms import ActForm, at_most

OUTCOMES = [
    (ChallengeOutcome.UPHELD.value, "The result stands"),
    (ChallengeOutcome.CORRECTED.value, "Corrected, as entered below"),
    (ChallengeOutcome.VOID.value, "Void: it counts for nobody"),
]
TOLERANCE_STEP = Decimal("0.001")


class AskForm(ActForm):
    """What the person wants to say; none of it is needed."""

    words = TextAreaField("In your own words", validators=[at_most(LONGEST_WORDS)])


class AskStepForm(AskForm):
    """The same about one step of an observation."""

    step = RadioField("Which step", validators=[InputRequired("Choose the step.")])


class AnswerForm(ActForm):
    """What the reviewer finds, for whom, and why. Fields of the kind of question are added by `answer_form`."""

    outcome = RadioField(
        "What you find", choices=OUTCOMES, validators=[InputRequired("Choose one. Nothing is chosen beforehand.")]
    )
    reason = TextAreaField("Reason, which everybody touched will read", validators=[at_most(2000)])

    def wanted(self, question: Question | None) -> AnswerWanted:
        """Return what was entered; raises BadInput naming the field for what cannot be read."""
        outcome = ChallengeOutcome(self.outcome.data)
        scope = Scope(self["scope"].data) if "scope" in self and self["scope"].data else Scope.DRAW
        correction = Correction()
        if question is not None and outcome is ChallengeOutcome.CORRECTED:
            correction = self._correction(question, scope)
        is_mark = question is None and outcome is ChallengeOutcome.CORRECTED
        mark = (self["mark"].data or "") if is_mark else ""
        return AnswerWanted(
            outcome=outcome, reason=self.reason.data or "", scope=scope, correction=correction, mark=mark
        )  # fmt: skip

    def _correction(self, question: Question, scope: Scope) -> Correction:
        if question.options:
            return Correction(right_options=tuple(sorted(self["right_options"].data or ())))
        if question.steps:
            return Correction(free_pairs=tuple(sorted(self["free_pairs"].data or ())))
        if scope is Scope.FAMILY:
            return Correction(is_from_file=True)
        return Correction(
            blanks=tuple(
                CorrectedBlank(
                    name=blank.name,
                    key=self._number(f"key_{at}", blank.key_printed, blank.key),
                    tolerance=self._number(f"tolerance_{at}", _tolerance_printed(blank), blank.tolerance),
                )
                for at, blank in enumerate(question.blanks)
            )
        )

    def _number(self, name: str, shown: str, exact: Decimal) -> Decimal:
        """Read a number; what was left as it was shown, rounded, is the exact one behind it."""
        text = (self[name].data or "").strip()
        if text == shown:
            return exact
        reading = read_number(text, PlausibleRange(Decimal(0), max(exact * 10, Decimal(1))))
        if not isinstance(reading, Parsed):
            raise BadInput(f"Nothing was changed. {reading.message}", field=name)
        return reading.value


def _tolerance_printed(blank: Blank) -> str:
    return f"{blank.tolerance.quantize(TOLERANCE_STEP):f}"


class SignForm(ActForm):
    """The password for this signature."""

    password = PasswordField("Your password, for this signature", validators=[InputRequired("Write your password.")])

    @property
    def username(self) -> str:
        """The sign-in name the password goes with, so that a password keeper finds the right one."""
        return own_sign_in_name(act())


def answer_form(question: Question | None, *, file_is_corrected: bool = False) -> AnswerForm:
    """Return the form for a question, or for a step of an observation where there is none."""

    class Fitting(AnswerForm):
        """The fields that this question or step asks for."""

    if question is None:
        marks = [(mark.value, mark.value.replace("_", " ").capitalize()) for mark in StepMark]
        Fitting.mark = RadioField("The right mark", choices=marks, validate_choice=False)
        return Fitting()
    Fitting.scope = RadioField(
        "For whom", choices=_scopes(question, file_is_corrected=file_is_corrected), default="draw"
    )
    if question.options:
        choices = [(option.name, option.text) for option in question.options]
        Fitting.right_options = SelectMultipleField("Every option that is right", choices=choices)
    if question.steps:
        Fitting.free_pairs = SelectMultipleField("Pairs that need no order", choices=_pairs(question))
    for at, blank in enumerate(question.blanks):
        key = f"{blank.label}: the right number, in {blank.unit_labels[0]}"
        setattr(Fitting, f"key_{at}", StringField(key, default=blank.key_printed))
        within = f"Right within, in {blank.unit_labels[0]}"
        setattr(Fitting, f"tolerance_{at}", StringField(within, default=_tolerance_printed(blank)))
    return Fitting()


def _scopes(question: Question, *, file_is_corrected: bool) -> list[tuple[str, str]]:
    draw = (Scope.DRAW.value, "Everybody who was asked this very draw")
    family = (Scope.FAMILY.value, "Everybody who met this version of the family")
    if question.blanks:
        key = "a corrected key comes from the corrected file" if file_is_corrected else "only to declare it void"
        family = (family[0], f"{family[1]}; {key}")
    return [draw, family]


def _pairs(question: Question) -> list[tuple[str, str]]:
    texts = {step.name: step.text for step in question.steps}
    return [
        (pair_name(first, step.name), f"“{texts[first]}” before “{step.text}”")
        for step in question.steps
        for first in step.after
    ]
