"""A day in a form, read as strictly as in a file: year-month-day in plain digits, nothing else is taken."""

from __future__ import annotations

from datetime import date
from typing import Any

from wtforms import DateField
from wtforms.validators import StopValidation

from quizapp.assessment.dates import parse_day
from quizapp.errors import BadInput


class DayField(DateField):
    """Like the ordinary field, which would take digits of other scripts, but read by the one strict reader."""

    def __init__(self, label: str, **options: Any) -> None:
        super().__init__(label, **options)
        self.type = "DateField"

    def process_formdata(self, valuelist: list[str]) -> None:
        """Read what was sent; an empty entry is no day."""
        if not valuelist or not valuelist[0].strip():
            self.data = None
            return
        try:
            self.data = parse_day(valuelist[0])
        except BadInput as fault:
            self.data = None
            raise ValueError(str(fault)) from None

    def required_day(self) -> date:
        """Return the day of a form that was valid."""
        if self.data is None:
            raise StopValidation("Give a day.")
        return self.data
