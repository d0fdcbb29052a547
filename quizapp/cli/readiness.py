"""`quizapp readiness`: keep everybody's standing for the page of all bases, and find shifts that lost their cover."""

from __future__ import annotations

import argparse
from datetime import UTC, datetime
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from sqlalchemy import select
from sqlalchemy.orm import Session

from quizapp.assessment.permissions import Actor
from quizapp.assessment.shift_answers import AlertCause
from quizapp.cli.opened import opened_database, settings_of_commands, zone_of_service
from quizapp.content.library import read_library
from quizapp.services.act import Act, SystemRandomness
from quizapp.services.keep_standings import AT_ONCE, clinicians_not_kept, keep_standings
from quizapp.services.note_covers import note_covers
from quizapp.store.people import RescueBase

if TYPE_CHECKING:
    Commands = argparse._SubParsersAction[argparse.ArgumentParser]

NOBODY = Actor(person_id="", account_id="", name="")


def add_to(commands: Commands) -> None:
    """Add `readiness note`."""
    readiness = commands.add_parser("readiness", help="cover of shifts and the standing of everybody, noted each day")
    actions = readiness.add_subparsers(title="actions", dest="action", required=True, metavar="ACTION")
    note = actions.add_parser(
        "note", help="keep standings and tell leads of shifts that lost their cover; run it daily"
    )
    note.set_defaults(run=run_note)


def run_note(_chosen: argparse.Namespace) -> int:
    """Keep and note, some people and one base in one transaction each."""
    library = read_library(settings_of_commands().content_folder)
    kept = lost = 0
    with opened_database() as database:
        zone = zone_of_service(database)
        with database.reading() as session:
            missing = clinicians_not_kept(_act(session, zone))
            bases = list(session.scalars(select(RescueBase.id).order_by(RescueBase.name)))
        for start in range(0, len(missing), AT_ONCE):
            with database.writing() as session:
                kept += keep_standings(_act(session, zone), library, missing[start : start + AT_ONCE])
        for base_id in bases:
            with database.writing() as session:
                lost += len(note_covers(_act(session, zone), library, [base_id], AlertCause.TIME_OR_RECORD))
    print(f"{kept} standings kept; {lost} shift{'s' * (lost != 1)} found without cover, their leads are told.")
    return 0


def _act(session: Session, zone: ZoneInfo) -> Act:
    return Act(session=session, actor=NOBODY, now=datetime.now(UTC), randomness=SystemRandomness(), zone=zone)
