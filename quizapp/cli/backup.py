"""`quizapp backup` and `quizapp restore`: a checked copy of everything, and the way back with the loss stated first."""

from __future__ import annotations

import argparse
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from quizapp.cli.opened import opened_database, settings_of_commands
from quizapp.services.restore_backup import RestorePlan, plan_restore, restore
from quizapp.services.take_backup import BackupTaken, file_of, take_backup

if TYPE_CHECKING:
    Commands = argparse._SubParsersAction[argparse.ArgumentParser]


def add_to(commands: Commands) -> None:
    """Add `backup` and `restore`."""
    backup = commands.add_parser("backup", help="write a checked copy of the database while the service runs")
    backup.add_argument("file", help="a new file, or a folder (ending in /, or there) in which it is named by the time")
    backup.set_defaults(run=run_backup)
    back = commands.add_parser("restore", help="put a backup in the place of the database; says first what is lost")
    back.add_argument("file", type=Path, help="the backup")
    back.add_argument("--yes", action="store_true", help="do it; without this nothing is changed")
    back.set_defaults(run=run_restore)


def run_backup(chosen: argparse.Namespace) -> int:
    """Write the copy and say what it holds."""
    now = datetime.now(UTC)
    file_of(settings_of_commands().database_url)
    target = _target(chosen.file, now)
    with opened_database() as database:
        taken = take_backup(database, now, target)
    print(_backup_words(taken, target))
    return 0


def _target(named: str, now: datetime) -> Path:
    """Return the file to write; a folder named with a slash at its end is made where it is missing."""
    place = Path(named)
    if named.endswith("/") and not place.exists():
        place.mkdir(mode=0o700, parents=True)
    return place / f"quizapp-{now:%Y%m%dT%H%M%SZ}.db" if place.is_dir() else place


def _backup_words(taken: BackupTaken, target: Path) -> str:
    state = taken.state
    return (
        f"Backup written to {target}: {sum(state.counts.values())} rows in {len(state.counts)} tables, schema "
        f"{state.revision}, audit trail up to row {state.head.seq} (head {state.head.hash.hex()[:16]}).\n"
        f"Checked: pages, references, counts, audit trail. SHA-256 {taken.sha256}\n"
        "The secret is not in it; keep a copy of that file elsewhere as well."
    )


def run_restore(chosen: argparse.Namespace) -> int:
    """Say what the backup holds and what would be lost; restore it with --yes."""
    plan = plan_restore(settings_of_commands().database_url, chosen.file)
    print("\n".join(_plan_words(plan)))
    if not chosen.yes:
        print("Nothing was changed. To restore it, stop the service and run this again with --yes.")
        return 1
    kept = restore(plan, datetime.now(UTC))
    print(f"Restored to {plan.place}, and noted on the audit trail. Everybody signs in anew.")
    if kept is not None:
        print(
            f"What stood there is kept as {kept}. Look in it for what has to be done again, roles and accounts first."
        )
    return 0


def _plan_words(plan: RestorePlan) -> list[str]:
    state = plan.backup
    lines = [
        f"{plan.file} is sound: schema {state.revision}, audit trail up to row {state.head.seq}, last act "
        f"{state.last_at or 'none'}."
    ]
    if plan.loss is None:
        lines.append(f"{plan.why_unknown} What is lost cannot be counted: everything after that last act.")
    elif plan.loss.rows == 0:
        lines.append("Nothing is lost: the database in its place holds no act that the backup does not hold.")
    else:
        lines.append(f"Lost: {plan.loss.rows} rows of the audit trail, {plan.loss.minutes} minutes of work:")
        lines += [f"  {count} x {act.replace('_', ' ')}" for act, count in plan.loss.acts.items()]
    return lines
