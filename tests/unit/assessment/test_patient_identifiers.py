"""What looks as if it told who a patient was is found; plain notes about a device are left alone."""

from __future__ import annotations

import time

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quizapp.assessment.patient_identifiers import suspicions

REFUSED = [
    ("Mr Jones was cold", "a name with a title"),
    ("Mrs. o'Neill", "a name with a title"),
    ("number 943 476 5919", "a number of a person"),
    ("AB123456C", "a number of a person"),
    ("phone 07700 900123", "a name, a number or an address"),
    ("write to somebody@example.org", "an e-mail address"),
    ("born in 1961", "a date of birth"),
    ("DOB unknown", "a date of birth"),
    ("on 12/03/61", "a date"),
    ("on 2026-03-12", "a date"),
    ("on 3rd March", "a date"),
    ("a 64 year old", "an age"),
    ("64y", "an age"),
    ("aged 7", "an age"),
    ("lives at the harbour", "a name, a number or an address"),
    ("12 Harbour Road", "an address"),
    ("ZE3 9JX", "a post code"),
    ("he is called Bob", "a name, a number or an address"),
]
ASKED_ABOUT = ["John Smith was cold", "then Ewan took the bag", "J. Smith", "J.S. was heavy", "with Anne-Marie Bell"]
PLAIN = [
    "",
    "The collar was stiff; two of us closed it.",
    "Valve squeaked near 40",
    "The relief sounded at 48 cmH2O twice.",
    "Took 12 L/min for 35 min, cylinder 2 of 3 empty.",
    "PEEP fell to 3.6 when the peak came down to 20.",
    "Left filter loose. Replaced. Lot L 204.",
    "TV-A revision 2 collar",
]


@pytest.mark.parametrize(("note", "looks_like"), REFUSED)
def test_what_tells_who_it_was_is_refused(note: str, looks_like: str) -> None:
    found = [one for one in suspicions(note) if one.is_certain]
    assert looks_like in {one.looks_like for one in found}


@pytest.mark.parametrize("note", ASKED_ABOUT)
def test_what_could_be_a_name_is_asked_about(note: str) -> None:
    assert [(one.looks_like, one.is_certain) for one in suspicions(note)] == [("a name", False)]


@pytest.mark.parametrize("note", PLAIN)
def test_notes_about_the_device_pass(note: str) -> None:
    assert suspicions(note) == ()


@given(st.text(max_size=300))
def test_any_text_is_answered(note: str) -> None:
    assert all(one.words.strip() for one in suspicions(note))


@pytest.mark.parametrize("hostile", ["1 " * 25_000, "A." * 25_000, "Mr " * 17_000, "a1" * 25_000, "12 Ab " * 8_000])
def test_hostile_texts_are_read_at_once(hostile: str) -> None:
    began = time.process_time()
    suspicions(hostile)
    assert time.process_time() - began < 0.5
