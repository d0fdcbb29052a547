"""The founding of the invented service: bases, people, roles, devices, content, the standard, earlier sign-offs."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, timedelta

from sqlalchemy import select

from quizapp.assessment.role_grants import RoleWanted, last_recognised_day
from quizapp.assessment.roles import Role
from quizapp.cli.invented.cast import BASES, Member, administrators
from quizapp.cli.invented.stage import WORKING_PASSWORD, ZONE, Stage
from quizapp.services.accept_content import accept_content, content_states
from quizapp.services.draft_standard import begin_draft, replace_terms
from quizapp.services.found_service import FoundingAdministrator, FoundingBase, ServiceWanted, found_service
from quizapp.services.grant_role import confirm_role, propose_role
from quizapp.services.import_drafts import DraftKind, keep_draft
from quizapp.services.import_people import import_people
from quizapp.services.put_device_in_service import put_in_service
from quizapp.services.put_standard_in_force import prepare_standard, sign_standard
from quizapp.services.recognise_sign_offs import sign_as_first, sign_as_second, to_sign_first, to_sign_second
from quizapp.services.standards import Requirement, Terms
from quizapp.store.people import Person

PROCEDURES = {"C2": ("P01",), "C3": ("P01",), "C4": ("P02",), "C5": ("P02",), "C8": ("P06",)}
WITHOUT_KNOWLEDGE = {"C2"}
RECOGNISED = "signed off before this service kept its records here"


def begin(stage: Stage, members: Sequence[Member]) -> None:
    """Found the service and bring in everybody on the first day."""
    first, second = administrators()
    with stage.database.writing() as session:
        wanted = ServiceWanted(
            name="Thornmere Isles Rescue",
            zone=ZONE.key,
            bases=[FoundingBase(code=code, name=name, setting=setting) for code, name, setting, _ in BASES],
            administrators=[
                FoundingAdministrator(staff_number=one.staff_number, name=one.name, sign_in_name=one.sign_in_name)
                for one in (first, second)
            ],
            is_demo=True,
        )
        founded = found_service(session, stage.moment(0, 8), stage.randomness, wanted)
        stage.bases = dict(founded.base_ids)
    _know_people(stage)
    stage.give_working_passwords()
    with stage.acting(first.staff_number, stage.moment(0, 9)) as act:
        import_people(act, content=roster(members), path="roster.csv")
    _know_people(stage)
    stage.give_working_passwords()
    for member in members:
        for role in member.roles:
            grant(stage, member.staff_number, role, None if role is Role.EDUCATOR else member.base, day=0)
    lead = educator_of(members, "CAI")
    grant(stage, lead.staff_number, Role.CLINICAL_LEAD, None, day=0)
    _set_up_content(stage, lead.staff_number)


def educator_of(members: Sequence[Member], base: str) -> Member:
    """Return the educator of a base."""
    return next(one for one in members if one.base == base and Role.EDUCATOR in one.roles)


def assessors_of(members: Sequence[Member], base: str) -> list[Member]:
    """Return the assessors of a base."""
    return [one for one in members if one.base == base and Role.ASSESSOR in one.roles]


def grant(stage: Stage, staff_number: str, role: Role, base: str | None, *, day: int) -> None:
    """Let one administrator propose a role and the other confirm it, for a year at first, then without an end."""
    first, second = administrators()
    recognised_until = last_recognised_day(stage.first_day)
    is_recognised = day == 0 and role in {Role.ASSESSOR, Role.EDUCATOR, Role.CLINICAL_LEAD}
    from_day = stage.first_day if day == 0 else recognised_until + timedelta(days=1)
    wanted = RoleWanted(
        role=role,
        base_id=stage.bases[base] if base else None,
        from_day=from_day,
        until_day=recognised_until if is_recognised else None,
        recognised=is_recognised,
        reason="held this post before the founding" if day == 0 else "held it well for a year",
    )
    with stage.acting(first.staff_number, stage.moment(day, 10)) as act:
        proposal = propose_role(act, person_id=stage.people[staff_number], wanted=wanted).proposal_id
    if proposal is not None:
        with stage.acting(second.staff_number, stage.moment(day, 11)) as act:
            confirm_role(act, proposal_id=proposal)


def _know_people(stage: Stage) -> None:
    with stage.database.reading() as session:
        stage.people = {row.staff_number: row.id for row in session.scalars(select(Person))}


def roster(members: Sequence[Member]) -> bytes:
    """Return the people as a roster file."""
    codes = ["staff_number,name,profession,base,joined_on,sign_in_name"]
    codes += [
        f"{one.staff_number},{one.name},{one.profession},{one.base},{one.joined_on.isoformat()},{one.sign_in_name}"
        for one in members
    ]
    return "\n".join(codes).encode()


def _set_up_content(stage: Stage, lead: str) -> None:
    """Accept all content, put the devices in service, and set the first standard."""
    with stage.acting(lead, stage.moment(0, 13)) as act:
        items = [
            (state.item.kind.value, state.item.code, state.item.content_hash)
            for state in content_states(act, stage.library)
        ]
        accept_content(act, stage.library, wanted=items, local_changes="")
    with stage.acting(lead, stage.moment(0, 14)) as act:
        for base_id in stage.bases.values():
            put_in_service(act, stage.library, base_id=base_id, profile_code="TV-A", profile_revision=1,
                           from_day=stage.first_day)  # fmt: skip
    _set_standard(stage, lead)


def _set_standard(stage: Stage, lead: str) -> None:
    """Draft the first standard and put it in force with a signature, as every later one."""
    terms = standard(stage, stage.first_day)
    with stage.acting(lead, stage.moment(0, 14, 20)) as act:
        draft_id = begin_draft(act, stage.library)
        replace_terms(act, draft_id, terms)
        intent_id = prepare_standard(act, stage.library, draft_id)
        sign_standard(act, stage.library, intent_id, password=WORKING_PASSWORD)


def standard(stage: Stage, starts_on: date) -> Terms:
    """Return what the invented service requires: knowledge nearly everywhere, hands where hands are the skill."""
    asked = {code for family in stage.library.families.values() for code in family.competencies}
    requirements = [
        Requirement(
            competency=one.code,
            is_critical=one.is_critical,
            validity_months=one.valid_months,
            practice_months=one.practise_months,
            needs_knowledge=one.code in asked - WITHOUT_KNOWLEDGE,
            procedures=PROCEDURES.get(one.code, ()),
        )
        for one in stage.library.competencies.values()
        if one.code in PROCEDURES or one.code in asked
    ]
    return Terms(
        name="Transport ventilator standard",
        starts_on=starts_on,
        reason="The first standard kept here; taken over from the paper one after a day of comparing.",
        agreed_by="The three educators and the clinical lead.",
        requirements=tuple(requirements),
    )


def import_earlier(stage: Stage, ends: Mapping[str, date], *, revision: int, day: int) -> None:
    """Take over sign-offs given before, each with the date it had (`ends`: last valid day by staff number)."""
    first, second = administrators()
    signed_on = stage.first_day + timedelta(days=day)
    lines = ["staff_number,competency,signed_on,last_valid_day,profile,revision,recognised_reason"]
    codes = [one.competency for one in standard(stage, stage.first_day).requirements]
    for staff_number, end in ends.items():
        earlier = min(signed_on, end - timedelta(days=365))
        lines += [
            f"{staff_number},{code},{earlier.isoformat()},{end.isoformat()},TV-A,{revision},{RECOGNISED}"
            for code in codes
        ]
    file = "\n".join(lines).encode()
    _recognise(stage, file, first.staff_number, second.staff_number, day=day)


def _recognise(stage: Stage, content: bytes, first: str, second: str, *, day: int) -> None:
    """Let two administrators see the list and sign it, one after the other."""
    library = stage.library
    with stage.acting(first, stage.moment(day, 15)) as act:
        draft_id = keep_draft(act, DraftKind.SIGN_OFFS, file_name="sign-offs.csv", content=content,
                              second_by=stage.people[second])  # fmt: skip
        act.session.flush()
        shown = to_sign_first(act, library, draft_id)
        sign_as_first(act, library, draft_id, shown_hash=shown.shown_hash, password=WORKING_PASSWORD)
    with stage.acting(second, stage.moment(day, 15, 20)) as act:
        shown = to_sign_second(act, library, draft_id)
        sign_as_second(act, library, draft_id, shown_hash=shown.shown_hash, password=WORKING_PASSWORD)
