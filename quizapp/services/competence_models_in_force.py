"""Which numbers the estimate runs on today: the published ones, unless a local fit was put in force by command."""

from __future__ import annotations

from sqlalchemy import select
from sqlalchemy.orm import Session

from quizapp.assessment.competence_models import CompetenceModels, LocalFit, NumberedFit
from quizapp.assessment.competence_settings import MODEL_VERSION, Track
from quizapp.psychometrics.recalibration import Recalibration
from quizapp.store.competence import CompetenceFit

KNOWN = "models of competence in force"


def models_in_force(session: Session) -> CompetenceModels:
    """Return the models of both tracks, with one statement a session.

    A fit to another version of the model is out of force by that.
    """
    known: CompetenceModels | None = session.info.get(KNOWN)
    if known is None:
        wanted = select(CompetenceFit).where(
            CompetenceFit.put_in_force_at.is_not(None),
            CompetenceFit.taken_out_at.is_(None),
            CompetenceFit.model_version == MODEL_VERSION,
        )
        known = CompetenceModels(fits={Track(row.track): numbered(row) for row in session.scalars(wanted)})
        session.info[KNOWN] = known
    return known


def forget_models(session: Session) -> None:
    """Let the models be read anew after one was put in force or taken out."""
    session.info.pop(KNOWN, None)


def numbered(row: CompetenceFit) -> NumberedFit:
    """Return the fit a row keeps."""
    return NumberedFit(
        number=row.number,
        fit=LocalFit(
            half_life_factor=row.half_life_factor,
            long_run_variance=row.long_run_variance,
            taught_target=row.taught_target,
            recalibration=Recalibration(intercept=row.intercept, slope=row.slope),
        ),
    )
