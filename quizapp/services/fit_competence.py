"""Fits the estimate to this service's own outcomes, and puts a fit in force or takes it out: by command only."""

from __future__ import annotations

import hashlib
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from quizapp.assessment.audit_events import AuditEvent
from quizapp.assessment.competence_fit import AssessedHistory, fitted, foretold_by
from quizapp.assessment.competence_models import AS_PUBLISHED, LocalFit
from quizapp.assessment.competence_settings import MODEL_VERSION, Track
from quizapp.errors import Conflict, NotFound
from quizapp.psychometrics.calibration import (
    FEWEST_NOT_SHOWN,
    FEWEST_OUTCOMES,
    Foretold,
    brier,
    has_enough_outcomes,
    log_loss,
)
from quizapp.services.audit_trail import SYSTEM, append
from quizapp.services.competence_calibration import assessed_outcomes
from quizapp.services.competence_episodes import episodes_of
from quizapp.services.competence_models_in_force import forget_models
from quizapp.services.rebuild_competence import people_in_parts
from quizapp.store.competence import CompetenceFit


@dataclass(frozen=True, kw_only=True)
class Halves:
    """The histories of one track that end in outcomes: of the people to fit on, and of the others to judge on."""

    outcome_count: int
    not_shown_count: int
    to_fit: list[AssessedHistory]
    to_judge: list[AssessedHistory]


@dataclass(frozen=True, kw_only=True)
class Judged:
    """A fit, what it was made from, and what both it and the published numbers foretold of people it never saw."""

    track: Track
    fit: LocalFit
    outcome_count: int
    not_shown_count: int
    before: tuple[Foretold, ...]
    after: tuple[Foretold, ...]


def fit_competence(session: Session, zone: ZoneInfo, track: Track, *, told: Callable[[float], None]) -> Judged:
    """Fit one track on one half of the people and judge it on the other half; nothing is written.

    `told` hears of each set of numbers tried. Raises Conflict where there are too few outcomes.
    """
    halves = _halves(session, zone, track)
    if not has_enough_outcomes(halves.outcome_count, halves.not_shown_count) or not halves.to_judge:
        raise Conflict(
            f"{track.value}: {halves.outcome_count} outcomes that others assessed, {halves.not_shown_count} of them "
            f"not shown. At least {FEWEST_OUTCOMES} are needed, {FEWEST_NOT_SHOWN} of them not shown. Nothing was "
            "fitted; the published numbers go on."
        )
    fit = fitted(halves.to_fit, told)
    return Judged(
        track=track,
        fit=fit,
        outcome_count=halves.outcome_count,
        not_shown_count=halves.not_shown_count,
        before=tuple(foretold_by(AS_PUBLISHED, halves.to_judge)),
        after=tuple(foretold_by(fit, halves.to_judge)),
    )


def keep_fit(session: Session, now: datetime, judged: Judged, *, fit_id: str) -> CompetenceFit:
    """Keep a fit under the next number, not in force."""
    row = _row(judged)
    row.id, row.fitted_at = fit_id, now
    row.number = 1 + (session.scalar(select(func.max(CompetenceFit.number))) or 0)
    session.add(row)
    _note(session, now, AuditEvent.COMPETENCE_FITTED, row)
    return row


def put_fit_in_force(session: Session, now: datetime, number: int) -> CompetenceFit:
    """Put a kept fit in force in place of what was; every state has to be told again afterwards.

    Raises NotFound for an unknown number, Conflict where the fit was in force before, belongs to another model, or
    foretold the half it was judged on no better than the published numbers.
    """
    row = session.scalar(select(CompetenceFit).where(CompetenceFit.number == number))
    if row is None:
        raise NotFound(f"There is no fit {number}. Nothing was changed.")
    if row.model_version != MODEL_VERSION or row.put_in_force_at is not None:
        raise Conflict(f"Fit {number} is of another model or was in force before. Nothing was changed. Fit anew.")
    if not is_better(row):
        raise Conflict(
            f"Fit {number} foretold the people it was judged on no better than the published numbers. "
            "Nothing was changed."
        )
    for other in _in_force(session, Track(row.track)):
        other.taken_out_at = now
    row.put_in_force_at = now
    _note(session, now, AuditEvent.COMPETENCE_FIT_PUT_IN_FORCE, row)
    forget_models(session)
    return row


