"""The device profiles of the question bank, read plainly, for tests of the model."""

import tomllib
from functools import cache
from pathlib import Path

from quizapp.ventilation.device_profile import from_mapping

FOLDER = Path(__file__).parents[3] / "question_bank" / "device_profiles"


@cache
def device(slug):
    return from_mapping(tomllib.loads((FOLDER / f"{slug}.toml").read_text(encoding="utf-8")))
