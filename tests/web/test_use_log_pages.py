"""The log of real use as pages: entered on a phone, read by oneself, counted by the educator."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from quizapp.content.library import Library
from tests.deciding import with_standard
from tests.odd_addresses import ODD_IDS
from tests.small_service import SmallService
from tests.web_app import JudgingClient

ClientAs = Callable[[str], JudgingClient]
USE = {"setting": "boat", "duration": "under_15_min", "outcome": "over_to_bag", "faults": ["stopped"], "note": ""}


@pytest.fixture
def ready(small_sqlite: SmallService, library: Library) -> SmallService:
    return with_standard(small_sqlite, library)


def test_logged_and_taken_back(client_as: ClientAs, ready: SmallService) -> None:
    client = client_as("mira")
    assert "You have logged no real use yet." in client.get("/real-use").text
    answer = client.submit("/real-use/new", USE)
    assert answer.status_code == 303
    page = client.get(str(answer.location)).text
    assert "You have logged one real use." in page
    assert "Off the device, ventilated by bag" in page
    assert "it stopped cycling" in page
    client.submit("/real-use", {}, action="/take-back")
    assert "You have logged no real use yet." in client.get("/real-use").text


def test_a_name_is_refused_and_the_rest_is_kept_on_the_page(client_as: ClientAs, ready: SmallService) -> None:
    answer = client_as("mira").submit("/real-use/new", {**USE, "note": "Mr Jones was heavy"})
    assert answer.status_code == 422
    assert "looks like a name with a title" in answer.text
    assert 'value="boat" checked' in answer.text


def test_nothing_chosen_is_asked_for(client_as: ClientAs, ready: SmallService) -> None:
    answer = client_as("mira").submit("/real-use/new", {})
    assert answer.status_code == 422
    assert "Choose what happened." in answer.text


def test_the_educator_sees_counts_and_no_name(client_as: ClientAs, ready: SmallService) -> None:
    for name in ("mira", "tor", "una"):
        assert client_as(name).submit("/real-use/new", USE).status_code == 303
    page = client_as("ines").get("/real-use/counts").text
    assert "3 real uses were logged in the last year." in page
    assert not any(name in page for name in ("Mira", "Tor", "Una"))
    assert client_as("leif").get("/real-use/counts").status_code == 403


@pytest.mark.parametrize("odd", ODD_IDS)
def test_odd_ids_change_nothing(client_as: ClientAs, ready: SmallService, odd: str) -> None:
    client = client_as("mira")
    client.submit("/real-use/new", USE)
    client.submit("/real-use", {}, action="/take-back")
    assert client.get(f"/real-use/{odd}/take-back").status_code in {404, 405}