def take_fit_out(session: Session, now: datetime, track: Track) -> CompetenceFit:
    """Go back to the published numbers of a track; every state has to be told again afterwards.

    Raises Conflict where they are in force already.
    """
    rows = _in_force(session, track)
    if not rows:
        raise Conflict(f"{track.value}: the published numbers are in force already. Nothing was changed.")
    for row in rows:
        row.taken_out_at = now
        _note(session, now, AuditEvent.COMPETENCE_FIT_TAKEN_OUT, row)
    forget_models(session)
    return rows[0]


def is_better(row: CompetenceFit) -> bool:
    """Whether a fit foretold the people it was not fitted on better, by both scores."""
    return row.brier_after < row.brier_before and row.log_loss_after < row.log_loss_before


def fits_kept(session: Session) -> list[CompetenceFit]:
    """Return every fit, the newest first."""
    return list(session.scalars(select(CompetenceFit).order_by(CompetenceFit.number.desc())))


def _in_force(session: Session, track: Track) -> list[CompetenceFit]:
    wanted = select(CompetenceFit).where(
        CompetenceFit.track == track.value,
        CompetenceFit.put_in_force_at.is_not(None),
        CompetenceFit.taken_out_at.is_(None),
    )
    return list(session.scalars(wanted))


def _note(session: Session, now: datetime, event: AuditEvent, row: CompetenceFit) -> None:
    append(
        session, now, actor_id=SYSTEM, event=event, object_type="competence_fit", object_id=row.id,
        details={"number": row.number, "track": row.track, "outcomes": row.outcome_count},
    )  # fmt: skip


def _row(judged: Judged) -> CompetenceFit:
    fit = judged.fit
    return CompetenceFit(
        track=judged.track.value,
        model_version=MODEL_VERSION,
        half_life_factor=fit.half_life_factor,
        long_run_variance=fit.long_run_variance,
        taught_target=fit.taught_target,
        intercept=fit.recalibration.intercept,
        slope=fit.recalibration.slope,
        outcome_count=judged.outcome_count,
        not_shown_count=judged.not_shown_count,
        judged_count=len(judged.before),
        brier_before=brier(judged.before),
        brier_after=brier(judged.after),
        log_loss_before=log_loss(judged.before),
        log_loss_after=log_loss(judged.after),
    )


def _halves(session: Session, zone: ZoneInfo, track: Track) -> Halves:
    """Everybody is in one half with all that is known of them; which one, their id says."""
    outcomes = assessed_outcomes(session, track)
    to_fit: list[AssessedHistory] = []
    to_judge: list[AssessedHistory] = []
    for part in people_in_parts(session):
        for skill, episodes in episodes_of(session, zone, part).items():
            if skill.track is not track:
                continue
            shown = {
                one.source_id: outcomes.shown[one.source_id, skill.competency]
                for one in episodes
                if (one.source_id, skill.competency) in outcomes.shown
            }
            half = to_fit if _is_to_fit(skill.person_id) else to_judge
            half.append(
                AssessedHistory(competency=skill.competency, track=track, episodes=tuple(episodes), shown=shown)
            )
    counts = Counter(outcomes.was_shown_in_all.values())
    return Halves(
        outcome_count=sum(counts.values()), not_shown_count=counts[False], to_fit=to_fit,
        to_judge=[one for one in to_judge if one.shown],
    )  # fmt: skip


def _is_to_fit(person_id: str) -> bool:
    return hashlib.sha256(person_id.encode()).digest()[0] % 2 == 0
