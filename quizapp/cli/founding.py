"""`quizapp found`: found the service with its bases and two administrators, who set their own passwords by codes."""

from __future__ import annotations

import argparse
from datetime import UTC, datetime
from typing import TYPE_CHECKING

from quizapp.cli.opened import settings_of_commands
from quizapp.errors import BadInput
from quizapp.services.accounts import Invitation
from quizapp.services.act import SystemRandomness
from quizapp.services.found_service import FoundingAdministrator, FoundingBase, ServiceWanted, found_service
from quizapp.web.server import open_database

if TYPE_CHECKING:
    Commands = argparse._SubParsersAction[argparse.ArgumentParser]

SET_PASSWORD_PATH = "/set-password"  # noqa: S105 - the path of a page


def add_to(commands: Commands) -> None:
    """Add `found`."""
    parser = commands.add_parser("found", help="found the service: name, time zone, bases, two administrators")
    parser.add_argument("--name", required=True, help="name of the service, as printed everywhere")
    parser.add_argument("--zone", required=True, help="time zone in which its days begin, such as Europe/London")
    parser.add_argument(
        "--base", action="append", required=True, metavar="CODE:NAME:SETTING", help="a base; repeat for each"
    )
    parser.add_argument(
        "--administrator",
        action="append",
        required=True,
        metavar="STAFF_NUMBER:NAME:SIGN_IN_NAME",
        help="an administrator; exactly two, two different people",
    )
    parser.set_defaults(run=run)


def run(chosen: argparse.Namespace) -> int:
    """Found the service and print the two one-time codes, which are shown only now."""
    wanted = ServiceWanted(
        name=chosen.name,
        zone=chosen.zone,
        bases=[FoundingBase(code=code, name=name, setting=setting) for code, name, setting in _parts(chosen.base)],
        administrators=[
            FoundingAdministrator(staff_number=number, name=name, sign_in_name=sign_in_name)
            for number, name, sign_in_name in _parts(chosen.administrator)
        ],
    )
    database = open_database(settings_of_commands())
    try:
        with database.writing() as session:
            founded = found_service(session, datetime.now(UTC), SystemRandomness(), wanted)
    finally:
        database.close()
    print(f"{chosen.name} is founded with {len(wanted.bases)} bases. Nobody has a password yet.")
    print(f"Each administrator opens {SET_PASSWORD_PATH} and enters their own code. A code works once, for 7 days:")
    for invitation in founded.invitations:
        print(line_of(invitation))
    print("The codes are kept only as hashes and cannot be shown again.")
    return 0


def line_of(invitation: Invitation) -> str:
    """Say one invitation in one line."""
    ends = invitation.ends_at.strftime("%Y-%m-%d %H:%M UTC")
    return f"  {invitation.sign_in_name}  {invitation.code}  until {ends}"


def _parts(texts: list[str]) -> list[tuple[str, str, str]]:
    found = []
    for text in texts:
        parts = text.split(":")
        if len(parts) != 3 or not all(part.strip() for part in parts):
            raise BadInput(f"{text!r} has not three parts with a colon between them. Nothing was changed.")
        found.append((parts[0].strip(), parts[1].strip(), parts[2].strip()))
    return found
