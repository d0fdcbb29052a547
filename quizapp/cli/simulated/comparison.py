"""One world and one seed: the estimate beside its rivals, on clinicians that nothing was tuned on."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from quizapp.assessment.competence_fit import AssessedHistory, fitted, foretold_by, line_alone
from quizapp.assessment.competence_models import AS_PUBLISHED, LocalFit
from quizapp.cli.simulated.rivals import base_rate, tuned_count, with_line
from quizapp.cli.simulated.worlds import SimulatedClinician, World, clinicians
from quizapp.psychometrics.calibration import Calibration, Foretold, calibration

Say = Callable[[str], None]
PEOPLE_AT_ONCE = 100
BASE_RATE, COUNT, COUNT_WITH_LINE = "base rate", "discounted count, tuned", "discounted count, tuned, with a line"
UNTOUCHED, LINE, FITTED = "estimate, untouched", "estimate, line alone fitted", "estimate, fitted"
RIVALS = (BASE_RATE, COUNT, COUNT_WITH_LINE)
WAYS = (*RIVALS, UNTOUCHED, LINE, FITTED)
WAY_THAT_COUNTS = {World.MATCHING: UNTOUCHED, World.POWER_LAW: FITTED}
"""Where the world is the model's own, nothing may be fitted; in the other one the local layer may."""


@dataclass(frozen=True, kw_only=True)
class Compared:
    """The figures of each way to foretell in one world with one seed, and the local fit that was used."""

    world: World
    seed: int
    figures: dict[str, Calibration]
    fit: LocalFit

    def beats(self, way: str, rival: str) -> bool:
        """Whether one way has both the lower Brier score and the lower log loss."""
        mine, other = self.figures[way], self.figures[rival]
        return mine.brier < other.brier and mine.log_loss < other.log_loss


def compare(world: World, seed: int, *, test_count: int, train_count: int, say: Say) -> Compared:
    """Draw two separate halves, tune on the first what is to be tuned, and judge everything on the second."""
    train, test = clinicians(world, train_count, 2 * seed), clinicians(world, test_count, 2 * seed + 1)
    name = f"{world.value.replace('_', ' ')} world, seed {seed}"
    rival = tuned_count(train, _Counter(name=f"{name}, discounted count", say=say).one_more)
    known = [one.history for one in train]
    fit = fitted(known, _Counter(name=f"{name}, local fit", say=say).one_more)
    counted = rival.count.foretell(test)
    untouched = _foretold(AS_PUBLISHED, test, f"{name}, untouched", say)
    line = line_alone(known).recalibration
    ways = {
        BASE_RATE: base_rate(train, test),
        COUNT: counted,
        COUNT_WITH_LINE: with_line(rival.line, counted),
        UNTOUCHED: untouched,
        LINE: with_line(line, untouched),
        FITTED: _foretold(fit, test, f"{name}, fitted", say),
    }
    return Compared(world=world, seed=seed, figures={way: _figures(found) for way, found in ways.items()}, fit=fit)


def _figures(found: Sequence[Foretold]) -> Calibration:
    figures = calibration(found)
    if figures is None:
        raise ValueError("nothing was foretold")
    return figures


def _foretold(fit: LocalFit, test: Sequence[SimulatedClinician], name: str, say: Say) -> list[Foretold]:
    histories: list[AssessedHistory] = [one.history for one in test]
    found: list[Foretold] = []
    for start in range(0, len(histories), PEOPLE_AT_ONCE):
        found += foretold_by(fit, histories[start : start + PEOPLE_AT_ONCE])
        say(f"{name}: {min(start + PEOPLE_AT_ONCE, len(histories))} of {len(histories)} people")
    return found


@dataclass
class _Counter:
    """Says every so often how many settings were tried."""

    name: str
    say: Say
    count: int = 0

    def one_more(self, _cost: float = 0.0) -> None:
        self.count += 1
        if self.count % 20 == 0:
            self.say(f"{self.name}: {self.count} settings tried")
