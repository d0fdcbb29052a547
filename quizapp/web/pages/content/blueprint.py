"""The pages of content hang on this blueprint."""

from flask import Blueprint

blueprint = Blueprint("content", __name__, template_folder="templates", url_prefix="/content")
