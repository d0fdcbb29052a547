"""Pieces of the machine that some tests need, and what happens without them."""

from __future__ import annotations

import os

import pytest

POSTGRES_SETTING = "QUIZAPP_TEST_POSTGRES"
CHROMIUM_SETTING = "QUIZAPP_TEST_CHROMIUM"


def needed(setting: str, what: str) -> str:
    """The value of a test setting; where it is missing the test is left out, and under CI fails."""
    value = os.environ.get(setting, "")
    if not value:
        line = f"{what} is not there: run `python3 dev.py test`, which finds or installs it, or set {setting}"
        if os.environ.get("CI"):
            pytest.fail(line)
        pytest.skip(line)
    return value
