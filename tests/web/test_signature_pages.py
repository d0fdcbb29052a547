"""A signature is verified on its page: by anybody, but what was signed is read only by those it concerns."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from contextlib import closing

import pytest
from sqlalchemy import select

from quizapp.content.library import Library
from quizapp.store.audit import Signature
from tests.deciding import REASON, decide, show, with_standard
from tests.odd_addresses import ODD_IDS
from tests.small_service import SmallService
from tests.web_app import JudgingClient

ClientAs = Callable[[str], JudgingClient]


@pytest.fixture
def receipt(small_sqlite: SmallService, library: Library) -> str:
    """The receipt of the signature by which Mira was signed off in C5."""
    with_standard(small_sqlite, library)
    show(small_sqlite, "C5")
    decide(small_sqlite, library, competencies=("C5",))
    with small_sqlite.database.reading() as session:
        return session.scalars(select(Signature.signature_hash)).one()[:16]


@pytest.mark.parametrize(("name", "reads"), [("ines", True), ("mira", True), ("cleo", True), ("leif", True),
                                             ("tor", False), ("olaf", False), ("ada", False)])  # fmt: skip
def test_who_reads_what_was_signed(client_as: ClientAs, receipt: str, name: str, reads: bool) -> None:
    page = client_as(name).get(f"/signatures/{receipt}").text
    assert "This signature is genuine, and nothing was changed since." in page
    assert "2026-03-02T09:00:00+00:00, zone Europe/London" in page
    assert (REASON in page, "What was signed is read by the people concerned" in page) == (reads, not reads)


def test_a_receipt_leads_to_its_page(client_as: ClientAs, receipt: str) -> None:
    tor = client_as("tor")
    assert "Is this signature genuine?" in tor.get("/signatures").text
    found = tor.get(f"/signatures?receipt=%20{receipt.upper()}")
    assert (found.status_code, found.location) == (303, f"/signatures/{receipt}")
    for wrong, says in (("abc", "A receipt has 16 to 64"), ("0" * 16, "No signature here bears this receipt")):
        refused = tor.get(f"/signatures?receipt={wrong}")
        assert (refused.status_code, says in refused.text, wrong in refused.text) == (422, True, True)


def test_what_was_changed_is_named(client_as: ClientAs, small_sqlite: SmallService, receipt: str) -> None:
    with closing(sqlite3.connect(small_sqlite.database.url.removeprefix("sqlite:///"))) as file:
        file.execute("DROP TRIGGER decision_no_update")
        file.execute("UPDATE decision SET last_valid_day = '2030-01-01'")
        file.commit()
    page = client_as("ines").get(f"/signatures/{receipt}").text
    assert "Something does not fit: do not rely on this signature." in page
    assert "C5: the last valid day is not what was shown" in page


@pytest.mark.parametrize("odd", ODD_IDS)
def test_odd_receipts_are_not_found(client_as: ClientAs, receipt: str, odd: str) -> None:
    assert client_as("tor").get(f"/signatures/{odd}").status_code == 404
