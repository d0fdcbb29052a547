"""What currency, competence and practice say to three different clinicians over twelve months."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

import pytest

from quizapp.content.library import Library
from tests.small_service import SmallService
from tests.twelve_months import AWAY, KEEN, MONTHS, SELDOM, THREE, Year, year_of_three
from tests.web_app import JudgingClient

ClientAs = Callable[[str], JudgingClient]
H1 = re.compile(r"<h1[^>]*>(.*?)</h1>", re.DOTALL)


def finding(text: str) -> str:
    found = H1.search(text)
    assert found is not None
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", "", found.group(1))).strip()


def chance_of_hands(text: str) -> int:
    """The chance in 100 that the page of competence gives today for hands at C8."""
    return chance_of(text, "C8-performance")


def chance_of(text: str, skill: str) -> int:
    """The same for a skill, such as "C3-knowledge"."""
    before_the_chart = text.partition(f'id="{skill}-title"')[0]
    part = before_the_chart.rpartition('<h3 class="channel">')[2]
    found = re.search(r"<strong>(?:About|Over|Under) (\d+) in 100</strong>", part)
    assert found is not None, part
    return int(found.group(1))


def visit(client_as: ClientAs, name: str) -> dict[str, str]:
    """The three pages of a person today; each is judged as it is fetched."""
    client = client_as(name)
    return {page: client.get(page).text for page in ("/", "/my-competence", "/practice")}


@pytest.fixture
def year(small_sqlite: SmallService, library: Library, clock: Any) -> Year:
    return year_of_three(small_sqlite, library, clock)


def test_a_year_of_three_different_clinicians(client_as: ClientAs, year: Year) -> None:
    seen: dict[int, dict[str, dict[str, str]]] = {}
    for month, day in MONTHS.items():
        year.until(day)
        seen[month] = {name: visit(client_as, name) for name in THREE}
    _everybody_begins_alike(seen[0])
    _the_keen_one_stays(seen)
    _the_seldom_one_fades_and_lapses(seen)
    _the_one_on_leave_is_paused_and_comes_back(seen)
    assert all("uncalibrated" in one["/my-competence"] for at in seen.values() for one in at.values())
    for at in seen.values():
        for pages in at.values():
            assert "Nothing here counts for or against you" in pages["/practice"]


def _everybody_begins_alike(at: dict[str, dict[str, str]]) -> None:
    assert len({finding(pages["/"]) for pages in at.values()}) == 1
    assert all("Current until 2 March 2027" in finding(pages["/"]) for pages in at.values())
    assert len({chance_of_hands(pages["/my-competence"]) for pages in at.values()}) == 1


def _the_keen_one_stays(seen: dict[int, dict[str, dict[str, str]]]) -> None:
    assert all("Current until" in finding(seen[month][KEEN]["/"]) for month in (0, 3, 6, 9))
    assert "Current until 2 March 2028" in finding(seen[12][KEEN]["/"])
    practised, not_practised = (chance_of(seen[6][name]["/my-competence"], "C3-knowledge") for name in (KEEN, SELDOM))
    assert practised > not_practised + 10
    for month in (6, 9, 12):
        chances = {name: chance_of_hands(seen[month][name]["/my-competence"]) for name in THREE}
        assert chances[KEEN] > chances[SELDOM], month
    for month in MONTHS:
        proposals = seen[month][KEEN]["/my-competence"].partition("What it proposes")[2].partition("How far to")[0]
        assert "Knowledge at C8" not in proposals, "what was only practised is no concern"


def _the_seldom_one_fades_and_lapses(seen: dict[int, dict[str, dict[str, str]]]) -> None:
    chances = [chance_of_hands(seen[month][SELDOM]["/my-competence"]) for month in MONTHS]
    assert chances == sorted(chances, reverse=True)
    assert chances[0] > 80
    assert chances[-1] < 60
    assert "Hands at C8" in seen[9][SELDOM]["/my-competence"]
    assert "A concern: about" in seen[9][SELDOM]["/my-competence"]
    assert "P06" in seen[9][SELDOM]["/practice"]
    assert "Current until" in finding(seen[9][SELDOM]["/"])
    assert "lapsed" in finding(seen[12][SELDOM]["/"]).lower()


def _the_one_on_leave_is_paused_and_comes_back(seen: dict[int, dict[str, dict[str, str]]]) -> None:
    for month in (3, 6):
        assert "leave" in finding(seen[month][AWAY]["/"]).lower() or "paused" in finding(seen[month][AWAY]["/"]).lower()
        assert "A concern" in seen[6][AWAY]["/my-competence"]
    faded, back = (chance_of_hands(seen[month][AWAY]["/my-competence"]) for month in (6, 9))
    assert back > faded
    assert "Current until" in finding(seen[9][AWAY]["/"])
    assert "Current until" in finding(seen[12][AWAY]["/"])
