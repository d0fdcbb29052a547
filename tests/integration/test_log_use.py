"""The log of real use: plain choices, nothing about a patient, one's own, counted without names, deciding nothing."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest
from sqlalchemy import select

from quizapp.assessment.real_use import UseDuration, UseFault, UseOutcome, UseSetting
from quizapp.content.library import Library
from quizapp.errors import BadInput, Conflict, NotAllowed, NotFound
from quizapp.services.decision_desk import desk
from quizapp.services.log_use import UseEntered, devices_to_log, log_use, my_uses, take_use_back, use_counts
from quizapp.services.person_standing import standing_of
from quizapp.store.audit import AuditRow
from quizapp.store.competence import CompetenceStateRow
from quizapp.store.evidence import Evidence
from quizapp.store.use_log import UseLogged
from tests.deciding import with_standard
from tests.small_service import SmallService


@pytest.fixture
def ready(small: SmallService, library: Library) -> SmallService:
    return with_standard(small, library)


def entered(small: SmallService, **changes: object) -> UseEntered:
    plain = UseEntered(
        used_on=small.now.date(),
        device=("TV-A", 1),
        setting=UseSetting.WINCH,
        duration=UseDuration.TO_30_MIN,
        outcome=UseOutcome.TROUBLE_ON_DEVICE,
        faults=(UseFault.KINK, UseFault.LEAK),
        note="The tube caught in the bag's handle.",
    )
    return replace(plain, **changes)  # type: ignore[arg-type]


def logged(small: SmallService, library: Library, *, by: str = "mira", **changes: object) -> str:
    with small.acting(by) as act:
        return log_use(act, library, entered(small, **changes))


def test_it_is_kept_and_told_without_words(ready: SmallService, library: Library) -> None:
    use_id = logged(ready, library)
    with ready.acting("mira") as act:
        (line,) = my_uses(act)
        row = act.session.scalars(select(AuditRow).where(AuditRow.object_id == use_id)).one()
    assert (line.id, line.setting, line.faults) == (use_id, "winch", ("leak or disconnection", "kink or obstruction"))
    assert line.device == "TV-A revision 1"
    assert b"caught" not in row.body


@pytest.mark.parametrize("note", ["Mr Jones was heavy", "number 943 476 5919", "a 64 year old"])
def test_what_tells_who_the_patient_was_is_kept_nowhere(ready: SmallService, library: Library, note: str) -> None:
    with pytest.raises(BadInput, match="kept nowhere") as refusal:
        logged(ready, library, note=note, no_name_is_in_it=True)
    assert refusal.value.field == "note"
    with ready.database.reading() as session:
        assert session.scalars(select(UseLogged)).all() == []


def test_what_could_be_a_name_is_asked_about_once(ready: SmallService, library: Library) -> None:
    with pytest.raises(BadInput, match="could be a name"):
        logged(ready, library, note="then Ewan took the bag")
    logged(ready, library, note="the Port Venn boat rolled", no_name_is_in_it=True)


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"faults": ()}, "faults"),
        ({"outcome": UseOutcome.AS_PLANNED}, "outcome"),
        ({"device": ("TV-Z", 9)}, "device"),
        ({"note": "x" * 301}, "note"),
    ],
)
def test_what_does_not_fit_is_named(
    ready: SmallService, library: Library, changes: dict[str, object], field: str
) -> None:
    with pytest.raises(BadInput) as refusal:
        logged(ready, library, **changes)
    assert refusal.value.field == field


@pytest.mark.parametrize("days", [-1, 91])
def test_the_day_lies_in_the_last_ninety(ready: SmallService, library: Library, days: int) -> None:
    with pytest.raises(BadInput) as refusal:
        logged(ready, library, used_on=ready.now.date() - timedelta(days=days))
    assert refusal.value.field == "used_on"


def test_the_device_in_the_pack_comes_first(ready: SmallService, library: Library) -> None:
    with ready.acting("mira") as act:
        assert devices_to_log(act, library)[0] == ("TV-A", 1)
        assert len(devices_to_log(act, library)) == len(library.profiles)


def test_taken_back_it_says_nothing_any_more(ready: SmallService, library: Library) -> None:
    use_id = logged(ready, library)
    with ready.acting("una") as act, pytest.raises(NotFound):
        take_use_back(act, use_id=use_id)
    with ready.acting("mira") as act:
        take_use_back(act, use_id=use_id)
    with ready.acting("mira") as act:
        assert my_uses(act) == ()
        with pytest.raises(Conflict):
            take_use_back(act, use_id=use_id)
    with ready.database.reading() as session:
        row = session.get_one(UseLogged, use_id)
        assert (row.note, row.faults) == ("", [])


def test_one_sees_ones_own_only(ready: SmallService, library: Library) -> None:
    logged(ready, library)
    for name in ("tor", "ines", "leif", "ada"):
        with ready.acting(name) as act:
            assert my_uses(act) == ()


def test_counts_name_nobody_and_are_not_split_for_few(ready: SmallService, library: Library) -> None:
    for name in ("mira", "tor", "petra"):  # petra is of another base
        logged(ready, library, by=name)
    with ready.acting("ines") as act:
        few = use_counts(act)
    assert (few.uses, few.people, few.is_enough, few.by_fault) == (2, 2, False, ())
    logged(ready, library, by="una", outcome=UseOutcome.AS_PLANNED, faults=())
    with ready.acting("ines") as act:
        counts = use_counts(act)
    assert (counts.uses, counts.people, counts.is_enough) == (3, 3, True)
    assert counts.by_fault == (("kink or obstruction", 2), ("leak or disconnection", 2))
    assert counts.by_base == (("Cairnlow", 3),)
    for name in ("mira", "tor", "leif", "ada"):
        with ready.acting(name) as act, pytest.raises(NotAllowed):
            use_counts(act)


def test_it_changes_nothing_that_decides(ready: SmallService, library: Library) -> None:
    """The standing, the desk, the evidence and the estimate are the same before and after ten uses."""

    def all_of_it() -> tuple[object, ...]:
        with ready.acting("ines") as act:
            page = desk(act, library, ready.person_id("mira"))
            report = standing_of(act, library, ready.person_id("mira")).report
            evidence = act.session.scalars(select(Evidence.id)).all()
            states = act.session.scalars(select(CompetenceStateRow)).all()
            return page.readiness, report, evidence, len(states)

    before = all_of_it()
    for _ in range(10):
        logged(ready, library)
    assert all_of_it() == before
