"""`quizapp competence simulate`: simulated clinicians whose skill is known, and how well each way foretells it."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from quizapp.cli.simulated.comparison import Compared

SEEDS = (1, 2, 3)
TEST_PEOPLE, TRAIN_PEOPLE = 1500, 500


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the options; without any the run is the one in the guide."""
    parser.add_argument("--people", type=_count, default=TEST_PEOPLE, help="clinicians to be judged on, each world")
    parser.add_argument("--fitted-on", type=_count, default=TRAIN_PEOPLE, help="other clinicians, to tune and fit on")
    parser.add_argument("--seeds", type=_count, nargs="+", default=list(SEEDS), help="one run a seed in each world")
    parser.add_argument("--plots", type=Path, default=None, help="folder for two drawings (SVG)")
    parser.set_defaults(run=run)


def _count(text: str) -> int:
    if not text.isascii() or not text.isdecimal() or not 1 <= int(text) <= 1_000_000:
        raise argparse.ArgumentTypeError(f"{text!r} is not a whole number from 1 to 1000000")
    return int(text)


def run(chosen: argparse.Namespace) -> int:
    """Run both worlds with every seed, print the figures and say whether the estimate won; 1 where it did not."""
    from quizapp.cli.simulated.comparison import compare
    from quizapp.cli.simulated.worlds import World

    runs: list[Compared] = []
    for world in World:
        for seed in chosen.seeds:
            found = compare(
                world, seed, test_count=chosen.people, train_count=chosen.fitted_on,
                say=lambda line: print(line, file=sys.stderr, flush=True),
            )  # fmt: skip
            runs.append(found)
            print("\n".join(_lines(found)), flush=True)
    _draw(runs, chosen.plots)
    failed = [line for found in runs for line in _lost(found)]
    print("\n".join(failed) if failed else "The estimate beats the base rate and the discounted count in every run.")
    return 1 if failed else 0


def _lines(found: Compared) -> list[str]:
    fit, line = found.fit, found.fit.recalibration
    count = next(iter(found.figures.values())).count
    heading = f"{found.world.value.replace('_', ' ')} world, seed {found.seed}: {count} forecasts"
    lines = [heading, f"  {'':38}  Brier  log loss  ten bins  slope"]
    for way, figures in found.figures.items():
        slope = "  none" if figures.slope is None else f"{figures.slope:6.2f}"
        lines.append(
            f"  {way:38} {figures.brier:6.4f}   {figures.log_loss:6.4f}    {figures.calibration_error:6.4f} {slope}"
        )
    lines.append(
        f"  fitted: half-life x {fit.half_life_factor:.2f}, long-run variance {fit.long_run_variance:.2f}, "
        f"course leads to {fit.taught_target:.2f}, line {line.intercept:+.2f} {line.slope:+.2f} x logit"
    )
    return lines


def _lost(found: Compared) -> list[str]:
    """Say where the way that counts in a world does not have both the lower Brier score and the lower log loss."""
    from quizapp.cli.simulated.comparison import RIVALS, WAY_THAT_COUNTS

    way = WAY_THAT_COUNTS[found.world]
    return [
        f"{found.world.value.replace('_', ' ')} world, seed {found.seed}: {way} does not beat {rival}"
        for rival in RIVALS
        if not found.beats(way, rival)
    ]


def _draw(runs: Sequence[Compared], folder: Path | None) -> None:
    from quizapp.cli.simulated.plots import calibration_drawing, scores_drawing

    if folder is None:
        return
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "simulated-calibration.svg").write_text(calibration_drawing(runs), encoding="utf-8")
    (folder / "simulated-scores.svg").write_text(scores_drawing(runs), encoding="utf-8")
    print(f"Drawn: {folder / 'simulated-calibration.svg'}, {folder / 'simulated-scores.svg'}")
