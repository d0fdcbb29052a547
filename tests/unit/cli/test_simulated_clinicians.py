"""Simulated clinicians: the same for the same seed, true to their world, and foretold better than by the rivals."""

from __future__ import annotations

from pathlib import Path
from xml.etree import ElementTree as ET

import numpy as np
import pytest

from quizapp.cli import main
from quizapp.cli.simulated.comparison import (
    BASE_RATE,
    COUNT,
    COUNT_WITH_LINE,
    FITTED,
    LINE,
    UNTOUCHED,
    WAYS,
    compare,
)
from quizapp.cli.simulated.plots import calibration_drawing, scores_drawing
from quizapp.cli.simulated.rivals import DiscountedCount
from quizapp.cli.simulated.worlds import OCCASIONS, World, clinicians

HEADINGS = ("matching world, seed 1: 70 forecasts", "power law world, seed 1: 70 forecasts")


def silent(_line: str) -> None:
    return None


def test_the_same_seed_gives_the_same_clinicians_and_another_one_others() -> None:
    assert clinicians(World.MATCHING, 3, 1) == clinicians(World.MATCHING, 3, 1)
    assert clinicians(World.MATCHING, 3, 1) != clinicians(World.MATCHING, 3, 2)
    assert [len(one.episodes) for one in clinicians(World.POWER_LAW, 2, 1)] == [OCCASIONS, OCCASIONS]


def test_the_matching_world_fades_to_the_untrained_and_the_other_one_steadies() -> None:
    fading = np.array([one.skills for one in clinicians(World.MATCHING, 400, 3)])
    assert fading[:, 0].mean() == pytest.approx(0.6, abs=0.15)
    assert fading[:, -1].mean() < -0.4
    steady = np.array([one.skills for one in clinicians(World.POWER_LAW, 400, 3)])
    assert steady[:, 0].mean() == pytest.approx(1.2, abs=0.15)
    assert steady[:, -1].mean() > steady[:, 1].mean()


def test_a_count_without_evidence_says_its_prior_and_evidence_moves_it() -> None:
    found = clinicians(World.MATCHING, 30, 2)
    count = DiscountedCount(half_life_days=365, prior_strength=10.0, prior_share=0.6, cut=0.6)
    chances = [one.chance_fraction for one in count.foretell(found)]
    assert len(chances) == 30 * (OCCASIONS - 1)
    assert 0 <= min(chances) < 0.2
    assert 0.8 < max(chances) <= 1
    forgetful = DiscountedCount(half_life_days=1, prior_strength=10.0, prior_share=0.6, cut=0.6)
    spread = np.std([one.chance_fraction for one in forgetful.foretell(found)])
    assert spread < 0.01


def test_untouched_it_beats_its_rivals_where_the_world_is_the_models_own() -> None:
    found = compare(World.MATCHING, 1, test_count=300, train_count=100, say=silent)
    for rival in (BASE_RATE, COUNT, COUNT_WITH_LINE):
        assert found.beats(UNTOUCHED, rival), rival
    assert found.figures[UNTOUCHED].slope == pytest.approx(1.0, abs=0.2)


def test_fitted_on_others_it_beats_its_rivals_where_forgetting_follows_a_power_law() -> None:
    found = compare(World.POWER_LAW, 1, test_count=300, train_count=150, say=silent)
    for rival in (BASE_RATE, COUNT, COUNT_WITH_LINE, UNTOUCHED, LINE):
        assert found.beats(FITTED, rival), rival
    assert not found.beats(UNTOUCHED, BASE_RATE)
    drawings = [calibration_drawing([found]), scores_drawing([found])]
    for drawing in drawings:
        assert ET.fromstring(drawing).tag.endswith("svg")
        assert len(drawing) < 30_000
    assert all(way in drawings[1] for way in WAYS)


def test_the_command_prints_every_way_draws_and_says_how_far_it_is(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    options = ["--people", "10", "--fitted-on", "6", "--seeds", "1", "--plots", str(tmp_path)]
    main(["competence", "simulate", *options])
    said = capsys.readouterr()
    assert all(words in said.out for words in (*HEADINGS, *WAYS, "Drawn:"))
    assert "10 of 10 people" in said.err
    assert "settings tried" in said.err
    assert {path.name for path in tmp_path.iterdir()} == {"simulated-calibration.svg", "simulated-scores.svg"}


def test_a_number_of_people_that_is_none_is_refused(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit):
        main(["competence", "simulate", "--people", "0"])
    assert "whole number from 1" in capsys.readouterr().err


@pytest.mark.soak
def test_every_seed_of_the_guide() -> None:
    assert main(["competence", "simulate"]) == 0
