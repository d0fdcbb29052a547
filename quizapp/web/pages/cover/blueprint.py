"""The blueprint all views of this page register on."""

from __future__ import annotations

from flask import Blueprint

blueprint = Blueprint("cover", __name__, template_folder="templates", url_prefix="/cover")
