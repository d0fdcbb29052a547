"""A code, or a file."""

from __future__ import annotations

from flask_wtf.file import FileField
from wtforms import StringField

from quizapp.web.forms import ActForm, at_most


class CodeForm(ActForm):
    """The code on the paper."""

    code = StringField("Check code", validators=[at_most(60)])


class FileForm(ActForm):
    """The archive, or evidence.json from it."""

    file = FileField("The file")
