"""Invented observations: an assessor watches a procedure step by step, the person confirms, the assessor signs."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from datetime import datetime, timedelta
from typing import Any

from quizapp.assessment.observation_setting import ObservationSetting
from quizapp.assessment.observation_state import StepMark
from quizapp.assessment.partial_order import first_valid_order
from quizapp.cli.invented.stage import WORKING_PASSWORD, Stage
from quizapp.services.act import Act
from quizapp.services.assessor_currency import AssessorCurrency, assessor_currency
from quizapp.services.lock_observation import lock_observation
from quizapp.services.observation_sheet import own_row, sheet_of
from quizapp.services.open_observation import Watched, open_observation
from quizapp.services.record_observation_events import record_observation_events
from quizapp.services.sign_observation import prepare_observation, sign_observation

COMMENTS = ("", "", "", "Fair.", "The light was poor, but that is how it is.", "I would like to do this more often.")


def watch(
    stage: Stage,
    assessor: str,
    person: str,
    procedure: str,
    *,
    revision: int,
    day: int,
    hour: int,
    missed: Sequence[str] = (),
    rating: int = 4,
) -> str:
    """Let an assessor observe and sign one procedure; steps in `missed` were not done. Return the sheet's id."""
    is_current = _asked_once(assessor_currency(stage.library))
    opened = stage.moment(day, hour, stage.chance.randint(0, 25))
    watched = on_the_bench(revision)
    sheet_id = mark(
        stage, assessor, person, procedure, watched=watched, at=opened, missed=missed, is_current=is_current
    )
    locked = opened + timedelta(minutes=9)
    lock(stage, assessor, sheet_id, at=locked, rating=rating)
    with stage.acting(assessor, locked + timedelta(minutes=1)) as act:
        intent = prepare_observation(act, observation_id=sheet_id, is_current=is_current)
        sign_observation(
            act, observation_id=sheet_id, intent_id=intent.id, password=WORKING_PASSWORD, is_current=is_current
        )
    return sheet_id


def on_the_bench(revision: int, *, together_with: str = "") -> Watched:
    """Return a card on which no conditional step is called for."""
    return Watched(
        profile_code="TV-A", profile_revision=revision, setting=ObservationSetting.BENCH, presented=frozenset(),
        together_with=together_with,
    )  # fmt: skip


def mark(
    stage: Stage, assessor: str, person: str, procedure: str, *, watched: Watched, at: datetime,
    missed: Sequence[str], is_current: AssessorCurrency,
) -> str:  # fmt: skip
    """Open a sheet and mark every step that the card calls for; return the sheet's id."""
    with stage.acting(assessor, at) as act:
        sheet_id = open_observation(
            act, library=stage.library, person_id=stage.people[person], procedure_code=procedure,
            watched=watched, is_current=is_current,
        )  # fmt: skip
        act.session.flush()
        sheet = sheet_of(act, own_row(act, sheet_id))
        conditional = sheet.procedure.conditional_letters
        order = [letter for letter in first_valid_order(sheet.procedure.order) if letter not in conditional]
        record_observation_events(act, observation_id=sheet_id, sent=_taps(stage, at, order, missed))
    return sheet_id


def lock(stage: Stage, assessor: str, sheet_id: str, *, at: datetime, rating: int) -> None:
    """Lock a sheet with the judgement and the word of the person watched."""
    with stage.acting(assessor, at) as act:
        lock_observation(
            act, observation_id=sheet_id, global_rating=rating, person_confirms=True,
            person_comment=stage.chance.choice(COMMENTS),
        )  # fmt: skip


def _asked_once(rule: AssessorCurrency) -> AssessorCurrency:
    """Return the rule with its first answer kept: within one observation nothing changes it."""
    answers: dict[str, bool] = {}

    def is_current(act: Act, *, person_id: str, competencies: Collection[str]) -> bool:
        key = f"{person_id}|{','.join(sorted(competencies))}"
        if key not in answers:
            answers[key] = rule(act, person_id=person_id, competencies=competencies)
        return answers[key]

    return is_current


def _taps(stage: Stage, opened: Any, order: Sequence[str], missed: Sequence[str]) -> list[dict[str, Any]]:
    """Return what the assessor's device sends: one tap a step, some seconds apart."""
    device = f"demo-{stage.randomness.new_id()[:8]}"
    moment = opened + timedelta(seconds=20)
    taps = [_tap(stage, device, 1, moment, kind="start")]
    for number, letter in enumerate(order, start=2):
        moment += timedelta(seconds=stage.chance.randint(4, 15))
        mark = StepMark.NOT_DONE if letter in missed else StepMark.DONE
        taps.append(_tap(stage, device, number, moment, kind="mark", step=letter, mark=mark.value))
    return [*taps, _tap(stage, device, len(order) + 2, moment + timedelta(seconds=5), kind="stop")]


def _tap(stage: Stage, device: str, number: int, moment: datetime, **said: str) -> dict[str, Any]:
    return {
        "event_id": stage.randomness.new_id(),
        "device_id": device,
        "sequence": number,
        "device_time": moment.isoformat(),
        **said,
    }
