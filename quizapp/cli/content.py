"""`quizapp content`: check the content folder, and draw questions from a family to see what people will be asked."""

from __future__ import annotations

import argparse
import os
import sys
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from quizapp.assessment.drawing import DrawFault
from quizapp.cli.question_report import as_text
from quizapp.config import content_folder
from quizapp.content.family_draws import draw_reports
from quizapp.content.front_matter import suggest
from quizapp.content.library import Library, check_library, read_library
from quizapp.errors import NotFound
from quizapp.ventilation.device_profile import DeviceProfile

if TYPE_CHECKING:
    Commands = argparse._SubParsersAction[argparse.ArgumentParser]

MOST_QUESTIONS = 1000


def add_to(commands: Commands) -> None:
    """Add `content check` and `content draw`."""
    content = commands.add_parser("content", help="check content files, draw questions from them")
    actions = content.add_subparsers(title="actions", dest="action", required=True, metavar="ACTION")
    check = actions.add_parser("check", help="name every fault of every content file")
    check.add_argument("folder", nargs="?", type=Path, help="folder that holds question_bank and checklists")
    check.add_argument("--shares", action="store_true", help="also how many draws of each family can be asked")
    check.set_defaults(run=run_check)
    draw = actions.add_parser("draw", help="draw questions from a family and show keys and wrong ideas")
    draw.add_argument("family", help="code of the family, such as N14")
    draw.add_argument("--seed", type=_whole_number, default=0, help="seed of the first question (default 0)")
    draw.add_argument("--count", type=_count, default=1, help="how many questions (default 1)")
    draw.add_argument("--json", action="store_true", help="one line of JSON a question, as it is frozen")
    draw.add_argument("--profile", help="device profile, such as TV-A-1 (default: the first that suits the family)")
    draw.set_defaults(run=run_draw)


def run_check(chosen: argparse.Namespace) -> int:
    """Print every fault as file:line: message; 1 if any of them is an error."""
    folder = chosen.folder or content_folder(os.environ)
    library, faults = check_library(folder, datetime.now(UTC).date())
    for fault in faults:
        print(fault)
    errors = sum(fault.level == "error" for fault in faults)
    if chosen.shares:
        _print_shares(library)
    for procedure in library.procedures.values():
        print(f"{procedure.code} {procedure.title}: {procedure.valid_orders:,} valid orders")
    print(
        f"{len(library.families)} families, {len(library.procedures)} checklists, {len(library.discussions)} "
        f"discussions, {len(library.profile_files)} device profiles read from {folder}: {errors} errors, "
        f"{len(faults) - errors} warnings.",
        file=sys.stderr,
    )
    return 1 if errors else 0


def _print_shares(library: Library) -> None:
    """Both shares of every family that asks for numbers, for the device with which it fares worst."""
    for family in library.families.values():
        try:
            reports = draw_reports(family, library.profiles) if family.blanks else {}
        except DrawFault:
            continue
        if reports:
            kept = min(reports, key=lambda profile: reports[profile].kept_share)
            unnamed = max(reports, key=lambda profile: reports[profile].unnamed_share)
            print(
                f"{family.code} {family.title}: {reports[kept].kept_share:.0%} of the draws kept ({kept.label}), two "
                f"wrong ideas on one number in {reports[unnamed].unnamed_share:.0%} of these ({unnamed.label})"
            )


def run_draw(chosen: argparse.Namespace) -> int:
    """Print the questions drawn; 2 for an unknown family or profile."""
    library = read_library(content_folder(os.environ))
    try:
        code = library.family(chosen.family.upper()).code
        profile = _profile(library, code, chosen.profile)
        for seed in range(chosen.seed, chosen.seed + chosen.count):
            question = library.draw(code, profile, seed)
            print(question.to_json() if chosen.json else as_text(question))
    except (NotFound, DrawFault) as error:
        print(error, file=sys.stderr)
        return 2
    return 0


def _profile(library: Library, code: str, wanted: str | None) -> DeviceProfile:
    if wanted is None:
        suited = (profile for profile in library.profiles if library.family(code) in library.families_for(profile))
        found = next(suited, None)
        if found is None:
            raise NotFound(f"{code} suits none of the device profiles.")
        return found
    slug = wanted.lower()
    if slug not in library.profile_files:
        names = [known.upper() for known in library.profile_files]
        raise NotFound(
            f"There is no device profile {wanted}{suggest(wanted.upper(), names)}; there are {', '.join(names)}."
        )
    return library.profile_files[slug].profile


def _whole_number(text: str) -> int:
    if not (text.isascii() and text.isdigit()) or len(text) > 18:
        raise argparse.ArgumentTypeError(f"{text!r} is not a whole number from 0 up")
    return int(text)


def _count(text: str) -> int:
    count = _whole_number(text)
    if not 1 <= count <= MOST_QUESTIONS:
        raise argparse.ArgumentTypeError(f"{text!r} is not from 1 to {MOST_QUESTIONS}")
    return count
