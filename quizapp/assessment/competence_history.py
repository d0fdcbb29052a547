"""One competency of one person on one track, from the first evidence on: advanced a day at a time, or told again."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from itertools import groupby

from quizapp.assessment.competence_evidence import Episode
from quizapp.psychometrics.competence import Belief, faded, learned, trained, untrained
from quizapp.psychometrics.fade_model import TAUGHT, FadeModel, Training


@dataclass(frozen=True, kw_only=True, eq=False)
class CompetenceState:
    """The belief after the evidence of `last_day`.

    `is_taught`: others have assessed the person, who was therefore taught before. `evidence_count`: answers and steps.
    """

    belief: Belief
    last_day: date
    is_taught: bool
    evidence_count: int


def believed(
    state: CompetenceState | None, model: FadeModel, day: date, *, is_assessed: bool, taught: Training = TAUGHT
) -> Belief:
    """Return the belief on a day before its evidence. Raises ValueError for a day before the last evidence.

    Nobody is assessed before being taught: the first evidence that others assess follows teaching (`taught`).
    """
    belief = untrained(model) if state is None else faded(state.belief, model, (day - state.last_day).days)
    return trained(belief, taught) if is_assessed and not _is_taught(state) else belief


def can_advance(state: CompetenceState | None, episodes: Sequence[Episode]) -> bool:
    """Whether the evidence of one day can be taken in as it is; otherwise the history must be told again.

    It cannot when later evidence was taken in before, nor on the same day when teaching has to go ahead of both.
    """
    if state is None:
        return True
    if episodes[0].day == state.last_day:
        return state.is_taught or not any(one.is_assessed for one in episodes)
    return episodes[0].day > state.last_day


def advanced(
    state: CompetenceState | None, model: FadeModel, episodes: Sequence[Episode], *, taught: Training = TAUGHT
) -> CompetenceState:
    """Return the state after the evidence of one day (at least one episode, all of one track and one day).

    Raises ValueError for anything else, or where `can_advance` says no.
    """
    days = {one.day for one in episodes}
    if len(days) != 1 or len({one.track for one in episodes}) != 1:
        raise ValueError("the evidence of one day on one track is taken in together, and nothing else with it")
    (day,) = days
    if not can_advance(state, episodes):
        raise ValueError(f"evidence of {day} comes after later evidence was taken in: tell the history again")
    is_assessed = any(one.is_assessed for one in episodes)
    answers = [answer for one in episodes for answer in one.answers]
    return CompetenceState(
        belief=learned(believed(state, model, day, is_assessed=is_assessed, taught=taught), answers),
        last_day=day,
        is_taught=is_assessed or _is_taught(state),
        evidence_count=(state.evidence_count if state else 0) + len(answers),
    )


def told_again(model: FadeModel, episodes: Sequence[Episode], *, taught: Training = TAUGHT) -> list[CompetenceState]:
    """Return the state after each day with evidence, oldest first; the order of the episodes has no effect."""
    states: list[CompetenceState] = []
    for _day, found in groupby(sorted(episodes, key=_by_day), key=lambda one: one.day):
        states.append(advanced(states[-1] if states else None, model, list(found), taught=taught))
    return states


def _is_taught(state: CompetenceState | None) -> bool:
    return state is not None and state.is_taught


def _by_day(episode: Episode) -> tuple[date, str]:
    return episode.day, episode.source_id
