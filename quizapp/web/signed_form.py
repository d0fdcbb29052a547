"""Forms whose act asks for the password in the same request, and how a service's refusal is shown in a form."""

from __future__ import annotations

from typing import Any

from wtforms import PasswordField
from wtforms.validators import InputRequired, Length

from quizapp.errors import BadInput
from quizapp.services.accounts import own_sign_in_name
from quizapp.services.sign_in import proves_it_is_them
from quizapp.web.edge import act
from quizapp.web.forms import ActForm

WRONG = "That is not your password, or there were too many tries. Nothing was changed. Wait a little, then try again."


class SignedForm(ActForm):
    """A form that is valid only with the actor's own password."""

    password = PasswordField(
        "Your password", validators=[InputRequired("Write your password to do this."), Length(max=1000)]
    )

    @property
    def username(self) -> str:
        """The sign-in name the password goes with, so that a password keeper finds the right one."""
        return own_sign_in_name(act())

    def validate(self, *arguments: Any, **options: Any) -> bool:
        """Check the fields, then the password; wrong ones make the next try wait."""
        if not super().validate(*arguments, **options):
            return False
        if proves_it_is_them(act(), self.password.data or ""):
            return True
        self.password.errors = [WRONG]
        return False


def show_fault(form: ActForm, fault: BadInput, *, otherwise: str = "act_key") -> None:
    """Put a service's refusal beside the field it is about, else beside `otherwise`."""
    name = fault.field if fault.field in form else otherwise
    form[name].errors = [*form[name].errors, str(fault)]
