"""The command `quizapp`: each module of this package with an `add_to` is one of its commands, found by itself."""

from __future__ import annotations

import argparse
import importlib
import pkgutil
import sys
from collections.abc import Sequence

from sqlalchemy.exc import DBAPIError

from quizapp.errors import QuizappError


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command and return its exit status: 0 done, 1 refused or faults found, 2 not understood."""
    parser = build_parser()
    chosen = parser.parse_args(arguments)
    try:
        status: int = chosen.run(chosen)
    except QuizappError as error:
        print(error, file=sys.stderr)
        return 1
    except DBAPIError as error:
        print(f"The database refused: {error.orig}. Nothing was changed. Try again in a moment.", file=sys.stderr)
        return 1
    except BrokenPipeError:
        sys.stderr.close()
        return 1
    return status


def build_parser() -> argparse.ArgumentParser:
    """Return the parser with the commands of every module of this package, in the order of their names."""
    parser = argparse.ArgumentParser(
        prog="quizapp",
        description="Assessment and checklists for a transport ventilator. Training and assessment only.",
    )
    commands = parser.add_subparsers(title="commands", dest="command", required=True, metavar="COMMAND")
    for module in sorted(pkgutil.iter_modules(__path__), key=lambda found: found.name):
        loaded = importlib.import_module(f"{__name__}.{module.name}")
        if hasattr(loaded, "add_to"):
            loaded.add_to(commands)
    return parser
