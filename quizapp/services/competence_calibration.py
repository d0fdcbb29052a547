"""How far the estimate can be believed here: forecasts stored before outcomes, beside what others then assessed."""

from __future__ import annotations

from dataclasses import dataclass

from sqlalchemy import Row, func, select
from sqlalchemy.orm import Session

from quizapp.assessment.competence_settings import MODEL_VERSION, Track
from quizapp.assessment.sign_off import EvidenceKind, EvidenceOutcome
from quizapp.psychometrics.calibration import Calibration, Foretold, calibration, has_enough_outcomes
from quizapp.services.evidence_of import is_replaced
from quizapp.store.competence import CompetencePrediction
from quizapp.store.evidence import Evidence
from quizapp.store.observations import Observation

GAPS = (("within 90 days", 0, 89), ("after 90 to 180 days", 90, 180), ("after more than 180 days", 181, None))
KIND_OF = {Track.KNOWLEDGE: EvidenceKind.SITTING, Track.PERFORMANCE: EvidenceKind.OBSERVATION}


@dataclass(frozen=True, kw_only=True)
class TrackCalibration:
    """One track: how many sittings or observations had an outcome, in how many something was not shown, the figures.

    The competencies of one sitting or one performance are no independent outcomes; they count once for
    `is_calibrated`.
    """

    track: Track
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
    return {track: _of_track(track, _outcomes(session, track)) for track in Track}


def _of_track(track: Track, rows: list[Row[str, float, int | None, str]]) -> TrackCalibration:
    not_shown = {row.source_id for row in rows if row.outcome == EvidenceOutcome.NOT_SHOWN}
    return TrackCalibration(
        track=track,
        outcome_count=len({row.source_id for row in rows}),
        not_shown_count=len(not_shown),
        overall=calibration([_foretold(row) for row in rows]),
        by_gap=tuple(
            (words, calibration([_foretold(row) for row in rows if _lies_in(row.gap_days, least, most)]))
            for words, least, most in GAPS
        ),
    )


def _outcomes(session: Session, track: Track) -> list[Row[str, float, int | None, str]]:
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
            CompetencePrediction.model_version == MODEL_VERSION,
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
