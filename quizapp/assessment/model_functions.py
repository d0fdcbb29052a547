"""The functions of the ventilation model that a content file may call, one line each; all else cannot be evaluated.

To offer one more: add its line here, with its published value in the tests of its own module.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True)
class ModelFunction:
    """A function of the model: what it gives, and how many numbers it takes, in order."""

    run: Callable[..., float]
    arguments: int
    gives: str


MODEL_FUNCTIONS: dict[str, ModelFunction] = {}
