"""Puts people on seats of session days one after another, always at the least cost for those already seated.

A person once seated keeps a seat (perhaps another one); one who cannot be seated leaves everything as it was. So the
people seated are the best possible set in the order given, and their seats together cost the least.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass


@dataclass(frozen=True)
class _Step:
    """How a day is reached: at what cost, by moving whom from which day ("" for the newcomer)."""

    cost: int
    mover: str = ""
    from_day: str = ""


class Seating:
    """Days with seats, the people on them, and what each seat would cost each of them."""

    def __init__(self, seats: Mapping[str, int]) -> None:
        """Begin with so many free seats (0 or more) a day and nobody on them."""
        self._seats = dict(seats)
        self._on: dict[str, list[str]] = {day: [] for day in seats}
        self._costs: dict[str, Mapping[str, int]] = {}
        self._at: dict[str, str] = {}
        self._moves: dict[str, dict[str, _Step]] = {day: {} for day in seats}

    def copy(self) -> Seating:
        """Give an independent one with the same days and people."""
        other = Seating(self._seats)
        other._on = {day: list(people) for day, people in self._on.items()}
        other._costs, other._at = dict(self._costs), dict(self._at)
        other._moves = {day: dict(moves) for day, moves in self._moves.items()}
        return other

    @property
    def seated(self) -> dict[str, str]:
        """The day of each person."""
        return dict(self._at)

    def free(self, day: str) -> int:
        """How many seats of a day are free."""
        return self._seats[day] - len(self._on[day])

    def add_seat(self, day: str) -> None:
        """Give a day one more seat; a day not known before is added with it."""
        self._seats[day] = self._seats.get(day, 0) + 1
        self._on.setdefault(day, [])
        self._moves.setdefault(day, {})

    def reachable(self, costs: Mapping[str, int]) -> dict[str, int]:
        """Give the days on which a newcomer could sit if people already seated changed days, with the cost of it."""
        return {day: step.cost for day, step in self._steps(costs).items()}

    def place(self, person: str, costs: Mapping[str, int]) -> bool:
        """Seat a newcomer who may sit on the days in `costs` (a whole number each); return whether it was possible."""
        steps = self._steps(costs)
        open_days = [day for day in steps if self.free(day) > 0]
        if not open_days:
            return False
        self._costs[person] = costs
        for mover, from_day, to_day in list(self._chain(steps, min(open_days, key=lambda day: (steps[day].cost, day)))):
            self._sit(mover or person, to_day, from_day)
        return True

    def put(self, person: str, days: Iterable[str], day: str) -> None:
        """Put somebody on a day as it is, who might as well sit on any of `days`; nobody is moved for it."""
        self._costs[person] = dict.fromkeys({*days, day}, 0)
        self._sit(person, day, "")

    def _steps(self, costs: Mapping[str, int]) -> dict[str, _Step]:
        """Give the cheapest way to each day (Bellman and Ford: a move may save something, no round of moves does)."""
        steps = {day: _Step(cost) for day, cost in costs.items() if day in self._seats}
        waiting = list(steps)
        while waiting:
            day = waiting.pop(0)
            for next_day, move in self._moves[day].items():
                cost = steps[day].cost + move.cost
                if next_day not in steps or cost < steps[next_day].cost:
                    steps[next_day] = _Step(cost, move.mover, day)
                    if next_day not in waiting:
                        waiting.append(next_day)
        return steps

    @staticmethod
    def _chain(steps: Mapping[str, _Step], last: str) -> Iterator[tuple[str, str, str]]:
        """Give the moves (who, from, to) that end on a day, the last one first; the newcomer is ""."""
        day = last
        while True:
            step = steps[day]
            yield step.mover, step.from_day, day
            if not step.mover:
                return
            day = step.from_day

    def _sit(self, person: str, day: str, from_day: str) -> None:
        if from_day:
            self._on[from_day].remove(person)
            self._note_moves(from_day)
        self._on[day].append(person)
        self._at[person] = day
        self._note_moves(day)

    def _note_moves(self, day: str) -> None:
        """Work out anew who of a day would change to each other day at the least cost."""
        moves: dict[str, _Step] = {}
        for person in self._on[day]:
            costs = self._costs[person]
            for other, cost in costs.items():
                extra = cost - costs[day]
                known = moves.get(other)
                if other != day and (known is None or (extra, person) < (known.cost, known.mover)):
                    moves[other] = _Step(extra, person)
        self._moves[day] = moves
