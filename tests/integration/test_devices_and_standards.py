"""Which device revisions a base has when, and which version of the standard is in force on a day."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest
from small_service import SmallService
from sqlalchemy.exc import IntegrityError

from quizapp.content.library import Library
from quizapp.errors import BadInput, Conflict, NotAllowed, NotFound
from quizapp.services.devices_in_service import revisions_in_service
from quizapp.services.put_device_in_service import put_in_service, take_out_of_service
from quizapp.services.standards import Requirement, Terms, record_standard, standard_on
from quizapp.store.devices import DeviceInService

TODAY = date(2026, 3, 2)
C5 = Requirement(
    competency="C5", is_critical=True, validity_months=12, practice_months=3, needs_knowledge=True, procedures=("P06",)
)
WANTED = Terms(
    name="Standard for 2026", starts_on=date(2026, 1, 1), reason="first version of the tool",
    agreed_by="governance meeting of January", requirements=[C5],
)  # fmt: skip


def put(small: SmallService, library: Library, *, by: str = "leif", revision: int = 1, **changed: object) -> str:
    values: dict[str, object] = {"base_id": small.base_id, "profile_code": "TV-A", "from_day": TODAY}
    with small.acting(by) as act:
        return put_in_service(act, library, profile_revision=revision, **{**values, **changed})  # type: ignore[arg-type]


def in_service(small: SmallService) -> tuple[tuple[str, int], ...]:
    with small.acting("leif") as act:
        return revisions_in_service(act, [small.base_id])[small.base_id]


@pytest.mark.parametrize("by", ["leif", "ines"])
def test_a_revision_is_in_service_from_its_first_to_its_last_day(
    small: SmallService, library: Library, by: str
) -> None:
    device_id = put(small, library, by=by)
    put(small, library, by=by, revision=2, from_day=date(2026, 3, 3))
    assert in_service(small) == (("TV-A", 1),)
    with small.acting(by) as act:
        take_out_of_service(act, device_id=device_id, until_day=TODAY)
    assert in_service(small) == (("TV-A", 1),)
    small.now = small.now.replace(day=3)
    assert in_service(small) == (("TV-A", 2),)


def test_the_same_revision_is_not_put_in_service_twice(small: SmallService, library: Library) -> None:
    device_id = put(small, library)
    with pytest.raises(Conflict):
        put(small, library)
    with small.acting("leif") as act:
        take_out_of_service(act, device_id=device_id, until_day=TODAY)
        with pytest.raises(Conflict):
            take_out_of_service(act, device_id=device_id, until_day=TODAY)
    with pytest.raises(Conflict):
        put(small, library)
    put(small, library, from_day=date(2026, 3, 3))


def test_the_database_keeps_one_open_row(small: SmallService, library: Library) -> None:
    put(small, library)
    with pytest.raises(IntegrityError), small.database.writing() as session:
        session.add(
            DeviceInService(
                id="1" * 32, base_id=small.base_id, profile_code="TV-A", profile_revision=1, from_day=date(2027, 1, 1),
                recorded_by=small.person_id("leif"), recorded_at=small.now,
            )
        )  # fmt: skip


def test_what_cannot_be_put_in_service_or_taken_out(small_sqlite: SmallService, library: Library) -> None:
    with pytest.raises(NotFound):
        put(small_sqlite, library, revision=9)
    with pytest.raises(NotFound):
        put(small_sqlite, library, base_id="0" * 32)
    for name in ("mira", "tor", "ada", "olaf"):
        with pytest.raises(NotAllowed):
            put(small_sqlite, library, by=name)
    device_id = put(small_sqlite, library)
    with small_sqlite.acting("leif") as act:
        with pytest.raises(BadInput):
            take_out_of_service(act, device_id=device_id, until_day=date(2026, 3, 1))
        with pytest.raises(NotFound):
            take_out_of_service(act, device_id="0" * 32, until_day=TODAY)
    with small_sqlite.acting("olaf") as act, pytest.raises(NotAllowed):
        take_out_of_service(act, device_id=device_id, until_day=TODAY)


def record(small: SmallService, library: Library, *, by: str = "ines", **changed: object) -> str:
    with small.acting(by) as act:
        return record_standard(act, library, replace(WANTED, **changed))  # type: ignore[arg-type]


def test_the_version_in_force_is_the_last_one_started(small: SmallService, library: Library) -> None:
    record(small, library)
    longer = replace(C5, validity_months=24)
    record(small, library, starts_on=date(2026, 6, 1), requirements=[longer])
    with small.database.reading() as session:
        found = [standard_on(session, day) for day in (date(2025, 12, 31), TODAY, date(2026, 6, 1))]
    assert [one and one.version for one in found] == [None, 1, 2]
    assert found[1] is not None
    assert (found[1].requirement("C5"), found[1].requirement("C1")) == (C5, None)
    assert found[2] is not None
    assert found[2].requirements == (longer,)


def test_a_version_on_the_same_start_day_replaces_the_one_before(small: SmallService, library: Library) -> None:
    record(small, library, starts_on=TODAY)
    record(small, library, starts_on=TODAY, requirements=[replace(C5, is_critical=False)])
    with small.database.reading() as session:
        found = standard_on(session, TODAY)
    assert found is not None
    assert (found.version, found.requirements[0].is_critical) == (2, False)


@pytest.mark.parametrize("day", [date(2025, 12, 31), date(2026, 2, 28)])
def test_a_later_version_never_changes_days_gone_by(small_sqlite: SmallService, library: Library, day: date) -> None:
    record(small_sqlite, library)
    with pytest.raises(BadInput) as refused:
        record(small_sqlite, library, starts_on=day)
    assert refused.value.field == "starts_on"


@pytest.mark.parametrize(
    ("changed", "field"),
    [
        ({"name": " "}, "name"),
        ({"reason": "x"}, "reason"),
        ({"agreed_by": "x"}, "agreed_by"),
        ({"requirements": []}, "requirements"),
        ({"requirements": [C5, C5]}, "requirements"),
        ({"requirements": [replace(C5, competency="C99")]}, "requirements"),
        ({"requirements": [replace(C5, procedures=("P99",))]}, "requirements"),
        ({"requirements": [replace(C5, validity_months=0)]}, "requirements"),
        ({"requirements": [replace(C5, practice_months=61)]}, "requirements"),
        ({"requirements": [replace(C5, needs_knowledge=False, procedures=())]}, "requirements"),
    ],
    ids=str,
)
def test_a_standard_that_cannot_be(
    small_sqlite: SmallService, library: Library, changed: dict[str, object], field: str
) -> None:
    with pytest.raises(BadInput) as refused:
        record(small_sqlite, library, **changed)
    assert refused.value.field == field


@pytest.mark.parametrize("name", ["mira", "tor", "leif", "ada"])
def test_only_educators_set_the_standard(small_sqlite: SmallService, library: Library, name: str) -> None:
    with pytest.raises(NotAllowed):
        record(small_sqlite, library, by=name)
