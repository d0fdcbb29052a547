"""The blueprint all views of this page register on."""

from __future__ import annotations

from flask import Blueprint

blueprint = Blueprint("my_evidence", __name__, template_folder="templates", url_prefix="/my-evidence")
