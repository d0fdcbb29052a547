"""Results that a person asks to have looked at again, the signed answers, and what a corrected key changed."""

from __future__ import annotations

from datetime import date

from sqlalchemy import CheckConstraint, Date, ForeignKey, ForeignKeyConstraint, String, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from quizapp.store.columns import BaseId, Code, Id, Json, Line, MaybeMoment, Moment, PersonId, Prose
from quizapp.store.model import Record

APART = "{0} <> person_id AND {0} <> marker_id AND {0} <> author_id"


class Challenge(Record):
    """One result that is to be looked at again: an answer, or one step of a signed observation.

    `shown` is exactly what the person was shown. `marker_id` and `author_id` ("" where there is none) are who marked
    or wrote it and who stands for its key or wrote it over; neither they, nor anybody else in `apart_ids`, nor the
    person may review it.
    """

    __tablename__ = "challenge"
    __table_args__ = (
        UniqueConstraint("question_id"),
        UniqueConstraint("observation_id", "step"),
        UniqueConstraint("id", "person_id", "marker_id", "author_id"),
        CheckConstraint("(question_id IS NULL) <> (observation_id IS NULL)", name="about_one_thing"),
        CheckConstraint("(observation_id IS NULL) = (step IS NULL)", name="a_step_of_an_observation"),
        CheckConstraint(f"reviewer_id IS NULL OR ({APART.format('reviewer_id')})", name="reviewer_stands_apart"),
    )

    id: Mapped[Id]
    person_id: Mapped[PersonId]
    base_id: Mapped[BaseId]
    question_id: Mapped[str | None] = mapped_column(String(32), ForeignKey("sitting_question.id", ondelete="RESTRICT"))
    observation_id: Mapped[str | None] = mapped_column(String(32), ForeignKey("observation.id", ondelete="RESTRICT"))
    step: Mapped[str | None] = mapped_column(String(8))
    marker_id: Mapped[str] = mapped_column(String(32))
    author_id: Mapped[str] = mapped_column(String(32))
    apart_ids: Mapped[Json]
    thing: Mapped[Line]
    words: Mapped[Prose]
    shown: Mapped[Json]
    shown_hash: Mapped[str] = mapped_column(String(64))
    reviewer_id: Mapped[str | None] = mapped_column(String(32), ForeignKey("person.id", ondelete="RESTRICT"))
    raised_at: Mapped[Moment]
    due_on: Mapped[date] = mapped_column(Date)


class ChallengeAnswer(Record):
    """The signed answer to a challenge. `correction` is the corrected key or mark; `scope` says for whom."""

    __tablename__ = "challenge_answer"
    __table_args__ = (
        UniqueConstraint("challenge_id"),
        ForeignKeyConstraint(
            ["challenge_id", "person_id", "marker_id", "author_id"],
            ["challenge.id", "challenge.person_id", "challenge.marker_id", "challenge.author_id"],
            ondelete="RESTRICT",
        ),
        CheckConstraint(APART.format("reviewer_id"), name="reviewer_stands_apart"),
    )

    id: Mapped[Id]
    challenge_id: Mapped[str] = mapped_column(String(32))
    person_id: Mapped[str] = mapped_column(String(32))
    marker_id: Mapped[str] = mapped_column(String(32))
    author_id: Mapped[str] = mapped_column(String(32))
    reviewer_id: Mapped[str] = mapped_column(String(32), ForeignKey("person.id", ondelete="RESTRICT"), index=True)
    outcome: Mapped[Code]
    scope: Mapped[Code]
    correction: Mapped[Json]
    reason: Mapped[Prose]
    signature_id: Mapped[str] = mapped_column(String(32))
    answered_at: Mapped[Moment]


class RemarkedQuestion(Record):
    """One question that a signed answer touched: what became of it, and the question with its corrected key."""

    __tablename__ = "remarked_question"
    __table_args__ = (UniqueConstraint("challenge_answer_id", "question_id"),)

    id: Mapped[Id]
    challenge_answer_id: Mapped[str] = mapped_column(String(32), ForeignKey("challenge_answer.id", ondelete="RESTRICT"))
    question_id: Mapped[str] = mapped_column(
        String(32), ForeignKey("sitting_question.id", ondelete="RESTRICT"), index=True
    )
    effect: Mapped[Code]
    is_void: Mapped[bool]
    corrected: Mapped[Json | None]
    remarked_at: Mapped[Moment]


class RemarkedSitting(Record):
    """The result of one sitting before and after a signed answer; both stay readable."""

    __tablename__ = "remarked_sitting"
    __table_args__ = (UniqueConstraint("challenge_answer_id", "sitting_id"),)

    id: Mapped[Id]
    challenge_answer_id: Mapped[str] = mapped_column(String(32), ForeignKey("challenge_answer.id", ondelete="RESTRICT"))
    sitting_id: Mapped[str] = mapped_column(String(32), ForeignKey("sitting.id", ondelete="RESTRICT"), index=True)
    person_id: Mapped[PersonId]
    effect: Mapped[Code]
    before: Mapped[Json]
    after: Mapped[Json]


class CorrectedObservation(Record):
    """A new version of the result of a signed observation: one step's mark as it counts now. The sheet stays."""

    __tablename__ = "corrected_observation"
    __table_args__ = (UniqueConstraint("challenge_answer_id"),)

    id: Mapped[Id]
    challenge_answer_id: Mapped[str] = mapped_column(String(32), ForeignKey("challenge_answer.id", ondelete="RESTRICT"))
    observation_id: Mapped[str] = mapped_column(
        String(32), ForeignKey("observation.id", ondelete="RESTRICT"), index=True
    )
    step: Mapped[str] = mapped_column(String(8))
    mark_before: Mapped[Code]
    mark: Mapped[Code]
    effect: Mapped[Code]
    result: Mapped[Json]
    corrected_at: Mapped[Moment]


class Message(Record):
    """What a person is told on their first page, written with the act that gave rise to it."""

    __tablename__ = "message"

    id: Mapped[Id]
    person_id: Mapped[PersonId]
    about: Mapped[Code]
    about_id: Mapped[str] = mapped_column(String(32))
    text: Mapped[Prose]
    written_at: Mapped[Moment]
    seen_at: Mapped[MaybeMoment]
