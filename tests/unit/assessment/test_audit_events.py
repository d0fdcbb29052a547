"""Every event can say itself in one plain sentence."""

from __future__ import annotations

import re
from string import Formatter

import pytest

from quizapp.assessment.audit_events import AuditEvent
from quizapp.assessment.audit_sentences import SENTENCES, sentence


@pytest.mark.parametrize("event", list(AuditEvent))
def test_every_event_says_one_sentence(event):
    said = sentence(event, actor="Ada Bram", person="Cem Dorn", thing="P06")
    assert re.fullmatch(r"[A-Z][^{}]*\.", said)
    assert said.count(".") == 1
    fields = {name for _, name, _, _ in Formatter().parse(SENTENCES[event]) if name}
    assert fields <= {"actor", "person", "thing"}


def test_braces_in_a_name_stay_text():
    said = sentence(AuditEvent.PERSON_ADDED, actor="{person.__class__}", person="{0}")
    assert said == "{person.__class__} added {0}."


def test_no_sentence_stands_for_nothing():
    assert set(SENTENCES) == set(AuditEvent)
