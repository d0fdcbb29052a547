"""`quizapp competence`: make the states of the estimate anew, and say how far it can be believed here."""

from __future__ import annotations

import argparse
from datetime import UTC, datetime
from typing import TYPE_CHECKING

from quizapp.cli.competence_fit import add_fit_actions
from quizapp.cli.opened import opened_database, zone_of_service
from quizapp.cli.simulated.command import add_arguments
from quizapp.psychometrics.calibration import FEWEST_NOT_SHOWN, FEWEST_OUTCOMES
from quizapp.services.competence_calibration import TrackCalibration, calibration_of_service
from quizapp.services.rebuild_competence import Rebuilt, people_in_parts, rebuild_competence
from quizapp.store.database import Database

if TYPE_CHECKING:
    Commands = argparse._SubParsersAction[argparse.ArgumentParser]


def add_to(commands: Commands) -> None:
    """Add `competence rebuild`, `calibration`, `simulate` and what puts a local fit in force."""
    competence = commands.add_parser("competence", help="the estimate of competence over time, which only advises")
    actions = competence.add_subparsers(title="actions", dest="action", required=True, metavar="ACTION")
    rebuild = actions.add_parser("rebuild", help="tell every state again from sittings and observations")
    rebuild.set_defaults(run=run_rebuild)
    figures = actions.add_parser("calibration", help="forecasts stored before their outcomes, beside the outcomes")
    figures.set_defaults(run=run_calibration)
    simulate = actions.add_parser(
        "simulate", help="simulated clinicians of known skill: how well each way foretells it"
    )
    add_arguments(simulate)
    add_fit_actions(actions, _rebuild)


def run_rebuild(_chosen: argparse.Namespace) -> int:
    """Rebuild everybody's states."""
    with opened_database() as database:
        _rebuild(database)
    return 0


def _rebuild(database: Database) -> None:
    """Tell the states again, some people in one transaction, and say how far it is."""
    zone = zone_of_service(database)
    with database.reading() as session:
        parts = list(people_in_parts(session))
    total, done = sum(map(len, parts)), Rebuilt(people=0, states=0, differed=0)
    for part in parts:
        with database.writing() as session:
            done = done.with_more(rebuild_competence(session, datetime.now(UTC), zone, part))
        print(f"{done.people} of {total} people", flush=True)
    differed = "1 was not as its history tells and was" if done.differed == 1 else (
        f"{done.differed} were not as their history tells and were"
    )  # fmt: skip
    print(f"{done.states} state{'s' * (done.states != 1)} told again; {differed} put right.")


def run_calibration(_chosen: argparse.Namespace) -> int:
    """Print the figures of both tracks."""
    with opened_database() as database, database.reading() as session:
        for track in calibration_of_service(session).values():
            print("\n".join(_lines(track)))
    return 0


def _lines(track: TrackCalibration) -> list[str]:
    outcomes = "1 outcome" if track.outcome_count == 1 else f"{track.outcome_count} outcomes"
    numbers = "published numbers" if track.fit_number is None else f"local fit {track.fit_number}"
    counts = f"{outcomes} that others assessed, {track.not_shown_count} of them not shown"
    verdict = "" if track.is_calibrated else (
        f" (uncalibrated: at least {FEWEST_OUTCOMES} are needed, {FEWEST_NOT_SHOWN} of them not shown)"
    )  # fmt: skip
    lines = [f"{track.track.value}, {numbers}: {counts}{verdict}"]
    for words, figures in (("all", track.overall), *track.by_gap):
        if figures is not None:
            slope = "none" if figures.slope is None else f"{figures.slope:.2f}"
            lines.append(
                f"  {words}: n {figures.count}, Brier {figures.brier:.3f} (base rate {figures.base_rate_brier:.3f}), "
                f"log loss {figures.log_loss:.3f}, error of ten bins {figures.calibration_error:.3f}, slope {slope}, "
                f"z {figures.spiegelhalter_z:.2f}"
            )
    return lines
