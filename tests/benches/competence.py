"""What one update of the estimate costs, and how long everybody's states take to be told again.

`python3 dev.py bench competence` rebuilds for some people and says what 10,000 would take;
`.venv/bin/python -m tests.benches.competence 10000` does it for all of them.
"""

from __future__ import annotations

import statistics
import sys
import tempfile
import time
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

from sqlalchemy import insert

from quizapp.assessment.competence_evidence import Episode, Given, knowledge_episode
from quizapp.assessment.competence_history import advanced, told_again
from quizapp.assessment.competence_settings import Track, fade_model
from quizapp.psychometrics.competence import Belief, chance_competent
from quizapp.services.rebuild_competence import Rebuilt, people_in_parts, rebuild_competence
from quizapp.store.database import Database
from quizapp.store.observations import Observation
from quizapp.store.people import Person
from quizapp.store.schema import migrate
from quizapp.store.sittings import Answer, Sitting, SittingQuestion
from tests.small_service import FIRST_DAY, ZONE, create_small_service

FULL, SOME = 10_000, 250
COMPETENCIES = tuple(f"C{number}" for number in range(1, 9))
FORMS, SHEETS = 20, 20
"""On 20 days a form asks once about each competency, on 20 others a sheet shows all eight: 40 events each."""
LONGEST_UPDATE_S, LONGEST_REBUILD_S = 0.005, 600.0
NOW = datetime(2026, 3, 2, 9, tzinfo=UTC)


def update_times_s() -> list[float]:
    """CPU time of one update each: a kept state read, carried over a new gap, evidence taken in, kept, forecast."""
    model, start = fade_model("C8", Track.KNOWLEDGE), date(2025, 1, 1)
    given = [Given(credit_fraction=1.0, just_competent_fraction=0.7, option_count=4, freshness_fraction=1.0)] * 3

    def form(day: int) -> Episode:
        return knowledge_episode(day=start + timedelta(days=day), source_id="a", is_assessed=True, given=given)

    kept, times = told_again(model, [form(0)])[0], []
    stored = kept.belief.to_bytes()
    for gap in range(1, 401):
        before = time.process_time()
        Belief.from_bytes(stored)
        after = advanced(kept, model, [form(gap)])
        chance_competent(after.belief, model)
        after.belief.to_bytes()
        times.append(time.process_time() - before)
    return times


def fill(database: Database, count: int) -> None:
    """Write people, forms and sheets straight into the store."""
    small = create_small_service(database, NOW)
    for start in range(0, count, 100):
        numbers = range(start, min(start + 100, count))
        rows: dict[Any, list[dict[str, Any]]] = {
            Person: [], Sitting: [], SittingQuestion: [], Answer: [], Observation: []
        }  # fmt: skip
        for number in numbers:
            _person(rows, number, small.base_id, small.person_id("tor"))
        with database.engine.begin() as connection:
            for kind, some in rows.items():
                connection.execute(insert(kind), some)
        sys.stdout.write(f"written: {numbers[-1] + 1} of {count} people\n")


def _person(rows: dict[Any, list[dict[str, Any]]], number: int, base_id: str, assessor_id: str) -> None:
    person_id = f"a{number:031x}"
    rows[Person].append(
        {"id": person_id, "staff_number": f"B-{number}", "name": f"Person {number}", "profession": "paramedic",
         "base_id": base_id, "joined_on": FIRST_DAY, "created_at": NOW}
    )  # fmt: skip
    for event in range(FORMS):
        day, sitting_id = NOW - timedelta(days=20 + 35 * event + number % 30), f"b{number:015x}{event:016x}"
        rows[Sitting].append(
            {"id": sitting_id, "person_id": person_id, "purpose": "assessment", "seed": "0", "profile_code": "TV-A",
             "profile_revision": 1, "started_at": day, "submitted_at": day}
        )  # fmt: skip
        for place, competency in enumerate(COMPETENCIES, 1):
            question_id = f"c{number:013x}{event:08x}{place:010x}"
            rows[SittingQuestion].append(
                {"id": question_id, "sitting_id": sitting_id, "position": place, "family": "N01",
                 "competency": competency, "content_hash": "0" * 64, "counts_for_sign_off": True,
                 "weight_percent": 100, "just_competent_fraction": 0.75, "option_count": 4, "frozen": {}}
            )  # fmt: skip
            rows[Answer].append(
                {"id": f"d{question_id[1:]}", "question_id": question_id, "revision": 1, "act_key": "k", "response": {},
                 "grade": {"credit": str(int((number + event + place) % 4 > 0))}, "is_late": False,
                 "answered_at": day, "receipt": "r"}
            )  # fmt: skip
    for event in range(SHEETS):
        day, sheet_id = NOW - timedelta(days=10 + 35 * event + number % 30), f"e{number:015x}{event:016x}"
        marks = {step: "done" if (number + event + ord(step)) % 9 else "not_done" for step in "abcdefghij"}
        rows[Observation].append(
            {"id": sheet_id, "person_id": person_id, "assessor_id": assessor_id, "base_id": base_id,
             "procedure": "P06", "content_hash": "0" * 64, "counts_for_sign_off": True,
             "frozen": {"competencies": list(COMPETENCIES)}, "profile_code": "TV-A", "profile_revision": 1,
             "setting": "bench", "presented": [], "assessor_was_current": True, "opened_at": day, "locked_at": day,
             "global_rating": 4, "result": {"marks": marks, "prompted": []}, "signature_id": "5" * 32,
             "signed_by": assessor_id, "signer_was_current": True, "performance_id": sheet_id}
        )  # fmt: skip


def rebuilt(database: Database) -> tuple[Rebuilt, float, float]:
    """Tell all states again as the command does; return what was done, the seconds and those of the processor."""
    with database.reading() as session:
        parts = list(people_in_parts(session))
    done, begun, used = Rebuilt(people=0, states=0, differed=0), time.perf_counter(), time.process_time()
    for part in parts:
        with database.writing() as session:
            done = done.with_more(rebuild_competence(session, NOW, ZONE, part))
        sys.stdout.write(f"told again: {done.people} of {sum(map(len, parts))} people\n")
    return done, time.perf_counter() - begun, time.process_time() - used


def main() -> int:
    """Print the figures; 1 where one misses its target."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else SOME
    update_s = update_times_s()
    with tempfile.TemporaryDirectory() as folder:
        database = Database(f"sqlite:///{Path(folder) / 'bench.sqlite'}")
        migrate(database)
        fill(database, count)
        done, taken_s, used_s = rebuilt(database)
        database.close()
    scale = FULL / count
    sys.stdout.write(
        f"one update: {1000 * statistics.mean(update_s):.2f} ms of CPU on average, {1000 * max(update_s):.2f} at most, "
        f"over 400 gaps (under {1000 * LONGEST_UPDATE_S:.0f} ms on average)\n"
        f"rebuild: {done.states} states of {count} people in {taken_s:.1f} s ({used_s:.1f} s of CPU)\n"
        f"{FULL} people: {'measured' if scale == 1 else 'by the same rate'} {scale * taken_s:.0f} s, "
        f"{scale * used_s:.0f} s of CPU (under {LONGEST_REBUILD_S:.0f} s)\n"
    )
    return 0 if statistics.mean(update_s) < LONGEST_UPDATE_S and scale * used_s < LONGEST_REBUILD_S else 1


if __name__ == "__main__":
    raise SystemExit(main())
