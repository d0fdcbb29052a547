"""The author's preview: every family, twenty draws, keys, wrong ideas and shares; who may see it; unknown names."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from datetime import date

import pytest

from quizapp.assessment.questions import Question
from quizapp.content.library import Library, read_library
from quizapp.services.preview_family import DRAWS_SHOWN, preview_family
from quizapp.web.pages.content.preview_page import shown_preview
from tests.counted_statements import counted_statements
from tests.knowledge_forms import practice
from tests.sample_families import CHECKOUT
from tests.small_service import SmallService
from tests.web_app import JudgingClient

ClientAs = Callable[[str], JudgingClient]
CODES = tuple(read_library(CHECKOUT).families)


@pytest.mark.parametrize("code", CODES)
def test_every_family_can_be_previewed(client_as: ClientAs, code: str) -> None:
    text = client_as("ines").get(f"/content/preview/{code}").text
    assert f"Draw {DRAWS_SHOWN}" in text
    assert f"{code} can be asked" in text


def test_key_and_number_of_every_wrong_idea_of_every_draw_are_shown(client_as: ClientAs, library: Library) -> None:
    text = client_as("ines").get("/content/preview/N14?device=tv-a-1").text
    for seed in range(DRAWS_SHOWN):
        question: Question = library.draw("N14", library.profile("TV-A", 1), seed)
        assert f"{question.blanks[0].key_printed} cmH2O" in text
        for idea in question.blanks[0].ideas:
            assert f"{idea.name} {idea.printed}" in text
            assert idea.says in text


def test_another_device_and_further_draws(client_as: ClientAs, library: Library) -> None:
    client = client_as("cleo")
    first = client.get("/content/preview/N14?device=tv-a-2").text
    later = client.get("/content/preview/N14?device=tv-a-2&from=20").text
    assert "Seed 19" in first
    assert "Seed 39" in later
    assert "TV-A revision 2" in later or library.profile("TV-A", 2).label in later


@pytest.mark.parametrize("sent", ["", "-1", "x", "9" * 30, "1e3"])
def test_an_odd_first_seed_begins_at_the_beginning(client_as: ClientAs, sent: str) -> None:
    assert "Seed 0" in client_as("ines").get(f"/content/preview/N14?from={sent}").text


@pytest.mark.parametrize("address", ["/content/preview/N144", "/content/preview?family=n1444"])
def test_an_unknown_family_leads_to_the_nearest(client_as: ClientAs, address: str) -> None:
    answer = client_as("ines").get(address)
    assert answer.status_code == 404
    assert 'href="/content/preview/N14"' in answer.text


def test_a_word_of_the_title_finds_it(client_as: ClientAs) -> None:
    assert 'href="/content/preview/N46"' in client_as("ines").get("/content/preview?family=airway-pressure").text
    assert client_as("ines").get("/content/preview?family=n14").location == "/content/preview/N14"


@pytest.mark.parametrize("address", ["/content/preview/N14?device=tv-z-9", "/content/preview/N55?device=tv-a-1"])
def test_a_device_it_is_not_asked_about(client_as: ClientAs, library: Library, address: str) -> None:
    assert client_as("ines").get(address).status_code == 404


def test_warnings_and_errors_stand_first(small_sqlite: SmallService, library: Library) -> None:
    """A family past its day of review, whose gauge ends below the needle."""
    family = library.family("N46")
    figure = family.figures[0]
    shorter = dataclasses.replace(figure, numbers={**figure.numbers, "high_cmh2o": figure.numbers["low_cmh2o"]})
    broken = dataclasses.replace(family, review_by=date(2020, 1, 31), figures=(shorter,))
    changed = dataclasses.replace(library, families={**library.families, "N46": broken})
    with small_sqlite.acting("ines") as act:
        preview = preview_family(act, changed, "N46")
    assert preview.faults[0].level == "error"
    assert "off the scale" in preview.faults[0].message
    assert preview.faults[-1].level == "warning"
    assert "was to be reviewed by 2020-01-31" in preview.faults[-1].message
    assert shown_preview(preview).finding.startswith("N46 cannot be asked like this")


def test_how_often_a_family_was_asked_stands_in_the_list(
    client_as: ClientAs, small_sqlite: SmallService, library: Library
) -> None:
    for name in ("mira", "mira", "tor"):
        practice(small_sqlite, library, "N14", name=name)
    text = client_as("ines").get("/content").text
    assert '<td class="n" data-head="Asked">3<span class="soft">2 people</span></td>' in text


def test_the_list_asks_as_often_for_many_as_for_few(
    client_as: ClientAs, small_sqlite: SmallService, library: Library
) -> None:
    counts = []
    client = client_as("ines")
    client.get("/content")
    for codes in (["N14"], ["N16", "N17", "N03", "N07", "N08"]):
        for code in codes:
            practice(small_sqlite, library, code)
        with counted_statements(small_sqlite.database) as statements:
            client.get("/content")
        counts.append(len(statements))
    assert counts[0] == counts[1]
