"""Who may read what a signature was shown with; everybody signed in may check whether it is genuine."""

from __future__ import annotations

from typing import Any

from quizapp.assessment.permissions import Right, has_right
from quizapp.services.act import Act
from quizapp.services.require_right import require_right
from quizapp.services.verify_signature import Verified, signature_by_receipt, verify_signature
from quizapp.store.people import Person

FOR_EVERYBODY = {"standard"}


def verified_by_receipt(act: Act, receipt: str) -> tuple[Verified, bool]:
    """Return the signature that bears a receipt, checked, and whether the actor may read what was shown.

    Raises BadInput for what is no receipt, NotFound when none fits.
    """
    require_right(act, Right.CHECK_RECEIPT)
    found = verify_signature(act.session, signature_by_receipt(act.session, receipt))
    return found, _may_read(act, found)


def _may_read(act: Act, found: Verified) -> bool:
    """The signer, everybody for a standard, the people concerned, and those who may see each of them."""
    me, statement = act.actor.person_id, found.statement or {}
    if me == found.signature.person_id or found.signature.record_type in FOR_EVERYBODY:
        return True
    concerned = _concerned(statement)
    return bool(concerned) and all(person_id == me or _may_see(act, person_id) for person_id in concerned)


def _concerned(statement: dict[str, Any]) -> set[str]:
    """Return the ids of the people a statement is about."""
    if "person_id" in statement:
        return {str(statement["person_id"])}
    return {str(one["person_id"]) for one in statement.get("sign_offs", ())}


def _may_see(act: Act, person_id: str) -> bool:
    person = act.session.get(Person, person_id)
    return person is not None and any(
        has_right(act.actor, right, act.today, person.base_id) for right in (Right.DECIDE, Right.PAUSE_PERSON)
    )
