"""How far the estimate can be believed here: forecasts stored before outcomes, beside what others then assessed.

Only forecasts of the numbers in force count; what another model or another local fit foretold says nothing of these.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from sqlalchemy import Row, func, select
from sqlalchemy.orm import Session

from quizapp.assessment.competence_settings import Track
from quizapp.assessment.sign_off import EvidenceKind, EvidenceOutcome
from quizapp.psychometrics.calibration import Calibration, Foretold, calibration, has_enough_outcomes
from quizapp.services.competence_models_in_force import models_in_force
from quizapp.services.evidence_of import is_replaced
from quizapp.store.competence import CompetencePrediction
from quizapp.store.evidence import Evidence
from quizapp.store.observations import Observation

GAPS = (("within 90 days", 0, 89), ("after 90 to 180 days", 90, 180), ("after more than 180 days", 181, None))
KIND_OF = {Track.KNOWLEDGE: EvidenceKind.SITTING, Track.PERFORMANCE: EvidenceKind.OBSERVATION}


@dataclass(frozen=True, kw_only=True)
class TrackCalibration:
    """One track: how many sittings or observations had an outcome, in how many something was not shown, the figures.

    `fit_number`: the local fit in force, none where the published numbers are.

    The competencies of one sitting or one performance are no independent outcomes; they count once for
    `is_calibrated`.
    """

    track: Track
    fit_number: int | None
    outcome_count: int
    not_shown_count: int
    overall: Calibration | None
    by_gap: tuple[tuple[str, Calibration | None], ...]

    @property
    def is_calibrated(self) -> bool:
        """Whether there are enough outcomes that others assessed; until then every chance is called uncalibrated."""
        return has_enough_outcomes(self.outcome_count, self.not_shown_count)


def calibration_of_service(session: Session) -> dict[Track, TrackCalibration]:
    """Return the calibration of both tracks over the whole service, with one statement each."""
    models = models_in_force(session)
    return {
        track: _of_track(
            track,
            models.fits[track].number if track in models.fits else None,
            _foretold_outcomes(session, track, models.version(track)),
        )
        for track in Track
    }


@dataclass(frozen=True, kw_only=True)
class AssessedOutcomes:
    """What others assessed on one track: by source and competency, and by performance or sitting as a whole."""

    shown: dict[tuple[str, str], bool]
    was_shown_in_all: dict[str, bool]


def assessed_outcomes(session: Session, track: Track) -> AssessedOutcomes:
    """Return every outcome of a track, whether or not anything was foretold of it, with one statement."""
    rows = session.execute(
        select(
            Evidence.source_id,
            Evidence.competency,
            Evidence.outcome,
            func.coalesce(Observation.performance_id, Evidence.source_id).label("whole_id"),
        )
        .outerjoin(Observation, Observation.id == Evidence.source_id)
        .where(*_is_outcome(track))
    ).all()
    in_all: dict[str, bool] = {}
    for row in rows:
        in_all[row.whole_id] = in_all.get(row.whole_id, True) and row.outcome == EvidenceOutcome.SHOWN
    return AssessedOutcomes(
        shown={(row.source_id, row.competency): row.outcome == EvidenceOutcome.SHOWN for row in rows},
        was_shown_in_all=in_all,
    )


def _is_outcome(track: Track) -> list[Any]:
    """Evidence of the track's own kind that stands, and says one or the other."""
    replaced = select(Evidence.replaces_id).where(Evidence.replaces_id.is_not(None))
    return [
        Evidence.kind == KIND_OF[track].value,
        Evidence.outcome.in_([EvidenceOutcome.SHOWN.value, EvidenceOutcome.NOT_SHOWN.value]),
        Evidence.id.not_in(replaced),
    ]


def _of_track(track: Track, fit_number: int | None, rows: list[Row[str, float, int | None, str]]) -> TrackCalibration:
    not_shown = {row.source_id for row in rows if row.outcome == EvidenceOutcome.NOT_SHOWN}
    return TrackCalibration(
        track=track,
        fit_number=fit_number,
        outcome_count=len({row.source_id for row in rows}),
        not_shown_count=len(not_shown),
        overall=calibration([_foretold(row) for row in rows]),
        by_gap=tuple(
            (words, calibration([_foretold(row) for row in rows if _lies_in(row.gap_days, least, most)]))
            for words, least, most in GAPS
        ),
    )


def _foretold_outcomes(session: Session, track: Track, version: int) -> list[Row[str, float, int | None, str]]:
    wanted = (
        select(
            func.coalesce(Observation.performance_id, CompetencePrediction.source_id).label("source_id"),
            CompetencePrediction.chance_fraction,
            CompetencePrediction.gap_days,
            Evidence.outcome,
        )
        .join(
            Evidence,
            (Evidence.source_id == CompetencePrediction.source_id)
            & (Evidence.competency == CompetencePrediction.competency),
        )
        .outerjoin(Observation, Observation.id == CompetencePrediction.source_id)
        .where(
            CompetencePrediction.track == track.value,
            CompetencePrediction.model_version == version,
            Evidence.kind == KIND_OF[track].value,
            ~is_replaced(),
            Evidence.outcome.in_([EvidenceOutcome.SHOWN.value, EvidenceOutcome.NOT_SHOWN.value]),
        )
        .order_by(CompetencePrediction.predicted_at, CompetencePrediction.id)
    )
    return list(session.execute(wanted))


def _foretold(row: Row[str, float, int | None, str]) -> Foretold:
    return Foretold(chance_fraction=row.chance_fraction, was_shown=row.outcome == EvidenceOutcome.SHOWN)


def _lies_in(gap_days: int | None, least: int, most: int | None) -> bool:
    return gap_days is not None and gap_days >= least and (most is None or gap_days <= most)
