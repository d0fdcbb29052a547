"""A procedure as it may be used today: not withdrawn, and without any step that an educator has withdrawn."""

from __future__ import annotations

from sqlalchemy import select

from quizapp.assessment.procedures import Procedure, without_steps
from quizapp.content.library import Library
from quizapp.errors import Conflict
from quizapp.services.act import Act
from quizapp.store.accepted_content import ContentWithdrawal


def procedure_in_force(act: Act, library: Library, code: str) -> Procedure:
    """Return a procedure of the library without its withdrawn steps.

    Raises NotFound for an unknown one, Conflict for one that is withdrawn as a whole.
    """
    procedure = library.procedure(code)
    withdrawn = withdrawn_steps(act, procedure)
    if "" in withdrawn:
        raise Conflict(
            f"{procedure.code} {procedure.title} was withdrawn by an educator, so nothing was started. "
            "Choose another procedure, or ask who withdrew it."
        )
    return without_steps(procedure, withdrawn)


def withdrawn_steps(act: Act, procedure: Procedure) -> frozenset[str]:
    """Return the letters withdrawn from these very bytes; "" stands for the whole procedure."""
    wanted = select(ContentWithdrawal.step).where(
        ContentWithdrawal.code == procedure.code,
        ContentWithdrawal.content_hash == procedure.content_hash,
        ContentWithdrawal.lifted_at.is_(None),
    )
    return frozenset(act.session.scalars(wanted))
