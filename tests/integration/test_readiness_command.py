"""`quizapp readiness note` on both databases: standings are kept, and a shift that lost its cover is told once."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from sqlalchemy import func, select

from quizapp.assessment.shift_cover import Span
from quizapp.cli import main
from quizapp.content.library import Library
from quizapp.store.challenges import Message
from quizapp.store.kept_standings import KeptStanding
from quizapp.store.people import Person
from tests.crewing import entered, signed_off
from tests.small_service import SmallService


def test_noted_once(
    small: SmallService, library: Library, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """The command goes by the real clock, and so does this service; Mira leaves before the shift."""
    monkeypatch.setenv("QUIZAPP_DATABASE", small.database.url)
    monkeypatch.setenv("QUIZAPP_SECRET", "only-for-tests-" * 3)
    small.now = datetime.now(UTC)
    signed_off(small, library, "mira")
    tomorrow = small.now.replace(minute=0, second=0, microsecond=0) + timedelta(days=1)
    entered(small, library, "mira", span=Span(tomorrow, tomorrow + timedelta(hours=12)))
    with small.database.writing() as session:
        session.get_one(Person, small.person_id("mira")).left_on = datetime.now(UTC).date() - timedelta(days=1)
    for words in ("3 standings kept; 1 shift found", "0 standings kept; 0 shifts found"):
        assert main(["readiness", "note"]) == 0
        assert words in capsys.readouterr().out
    with small.database.reading() as session:
        assert session.scalar(select(func.count()).select_from(KeptStanding)) == 3
        assert session.scalar(select(func.count()).select_from(Message).where(Message.about == "cover")) == 1
