"""The signed answer to a challenge verified: whole as it was signed, and whatever is changed afterwards is named."""

from __future__ import annotations

import sqlite3
from contextlib import closing

import pytest
from sqlalchemy import select

from quizapp.assessment.challenges import ChallengeOutcome
from quizapp.content.library import Library
from quizapp.services.verify_signature import verify_signature
from quizapp.store.audit import Signature
from tests.challenging import answered, raised, sat
from tests.knowledge_forms import composed
from tests.small_service import SmallService


@pytest.fixture
def voided(small_sqlite: SmallService, library: Library) -> SmallService:
    sitting_id = sat(small_sqlite, library, composed(small_sqlite, library), ["wrong", "right", "right"])
    answered(small_sqlite, library, raised(small_sqlite, library, sitting_id, 1).id, ChallengeOutcome.VOID)
    return small_sqlite


def failing(small: SmallService) -> dict[str, str]:
    with small.database.reading() as session:
        found = verify_signature(
            session, session.scalars(select(Signature).where(Signature.meaning == "reviews")).one()
        )
    return {step.about: step.found for step in found.steps if not step.fits}


def tampered(small: SmallService, statement: str) -> None:
    with closing(sqlite3.connect(small.database.url.removeprefix("sqlite:///"))) as file:
        for guard in ("challenge_answer_no_update", "remarked_sitting_no_update"):
            file.execute(f"DROP TRIGGER {guard}")
        assert file.execute(statement).rowcount > 0
        file.commit()


def test_as_it_was_signed_it_is_whole(voided: SmallService) -> None:
    assert failing(voided) == {}


@pytest.mark.parametrize(
    ("statement", "says"),
    [
        ("UPDATE challenge_answer SET reason = 'another reason'", "reason"),
        ("UPDATE challenge_answer SET outcome = 'upheld'", "outcome"),
        ("UPDATE challenge SET shown = replace(shown, 'N0', 'N9')", "shown to the person"),
        ("UPDATE remarked_sitting SET effect = 'kept'", "remarked sitting"),
    ],
)
def test_what_was_changed_is_named(voided: SmallService, statement: str, says: str) -> None:
    tampered(voided, statement)
    assert says in " ".join(failing(voided).values())
