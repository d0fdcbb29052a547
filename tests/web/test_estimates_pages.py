"""The educator's pages on the estimate: forecasts beside outcomes with a table, and whom a booster is worth a word."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import timedelta

import pytest
from sqlalchemy import delete, select

from quizapp.assessment.competence_settings import MODEL_VERSION, Track
from quizapp.assessment.roles import Role
from quizapp.content.library import Library
from quizapp.services.rebuild_competence import people_in_parts, rebuild_competence
from quizapp.services.standards import Terms, record_standard
from quizapp.store.competence import CompetenceFit, CompetencePrediction, CompetenceStateRow
from quizapp.store.evidence import Evidence
from quizapp.store.people import Person
from quizapp.store.roles import RoleGrant
from tests.counted_statements import counted_statements
from tests.deciding import requirement, with_standard
from tests.small_service import ZONE, SmallService
from tests.watched_people import watch_many
from tests.web_app import JudgingClient

ClientAs = Callable[[str], JudgingClient]
PAGE, BOOSTERS = "/estimates", "/estimates/boosters"


@pytest.fixture
def watched(small_sqlite: SmallService, library: Library) -> SmallService:
    """Forty people watched three times; the states are told from it, and every outcome was foretold."""
    with_standard(small_sqlite, library)
    watch_many(small_sqlite, 40)
    with small_sqlite.database.writing() as session:
        for part in people_in_parts(session):
            rebuild_competence(session, small_sqlite.now, ZONE, part)
    return small_sqlite


def foretell_all(small: SmallService, *, version: int = MODEL_VERSION) -> None:
    with small.database.writing() as session:
        for number, one in enumerate(session.scalars(select(Evidence).order_by(Evidence.id))):
            session.add(
                CompetencePrediction(
                    id=small.randomness.new_id(), person_id=one.person_id, competency="C8",
                    track=Track.PERFORMANCE.value, source_id=one.source_id, chance_fraction=(number % 10) / 10 + 0.03,
                    gap_days=number % 300, model_version=version, predicted_at=one.happened_at,
                )
            )  # fmt: skip


def test_before_any_outcome_nobody_can_say(client_as: ClientAs, small_sqlite: SmallService) -> None:
    text = client_as("ines").get(PAGE).text
    assert "<h1>Nobody can say yet how far to believe the estimate.</h1>" in text
    assert text.count("Nothing that was foretold has an outcome yet.") == 2
    assert text.count("Uncalibrated.") == 2
    assert "a small service may never have so many" in text
    assert "None was made; the published numbers run." in text


def test_forecasts_stand_beside_their_outcomes_with_a_table(client_as: ClientAs, watched: SmallService) -> None:
    foretell_all(watched)
    text = client_as("ines").get(PAGE).text
    assert "<h1>The estimate was checked against outcomes for hands only.</h1>" in text
    assert "120 outcomes that others assessed" in text
    assert text.count('<svg class="plot plot-skill"') == 1
    assert text.count('class="c-square"') == 10
    assert text.count('<th scope="row" class="n">') == 10
    for words in ("Brier", "Log loss", "Slope, intercept", "Within 90 days", "After 90 to 180 days", "90 to 100"):
        assert words in text
    assert "do not agree; a local fit may help" in text


def test_what_other_numbers_foretold_does_not_count(client_as: ClientAs, watched: SmallService) -> None:
    foretell_all(watched, version=MODEL_VERSION * 10_000 + 3)
    assert "Nobody can say yet" in client_as("ines").get(PAGE).text
    with watched.database.writing() as session:
        session.add(
            CompetenceFit(
                id="6" * 32, number=3, track="performance", model_version=MODEL_VERSION, half_life_factor=1.2,
                long_run_variance=1.0, taught_target=2.0, intercept=0.1, slope=0.9, outcome_count=120,
                not_shown_count=50, judged_count=60, brier_before=0.2, brier_after=0.15, log_loss_before=0.6,
                log_loss_after=0.5, fitted_at=watched.now, put_in_force_at=watched.now, taken_out_at=None,
            )
        )  # fmt: skip
    text = client_as("ines").get(PAGE).text
    assert "foretold by local fit 3" in text
    assert "Fit 3, hands" in text
    assert "Brier 0.200 before, 0.150 after: better" in text


def test_an_earlier_booster_is_proposed_with_its_band_and_nothing_more(
    client_as: ClientAs, watched: SmallService
) -> None:
    text = client_as("ines").get(BOOSTERS).text
    assert "an earlier booster is worth a word" in text
    assert "uncalibrated" in text
    assert "C8 hands" in text
    assert "A concern" in text
    assert "steps done alone, of 100" in text
    assert "watched again, 12 min" in text
    assert "it signs nobody off and takes nothing away" in text
    assert 'href="/procedures/P06"' in text
    assert '<form method="post"' not in text.split("<main")[1].split("</main")[0]


def test_who_is_known_well_enough_is_not_named(
    client_as: ClientAs, small_sqlite: SmallService, library: Library
) -> None:
    with_standard(small_sqlite, library)
    text = client_as("ines").get(BOOSTERS).text
    assert "<h1>The estimate proposes nothing to anybody here.</h1>" in text
    assert "Something is known of 0 people here." in text


@pytest.mark.parametrize("name", ["mira", "tor", "leif", "ada"])
def test_only_educators_see_either(client_as: ClientAs, watched: SmallService, name: str) -> None:
    assert client_as(name).get(PAGE).status_code == 403
    assert client_as(name).get(BOOSTERS).status_code == 403


def test_a_base_of_somebody_else_is_not_found(client_as: ClientAs, watched: SmallService) -> None:
    with watched.database.writing() as session:
        session.execute(delete(RoleGrant).where(RoleGrant.role == Role.EDUCATOR.value))
        session.add(
            RoleGrant(
                id=watched.randomness.new_id(), person_id=watched.person_id("ines"), role=Role.EDUCATOR.value,
                base_id=watched.base_id, from_day=watched.now.date() - timedelta(days=9), until_day=None,
                granted_by=None, second_by=None, reason="test", granted_at=watched.now, ended_at=None,
            )
        )  # fmt: skip
    client = client_as("ines")
    assert client.get(f"{BOOSTERS}?base={watched.base_id}").status_code == 200
    assert client.get(f"{BOOSTERS}?base={watched.other_base_id}").status_code == 404
    assert client.get(f"{BOOSTERS}?base=nonsense").status_code == 404


def test_as_many_statements_for_few_people_as_for_many(client_as: ClientAs, watched: SmallService) -> None:
    client = client_as("ines")
    client.get(BOOSTERS)
    with counted_statements(watched.database) as many:
        client.get(BOOSTERS)
    with watched.database.writing() as session:
        for row in session.scalars(select(Person).where(Person.name.like("Clinician 1%"))):
            row.left_on = watched.now.date() - timedelta(days=1)
    with counted_statements(watched.database) as few:
        client.get(BOOSTERS)
    assert len(few) <= len(many) <= len(few) + 2


def test_further_skills_are_named_by_track(client_as: ClientAs, watched: SmallService, library: Library) -> None:
    """The sheets show C8 as before, and C2 and C4 as well."""
    with watched.acting("ines", at=watched.now) as act:
        asked = tuple(requirement(code, procedures=("P06",)) for code in ("C2", "C4", "C8"))
        terms = Terms(name="Wider", starts_on=watched.now.date(), reason="a wider standard", agreed_by="the educators",
                      requirements=asked)  # fmt: skip
        record_standard(act, library, terms)
    with watched.database.writing() as session:
        for row in session.scalars(select(CompetenceStateRow)).all():
            for code in ("C2", "C4"):
                session.add(
                    CompetenceStateRow(
                        person_id=row.person_id, competency=code, track=row.track, mass=row.mass, mean=row.mean,
                        sd=row.sd, last_day=row.last_day, is_taught=True, evidence_count=row.evidence_count,
                        model_version=row.model_version, updated_at=row.updated_at,
                    )
                )  # fmt: skip
    assert re.search(r"Also hands at C\d, C\d\.", client_as("ines").get(BOOSTERS).text)
