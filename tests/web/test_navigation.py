"""Where one can go from every page: few areas for each role, inside an area its pages, and where one is."""

from __future__ import annotations

import re
from collections.abc import Callable

import html5lib
import pytest
from flask import Flask

from quizapp.web.navigation import DESTINATIONS
from tests.small_service import SmallService
from tests.web_app import JudgingClient

ClientAs = Callable[[str], JudgingClient]
AREAS = {
    "mira": ["My currency", "Practice", "Procedures"],
    "tor": ["My currency", "Practice", "Procedures", "Observe"],
    "ines": ["My currency", "Practice", "Procedures", "Decisions", "Assessments", "Content", "Readiness"],
    "leif": ["My currency", "Practice", "Procedures", "Readiness"],
    "ada": ["My currency", "Practice", "Procedures", "People"],
}


def entries(text: str, label: str) -> dict[str, str]:
    """The words of a navigation's links, and how each is marked."""
    root = html5lib.parse(text, namespaceHTMLElements=False)
    found = [nav for nav in root.iter("nav") if nav.get("aria-label") == label]
    return {"".join(link.itertext()): link.get("aria-current", "") for nav in found for link in nav.iter("a")}


@pytest.mark.parametrize(("name", "areas"), AREAS.items())
def test_each_role_has_few_areas(client_as: ClientAs, small_sqlite: SmallService, name: str, areas: list[str]) -> None:
    assert list(entries(client_as(name).get("/").text, "Main")) == areas


def test_inside_an_area_its_pages_stand_beside_each_other(client_as: ClientAs, small_sqlite: SmallService) -> None:
    page = client_as("leif").get("/places").text
    assert entries(page, "Main")["Readiness"] == "true"
    assert entries(page, "Readiness") == {"Readiness": "", "Cover": "", "Places": "page", "Leave": "", "Devices": ""}


def test_discussions_stand_where_the_person_can_go(client_as: ClientAs, small_sqlite: SmallService) -> None:
    assert "Discussions" in entries(client_as("tor").get("/observe").text, "Observe")
    assert "Discussions" in entries(client_as("ines").get("/decisions").text, "Decisions")


def test_pages_without_an_entry_belong_to_an_area(client_as: ClientAs, small_sqlite: SmallService) -> None:
    page = client_as("mira").get("/my-evidence").text
    assert entries(page, "Main")["My currency"] == "true"
    assert list(entries(page, "My currency")) == ["My currency", "Real use", "Standard"]


def test_every_name_is_a_package_of_pages(app: Flask) -> None:
    assert {name for one in DESTINATIONS for name in one.packages} <= set(app.blueprints)
    assert {area for one in DESTINATIONS for area in one.within} <= {one.endpoint for one in DESTINATIONS}
    assert all(re.fullmatch(r"[A-Z][a-z]+( [a-z]+)?", one.words) for one in DESTINATIONS)
