"""The one blueprint of these pages; views.py gathers its views."""

from __future__ import annotations

from flask import Blueprint

blueprint = Blueprint("places", __name__, template_folder="templates", url_prefix="/places")
