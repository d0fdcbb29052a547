"""`quizapp notices deliver`: write today's reminders and digests, then send what waits in the outbox."""

from __future__ import annotations

import argparse
import os
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from sqlalchemy import select

from quizapp.assessment.notices import NoticeState
from quizapp.assessment.permissions import Actor
from quizapp.cli.opened import opened_database, settings_of_commands
from quizapp.config import mail_server
from quizapp.content.library import read_library
from quizapp.errors import Conflict
from quizapp.services.act import Act, SystemRandomness
from quizapp.services.deliver_notices import claim, due_notices, settle, settle_lost
from quizapp.services.notices import write_due_notices
from quizapp.services.send_mail import Mail, Send, mail_through
from quizapp.store.database import Database
from quizapp.store.people import Service

if TYPE_CHECKING:
    Commands = argparse._SubParsersAction[argparse.ArgumentParser]

NOBODY = Actor(person_id="", account_id="", name="")


@dataclass(frozen=True, kw_only=True)
class Delivered:
    """How many were sent, wait for another try, may have arrived, or were given up."""

    sent: int = 0
    waiting: int = 0
    uncertain: int = 0
    given_up: int = 0


def add_to(commands: Commands) -> None:
    """Add `notices deliver`."""
    parser = commands.add_parser("notices", help="reminders and digests by mail")
    actions = parser.add_subparsers(title="actions", dest="action", required=True, metavar="ACTION")
    sending = actions.add_parser("deliver", help="write what is due today and send the outbox; safe to run at any time")
    sending.set_defaults(run=run)


def run(_chosen: argparse.Namespace) -> int:
    """Write and send; 1 when something could not be sent for good."""
    server = mail_server(os.environ)
    with opened_database() as database:
        written = _write(database)
        print(f"{written} written.")
        if server is None:
            print(
                "No mail server is named (QUIZAPP_MAIL_HOST): nothing was sent. People read their notices on the page."
            )
            return 0
        found = deliver(database, mail_through(server), _now, domain=server.sender.partition("@")[2])
    print(f"{found.sent} sent, {found.waiting} wait for another try, {found.uncertain} perhaps sent, "
          f"{found.given_up} could not be sent.")  # fmt: skip
    return 1 if found.given_up else 0


def deliver(database: Database, send: Send, clock: Callable[[], datetime], *, domain: str) -> Delivered:
    """Send what is due; safe to run beside another run and after one that was killed.

    domain: what follows the @ in the mails' own ids, the same in every run.
    """
    with database.writing() as session:
        settle_lost(session, clock())
    with database.reading() as session:
        due = due_notices(session, clock())
    counts = Counter(state for notice_id in due if (state := _send_one(database, send, clock, notice_id, domain)))
    return Delivered(
        sent=counts[NoticeState.SENT],
        waiting=counts[NoticeState.WAITING],
        uncertain=counts[NoticeState.UNCERTAIN],
        given_up=counts[NoticeState.GIVEN_UP],
    )


def _send_one(
    database: Database, send: Send, clock: Callable[[], datetime], notice_id: str, domain: str
) -> NoticeState | None:
    with database.writing() as session:
        found = claim(session, notice_id, clock())
    if found is None:
        return None
    outcome = send(Mail(message_id=f"<{notice_id}@{domain}>", to=found.address, subject=found.subject, body=found.body))
    with database.writing() as session:
        return settle(session, notice_id, clock(), outcome)


def _now() -> datetime:
    return datetime.now(UTC)


def _write(database: Database) -> int:
    library = read_library(settings_of_commands().content_folder)
    with database.writing() as session:
        service = session.scalar(select(Service))
        if service is None:
            raise Conflict("No service was founded here yet. Nothing was changed. Run: quizapp found")
        act = Act(session=session, actor=NOBODY, now=_now(), randomness=SystemRandomness(), zone=ZoneInfo(service.zone))
        return write_due_notices(act, library)
