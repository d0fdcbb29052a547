"""An invented morning on which two assessors mark the same performances, each on a sheet of their own."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta

from quizapp.cli.invented.beginning import assessors_of
from quizapp.cli.invented.cast import Member
from quizapp.cli.invented.hands import lock, mark, on_the_bench
from quizapp.cli.invented.stage import Stage
from quizapp.services.assessor_currency import assessor_currency

SEEN_BY_BOTH = (
    ("P06", "", ""),
    ("P06", "h", "h"),
    ("P01", "f", ""),
    ("P06", "", ""),
    ("P01", "", "b"),
    ("P06", "c", ""),
)
"""Procedure, and what each of the two marked as not done; on the last one they differ on a critical step."""


def morning_of_two(stage: Stage, members: Sequence[Member], watched: Sequence[Member], *, day: int) -> None:
    """Let the first two assessors of the base mark six performances; both lock, and nothing is signed yet."""
    is_current = assessor_currency(stage.library)
    first, second = [one.staff_number for one in assessors_of(members, watched[0].base)][:2]
    for number, (procedure, missed, missed_too) in enumerate(SEEN_BY_BOTH):
        member, opened = watched[number % len(watched)], stage.moment(day, 8 + number // 2, 30 * (number % 2))
        one = mark(
            stage, first, member.staff_number, procedure, watched=on_the_bench(1), at=opened, missed=missed,
            is_current=is_current,
        )  # fmt: skip
        two = mark(
            stage, second, member.staff_number, procedure, watched=on_the_bench(1, together_with=one),
            at=opened + timedelta(minutes=1), missed=missed_too, is_current=is_current,
        )  # fmt: skip
        lock(stage, first, one, at=opened + timedelta(minutes=9), rating=2 if missed == "c" else 4)
        lock(stage, second, two, at=opened + timedelta(minutes=10), rating=4)
