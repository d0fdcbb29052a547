"""`quizapp people` and `quizapp sign-offs`: take files over, invite people; the same acts as on the pages."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from sqlalchemy import select

from quizapp.assessment.roster_plan import RosterPlan
from quizapp.cli.founding import SET_PASSWORD_PATH, line_of
from quizapp.cli.opened import act_as, opened_database, settings_of_commands
from quizapp.cli.told_file import write_told
from quizapp.content.library import read_library
from quizapp.errors import BadInput, ContentFault, ContentFaults
from quizapp.services.accounts import invite
from quizapp.services.import_drafts import DraftKind, keep_draft
from quizapp.services.import_people import import_people, plan_import
from quizapp.services.import_sign_offs import SignOffPlan, plan_sign_offs, second_person
from quizapp.services.tell_person import tell_person
from quizapp.store.people import Person

if TYPE_CHECKING:
    Commands = argparse._SubParsersAction[argparse.ArgumentParser]

SIGN_OFFS_PATH = "/people/sign-offs/"
LARGEST_FILE = 20 * 1_048_576


def add_to(commands: Commands) -> None:
    """Add `people import`, `people invite`, `people tell` and `sign-offs import`."""
    people = commands.add_parser("people", help="take a roster over, invite people")
    actions = people.add_subparsers(title="actions", dest="action", required=True, metavar="ACTION")
    roster = _import_parser(actions, "take over a roster (CSV); see the columns with --dry-run")
    roster.set_defaults(run=run_people)
    invitation = actions.add_parser("invite", help="print a single-use code by which somebody sets a password")
    invitation.add_argument("staff_number", help="whom to invite")
    invitation.add_argument("--as", dest="name", required=True, metavar="SIGN_IN", help="administrator who does this")
    invitation.set_defaults(run=run_invite)
    told = actions.add_parser("tell", help="write everything kept about one person into an archive, for that person")
    told.add_argument("staff_number", help="about whom")
    told.add_argument("file", type=Path, help="the archive to write (ZIP: a page and JSON)")
    told.add_argument("--as", dest="name", required=True, metavar="SIGN_IN", help="administrator who does this")
    told.set_defaults(run=run_tell)
    sign_offs = commands.add_parser("sign-offs", help="take over sign-offs given elsewhere")
    kinds = sign_offs.add_subparsers(title="actions", dest="action", required=True, metavar="ACTION")
    given = _import_parser(kinds, "check sign-offs given elsewhere (CSV) and keep them for two people to sign")
    given.add_argument("--second", required=True, metavar="SIGN_IN", help="second person who stands for them")
    given.set_defaults(run=run_sign_offs)


def _import_parser(actions: Commands, words: str) -> argparse.ArgumentParser:
    parser = actions.add_parser("import", help=words)
    parser.add_argument("file", type=Path, help="the CSV file")
    parser.add_argument("--dry-run", action="store_true", help="say what would be done and every fault; change nothing")
    parser.add_argument("--as", dest="name", required=True, metavar="SIGN_IN", help="who does this, by sign-in name")
    return parser


def _content_of(path: Path) -> bytes:
    try:
        if path.stat().st_size > LARGEST_FILE:
            raise BadInput(f"{path} is larger than 20 MiB. Nothing was changed. Split it.")
        return path.read_bytes()
    except OSError as fault:
        raise BadInput(f"{path} cannot be read: {fault.strerror}. Nothing was changed.") from None


def run_people(chosen: argparse.Namespace) -> int:
    """Check or take over a roster; 1 when it has faults."""
    content = _content_of(chosen.file)
    with opened_database() as database:
        if chosen.dry_run:
            with database.reading() as session:
                plan = plan_import(act_as(session, chosen.name), content=content, path=chosen.file.name)
            return _say_roster(plan, "would be")
        try:
            with database.writing() as session:
                plan = import_people(act_as(session, chosen.name), content=content, path=chosen.file.name)
        except ContentFaults as found:
            return _say_end(found.faults, "")
    return _say_roster(plan, "were")


def _say_roster(plan: RosterPlan, verb: str) -> int:
    for row in plan.new:
        print(f"new: {row.staff_number} {row.name}, {row.base}")
    for change in plan.changed:
        for one in change.fields:
            print(
                f"changed: {change.row.staff_number} {one.field}: {one.before or '(empty)'} -> {one.after or '(empty)'}"
            )
    counts = f"{len(plan.new)} {verb} added, {len(plan.changed)} {verb} changed, {plan.same_count} are the same"
    return _say_end(plan.faults, f"{counts}, {plan.absent_count} are not in the file and stay as they are.")


def _say_end(faults: Sequence[ContentFault], counts: str) -> int:
    for fault in faults:
        print(fault)
    errors = sum(fault.level == "error" for fault in faults)
    refused = f"{errors} fault{'s' * (errors != 1)}: the file cannot be taken over. Nothing was changed."
    print(refused if errors else counts)
    return 1 if errors else 0


def run_sign_offs(chosen: argparse.Namespace) -> int:
    """Check sign-offs given elsewhere and keep them for the two people to sign; 1 when the file has faults."""
    content = _content_of(chosen.file)
    library = read_library(settings_of_commands().content_folder)
    with opened_database() as database, database.reading() if chosen.dry_run else database.writing() as session:
        act = act_as(session, chosen.name)
        second_by = second_person(act, sign_in_name=chosen.second)
        plan = plan_sign_offs(act, library, content=content, path=chosen.file.name, second_by=second_by)
        if plan.errors:
            return _say_end(plan.faults, "")
        draft_id = ""
        if not chosen.dry_run:
            draft_id = keep_draft(act, DraftKind.SIGN_OFFS, file_name=chosen.file.name, content=content,
                                  second_by=second_by)  # fmt: skip
    return _say_sign_offs(plan, draft_id, first=chosen.name, second=chosen.second)


def _say_sign_offs(plan: SignOffPlan, draft_id: str, *, first: str, second: str) -> int:
    for one in plan.new:
        row = one.row
        about = f"{row.competency} on {row.profile} revision {row.revision}"
        print(f"to recognise: {row.staff_number} {one.person_name}, {about}, {row.signed_on} to {row.last_valid_day}")
    code = _say_end(
        plan.faults, f"{len(plan.new)} would be recognised, {plan.same_count} were recognised before. None counts yet."
    )
    if draft_id:
        print(f"Within the hour {first} signs at {SIGN_OFFS_PATH}{draft_id}, then {second} at /recognise/{draft_id}.")
    return code


def run_invite(chosen: argparse.Namespace) -> int:
    """Print a code for one person."""
    with opened_database() as database, database.writing() as session:
        act = act_as(session, chosen.name)
        person_id = session.scalar(select(Person.id).where(Person.staff_number == chosen.staff_number))
        if person_id is None:
            raise BadInput(f"Nobody has the staff number {chosen.staff_number!r}. Nothing was changed.")
        invitation = invite(act, person_id=person_id)
    print(f"Hand this code over. It works once, on {SET_PASSWORD_PATH}:")
    print(line_of(invitation))
    return 0


def run_tell(chosen: argparse.Namespace) -> int:
    """Write one person's records; what is written is noted before it leaves."""
    with opened_database() as database, database.writing() as session:
        told = tell_person(act_as(session, chosen.name), staff_number=chosen.staff_number)
        write_told(chosen.file, told)
    rows = sum(len(found) for found in told.tables.values())
    print(f"{chosen.file}: {rows} records and {len(told.acts)} acts. Hand it to {told.name} and to nobody else.")
    return 0
