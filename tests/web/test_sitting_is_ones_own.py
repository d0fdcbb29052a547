"""A sitting is its owner's alone: foreign, odd and enormous addresses are not found."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from quizapp.content.library import Library
from tests.knowledge_forms import (
    begun,
    composed,
)
from tests.odd_addresses import ODD_IDS, ODD_POSITIONS
from tests.small_service import SmallService
from tests.web_app import JudgingClient, form_of, values_of

ClientAs = Callable[[str], JudgingClient]


@pytest.fixture
def sitting_id(small_sqlite: SmallService, library: Library) -> str:
    """Mira's sitting, begun and still open; every question asks for a number."""
    return begun(small_sqlite, library, composed(small_sqlite, library))


def test_nobody_else_finds_a_sitting(client_as: ClientAs, sitting_id: str) -> None:
    for name in ("tor", "petra", "leif"):
        client = client_as(name)
        for address in ("", "/1", "/1/why", "/end", "/result"):
            assert client.get(f"/sitting/{sitting_id}{address}").status_code == 404
        for address in ("/1", "/1/twin", "/end"):
            sent = {"csrf_token": csrf_of(client), "act_key": "k" * 20, "answer_0": "1"}
            assert client.post(f"/sitting/{sitting_id}{address}", data=sent).status_code == 404


def csrf_of(client: JudgingClient) -> str:
    return str(values_of(form_of(client.get("/").text, "/sign-out"))["csrf_token"])


def test_an_assessment_given_to_others_cannot_be_begun(
    client_as: ClientAs, small_sqlite: SmallService, library: Library
) -> None:
    assessment_id = composed(small_sqlite, library)
    client = client_as("petra")
    sent = {"csrf_token": csrf_of(client), "act_key": "k" * 20}
    assert client.post(f"/sitting/begin/{assessment_id}", data=sent).status_code == 404


@pytest.mark.parametrize("position", ODD_POSITIONS)
def test_odd_positions_are_not_found(client_as: ClientAs, sitting_id: str, position: str) -> None:
    client = client_as("mira")
    assert client.get(f"/sitting/{sitting_id}/{position}").status_code == 404
    assert client.get(f"/sitting/{sitting_id}/{position}/why").status_code == 404


@pytest.mark.parametrize("odd", ODD_IDS)
def test_odd_ids_are_not_found(client_as: ClientAs, odd: str) -> None:
    client = client_as("mira")
    for address in (f"/sitting/{odd}", f"/sitting/{odd}/1", f"/sitting/{odd}/result", f"/sitting/{odd}/end"):
        assert client.get(address).status_code == 404
