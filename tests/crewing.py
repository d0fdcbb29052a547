"""What tests of crews share: people signed off, crews on shifts, and a file of crews."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from quizapp.assessment.shift_cover import Span
from quizapp.content.library import Library
from quizapp.services.keep_crews import MemberWanted, ShiftWanted, enter_shift
from tests.deciding import decide, show, with_standard
from tests.small_service import SmallService

FRIDAY = datetime(2026, 3, 6, 19, 0, tzinfo=UTC)
NIGHT = Span(FRIDAY, FRIDAY + timedelta(hours=12))
HEADER = "base,crew,starts,ends,staff_number,role"


def signed_off(small: SmallService, library: Library, *names: str) -> SmallService:
    """Set the usual standard and sign the people off, today, for a year."""
    with_standard(small, library)
    for name in names:
        show(small, "C5", who=name)
        show(small, "C8", who=name, assessor="una" if name == "tor" else "tor")
        decide(small, library, who=name)
    return small


def crew_of(*names: str) -> tuple[MemberWanted, ...]:
    return tuple(MemberWanted(staff_number=f"T-{name}", crew_role="flight paramedic") for name in names)


def entered(
    small: SmallService, library: Library, *names: str, span: Span = NIGHT, crew: str = "Helicopter", by: str = "leif",
    after: timedelta = timedelta(),
) -> str:  # fmt: skip
    """Enter a shift with the people as its crew."""
    wanted = ShiftWanted(base_id=small.base_id, crew=crew, span=span, members=crew_of(*names))
    with small.acting(by, at=small.now + after) as act:
        return enter_shift(act, library, wanted)


def crews_file(*rows: str, header: str = HEADER) -> bytes:
    return "\n".join([header, *rows]).encode()
