"""A family met again soon weighs half."""

from datetime import UTC, datetime, timedelta

import pytest

from quizapp.assessment.exposure import weight_percent

NOW = datetime(2026, 3, 31, 9, 0, tzinfo=UTC)


@pytest.mark.parametrize(
    ("ago", "percent"),
    [
        (None, 100),
        (timedelta(0), 50),
        (timedelta(days=30), 50),
        (timedelta(days=30, seconds=1), 100),
    ],
)
def test_weight(ago: timedelta | None, percent: int) -> None:
    assert weight_percent(NOW, None if ago is None else NOW - ago) == percent
