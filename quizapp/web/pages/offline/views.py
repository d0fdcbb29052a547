"""The service worker at the root of the service, the manifest, and the page for want of a network."""

from __future__ import annotations

from typing import Any

from flask import Blueprint, current_app, jsonify, render_template, url_for

from quizapp.web.edge import edge
from quizapp.web.policy import policy

blueprint = Blueprint("offline", __name__, template_folder="templates")


@blueprint.get("/service-worker.js")
@policy(public=True)
def worker() -> Any:
    """Give the worker from the root, so that its scope is the whole service."""
    return current_app.send_static_file("js/service_worker.js")


@blueprint.get("/manifest.webmanifest")
@policy(public=True)
def manifest() -> Any:
    """Describe the service to a device that puts it on its first screen."""
    answer = jsonify(
        name=edge().service.name,
        short_name=edge().service.name[:24],
        id="/",
        start_url="/",
        scope="/",
        display="minimal-ui",
        icons=[{"src": url_for("static", filename="favicon.svg"), "sizes": "any", "type": "image/svg+xml"}],
    )
    answer.mimetype = "application/manifest+json"
    return answer


@blueprint.get("/offline")
@policy(public=True)
def show() -> Any:
    """Say that there is no network and where to go on; the same for everybody."""
    return render_template("offline/show.html")
