"""What every template can count on: the service, who is signed in, the navigation, the lamp, the caution."""

from __future__ import annotations

from typing import Any

from flask import Flask, g, request

from quizapp.services.sign_in import SignedIn
from quizapp.web.edge import edge
from quizapp.web.kept_on_device import device_owner
from quizapp.web.navigation import navigation
from quizapp.web.policy import second_step

CAUTION = (
    "Training and assessment only. Not for use while caring for a patient. In doubt: off the device, ventilate by bag. "
    "Local procedure, the maker's instructions for use and your licence come first."
)
LAMPS = {"day", "night"}


def page_context() -> dict[str, Any]:
    """Return the values that base.html uses."""
    service = edge().service
    signed_in = g.get("signed_in")
    lamp = request.cookies.get("lamp", "")
    return {
        "service_name": service.name,
        "demo": service.is_demo,
        "caution": CAUTION,
        "lamp": lamp if lamp in LAMPS else "",
        "device_owner": device_owner(),
        "signed_in_name": signed_in.actor.name if signed_in else "",
        "navigation": navigation() if signed_in and g.get("act") and not _has_to_go_on(signed_in) else None,
    }


def _has_to_go_on(signed_in: SignedIn) -> bool:
    return bool(second_step(edge(), signed_in, g.act.today))


def add_page_context(app: Flask) -> None:
    """Give the values to every template."""
    app.context_processor(page_context)
