"""What tests of take-aways share: somebody signed off, evidence taken away, checks by somebody without an account."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime, timedelta

from quizapp.assessment.permissions import Actor
from quizapp.content.library import Library
from quizapp.services.act import Act
from quizapp.services.check_take_away import Checked, check_code
from quizapp.services.take_away import OwnTakeAway, own_take_away, take_away
from tests.deciding import decide, show, with_standard
from tests.small_service import ZONE, SmallService

NOBODY = Actor(person_id="", account_id="", name="", roles_held=())
MINUTE = timedelta(minutes=1)


def signed_off(small: SmallService, library: Library) -> None:
    """Mira is competent in C5 and C8 until 2 March 2027."""
    with_standard(small, library)
    show(small, "C5")
    show(small, "C8", assessor="tor")
    decide(small, library)


def taken(small: SmallService, library: Library, *, name: str = "mira", after: timedelta = MINUTE) -> OwnTakeAway:
    with small.acting(name, at=small.now + after) as act:
        taken_id = take_away(act, library)
    with small.acting(name, at=small.now + after) as act:
        return own_take_away(act, taken_id)


@contextmanager
def outside(small: SmallService, at: datetime) -> Iterator[Act]:
    """Somebody without an account."""
    with small.database.writing() as session:
        yield Act(session=session, actor=NOBODY, now=at, randomness=small.randomness, zone=ZONE)


def checked(
    small: SmallService, library: Library, code: str, *, after: timedelta = timedelta(hours=1), address: str = "one"
) -> Checked:
    with outside(small, small.now + after) as act:
        return check_code(act, library, code, address=address)
