"""A drafted standard is put in force as a new version: its change and its effect shown first, then signed."""

from __future__ import annotations

from datetime import datetime, time

from quizapp.assessment.audit_chain import JsonValue, canonical_bytes
from quizapp.assessment.permissions import Right
from quizapp.assessment.roles import Role
from quizapp.assessment.standard import Terms
from quizapp.assessment.standard_change import Effect, differences, effect_of, form_rule_in_words, in_words
from quizapp.assessment.standard_json import terms_from_json, terms_to_json
from quizapp.content.library import Library
from quizapp.errors import BadInput, Conflict
from quizapp.services.act import Act
from quizapp.services.clinicians import clinicians
from quizapp.services.decision_statement import as_mapping
from quizapp.services.draft_standard import Draft, close_draft, draft
from quizapp.services.person_standing import standing_records
from quizapp.services.require_right import require_right
from quizapp.services.signing import Intent, Meaning, open_intent, prepare_to_sign, sign
from quizapp.services.standards import record_standard
from quizapp.store.people import Person

RECORD_TYPE = "standard"
MEANING = "I put this standard in force for the service. Those named here agreed to it."


def effect(act: Act, library: Library, terms: Terms) -> Effect:
    """Work out how the clinicians of the whole service would stand on the first day; nothing is changed."""
    require_right(act, Right.SET_STANDARD)
    people = clinicians(act)
    first_minute = max(act.now, datetime.combine(terms.starts_on, time.min, act.zone))
    records = standing_records(act, library, people, at=first_minute)
    return effect_of(records.values(), terms, first_minute, act.zone)


def prepare_standard(act: Act, library: Library, draft_id: str) -> str:
    """Check the draft and keep exactly what will be shown and signed; return the intent's id.

    Raises BadInput naming what still stands in the way.
    """
    written = draft(act, library, draft_id)
    for fault in written.faults:
        raise BadInput(fault.message, field=fault.field)
    return prepare_to_sign(act, record_type=RECORD_TYPE, statement=_statement(act, library, written)).id


def _statement(act: Act, library: Library, written: Draft) -> dict[str, JsonValue]:
    terms = written.terms
    return {
        "draft": written.id,
        "revision": written.revision,
        "version": (written.before.version if written.before else 0) + 1,
        "name": terms.name,
        "starts_on": terms.starts_on.isoformat(),
        "reason": terms.reason.strip(),
        "agreed_by": terms.agreed_by.strip(),
        "form_rule": form_rule_in_words(terms),
        "competencies": [
            {"code": one.competency, "title": library.competencies[one.competency].title, "words": in_words(one)}
            for one in terms.requirements
        ],
        "changes": list(differences(written.before, terms)),
        "effect": list(effect(act, library, terms).sentences),
        "meaning": MEANING,
        "terms": terms_to_json(terms),
    }


def standard_intent(act: Act, intent_id: str) -> Intent:
    """Return what the actor was shown and has not signed yet."""
    return open_intent(act, intent_id, record_type=RECORD_TYPE)


def sign_standard(act: Act, library: Library, intent_id: str, *, password: str) -> str:
    """Put the version in force that the intent shows and return its id.

    Raises Conflict when the draft or its effect changed since it was shown, BadInput for a wrong password.
    """
    intent = standard_intent(act, intent_id)
    statement = as_mapping(intent.statement)
    written = draft(act, library, str(statement["draft"]))
    if canonical_bytes(_statement(act, library, written)) != canonical_bytes(statement):
        raise Conflict(
            "The draft, or what it does to people, changed since this was shown. Nothing was signed and the draft is "
            "kept. Look at it again, then put it in force."
        )
    standard_id = act.randomness.new_id()
    base_id = act.session.get_one(Person, act.actor.person_id).base_id
    meaning = Meaning(word="puts in force", sentence=MEANING, role=Role.EDUCATOR, base_id=base_id)
    signature = sign(act, intent, password=password, record_type=RECORD_TYPE, record_id=standard_id, meaning=meaning)
    close_draft(act, written.id)
    terms = terms_from_json(as_mapping(statement["terms"]))
    return record_standard(act, library, terms, standard_id=standard_id, signature_id=signature.id)
