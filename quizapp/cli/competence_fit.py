"""`quizapp competence fit`, `fits`, `put-in-force`, `take-out`: numbers of one's own, by explicit command only."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from datetime import UTC, datetime
from typing import TYPE_CHECKING

from quizapp.assessment.competence_settings import Track
from quizapp.cli.opened import opened_database, zone_of_service
from quizapp.services.act import SystemRandomness
from quizapp.services.fit_competence import (
    fit_competence,
    fits_kept,
    is_better,
    keep_fit,
    put_fit_in_force,
    take_fit_out,
)
from quizapp.store.competence import CompetenceFit
from quizapp.store.database import Database

if TYPE_CHECKING:
    Commands = argparse._SubParsersAction[argparse.ArgumentParser]

Rebuild = Callable[[Database], None]


def add_fit_actions(actions: Commands, rebuild: Rebuild) -> None:
    """Add the four actions; `rebuild` tells every state again after the numbers changed."""
    fit = actions.add_parser("fit", help="fit one track to the outcomes of this service; the fit is kept, not in force")
    _add_track(fit)
    fit.set_defaults(run=run_fit)
    kept = actions.add_parser("fits", help="every fit with how it was judged, and which is in force")
    kept.set_defaults(run=run_fits)
    use = actions.add_parser("put-in-force", help="let the estimate run on a kept fit, and tell every state again")
    use.add_argument("number", type=int, help="the number of the fit")
    use.set_defaults(run=lambda chosen: run_put_in_force(chosen, rebuild))
    out = actions.add_parser("take-out", help="go back to the published numbers, and tell every state again")
    _add_track(out)
    out.set_defaults(run=lambda chosen: run_take_out(chosen, rebuild))


def _add_track(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("track", choices=[one.value for one in Track], help="which track")


def run_fit(chosen: argparse.Namespace) -> int:
    """Fit and judge, and say how far it is."""
    tried = _Tried()
    with opened_database() as database:
        zone = zone_of_service(database)
        with database.reading() as session:
            judged = fit_competence(session, zone, Track(chosen.track), told=tried.one_more)
        with database.writing() as session:
            row = keep_fit(session, datetime.now(UTC), judged, fit_id=SystemRandomness().new_id())
            print("\n".join(_lines(row)))
    print("It is kept and not in force. To let the estimate run on it: quizapp competence put-in-force NUMBER")
    return 0


def run_fits(_chosen: argparse.Namespace) -> int:
    """Print every fit, the newest first."""
    with opened_database() as database, database.reading() as session:
        rows = fits_kept(session)
        lines = [line for row in rows for line in _lines(row)]
    print("\n".join(lines) or "No fit was made here; the published numbers run.")
    return 0


def run_put_in_force(chosen: argparse.Namespace, rebuild: Rebuild) -> int:
    """Put one in force and tell every state again."""
    with opened_database() as database:
        with database.writing() as session:
            row = put_fit_in_force(session, datetime.now(UTC), chosen.number)
            print(f"Fit {row.number} is in force for {row.track}: uncalibrated until outcomes after today say more.")
        rebuild(database)
    return 0


def run_take_out(chosen: argparse.Namespace, rebuild: Rebuild) -> int:
    """Go back to the published numbers and tell every state again."""
    with opened_database() as database:
        with database.writing() as session:
            row = take_fit_out(session, datetime.now(UTC), Track(chosen.track))
            print(f"Fit {row.number} is out of force; {row.track} runs on the published numbers.")
        rebuild(database)
    return 0


def _lines(row: CompetenceFit) -> list[str]:
    state = "not in force" if row.put_in_force_at is None else f"in force from {row.put_in_force_at:%Y-%m-%d}"
    if row.taken_out_at is not None:
        state += f" to {row.taken_out_at:%Y-%m-%d}"
    verdict = "better than the published numbers" if is_better(row) else "no better than the published numbers"
    return [
        f"fit {row.number}, {row.track}, {row.fitted_at:%Y-%m-%d}: {state}",
        f"  {row.outcome_count} outcomes, {row.not_shown_count} not shown; judged on {row.judged_count} chances of the "
        f"other half: {verdict}",
        f"  Brier {row.brier_before:.3f} before, {row.brier_after:.3f} after; "
        f"log loss {row.log_loss_before:.3f} before, {row.log_loss_after:.3f} after",
        f"  half-life x {row.half_life_factor:.2f}, long-run variance {row.long_run_variance:.2f}, "
        f"course leads to {row.taught_target:.2f}, line {row.intercept:+.2f} {row.slope:+.2f} x logit",
    ]


class _Tried:
    """Says every so often how many sets of numbers were tried."""

    def __init__(self) -> None:
        self.count = 0

    def one_more(self, _cost: float) -> None:
        """Count one."""
        self.count += 1
        if self.count % 10 == 0:
            print(f"{self.count} sets of numbers tried", flush=True)
