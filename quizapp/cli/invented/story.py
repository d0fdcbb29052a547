"""Eighteen months in the invented service, played in the order of their days."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import timedelta

from sqlalchemy import select

from quizapp.assessment.roles import Role
from quizapp.assessment.standing import Outcome
from quizapp.assessment.standing_event_kind import StandingEventKind
from quizapp.cli.invented.beginning import assessors_of, educator_of, grant, import_earlier
from quizapp.cli.invented.cast import Member
from quizapp.cli.invented.doubles import morning_of_two
from quizapp.cli.invented.hard_cases import discuss, log_uses, newcomers_path, path_after_twice
from quizapp.cli.invented.places import scenes_of_places
from quizapp.cli.invented.rounds import Rounds
from quizapp.cli.invented.second_looks import scenes_of_second_looks
from quizapp.cli.invented.stage import MONTHS_OF_HISTORY_DAYS, Stage
from quizapp.services.change_standing import StandingChange, change_standing
from quizapp.services.put_device_in_service import put_in_service, take_out_of_service
from quizapp.store.devices import DeviceInService

YEAR = 365
TODAY = MONTHS_OF_HISTORY_DAYS
REVISION_TWO_COMES, REVISION_ONE_GOES = 240, 305
LAPSING_SOON = (3, 6, 9, 12, 15, 18, 21, 25, 29)
LAPSING_LATER = (38, 45, 52, 60, 66, 75, 84)
LAPSED = (-6, -17, -33, -52)
Scene = Callable[[], object]


@dataclass
class Story:
    """Scenes by day; those of one day are played in the order in which they were written."""

    stage: Stage
    members: Sequence[Member]
    rounds: Rounds
    scenes: list[tuple[int, Scene]] = field(default_factory=list)

    def at(self, day: int, scene: Scene) -> None:
        """Write a scene for a day; nothing is written for days still to come."""
        if 0 <= day < TODAY:
            self.scenes.append((day, scene))

    def play(self) -> None:
        """Play all scenes."""
        for _day, scene in sorted(self.scenes, key=lambda entry: entry[0]):
            scene()


def write(story: Story) -> None:
    """Write the whole story: who is due when, who renews, who is late, who is new."""
    staff = {Role.ASSESSOR, Role.EDUCATOR, Role.TEAM_LEAD}
    mainland = [one for one in story.members if one.base != "SKE"]
    plain = [one for one in mainland if not staff & set(one.roles)]
    posted = [one for one in mainland if staff & set(one.roles)]
    newcomers, plain = plain[:5], plain[5:]
    order = story.stage.chance.sample(plain, len(plain))
    days = [*LAPSING_SOON, *LAPSING_LATER, *LAPSED]
    ends = dict(zip(order, (TODAY + left - YEAR for left in days), strict=False))
    rest = order[len(days) :]
    ends |= {member: _end_of_the_rest(story, number) for number, member in enumerate(rest)}
    ends |= {member: story.stage.chance.randint(40, 120) for member in posted}
    late = set(order[len(days) - len(LAPSED) : len(days)])
    _mainland(story, ends, late)
    _island(story)
    _newcomers(story, newcomers)
    _posts(story)
    _loose_ends(story, order, rest)
    for day, scene in (*scenes_of_places(story.stage, story.members, order), *scenes_of_second_looks(story.stage)):
        story.at(day, scene)


def _end_of_the_rest(story: Story, number: int) -> int:
    """Return when an earlier sign-off ends: for every third early, so that two renewals follow; else one."""
    if number % 3 == 0:
        return story.stage.chance.randint(35, 150)
    return TODAY - YEAR + story.stage.chance.randint(95, 180)


def _mainland(story: Story, ends: dict[Member, int], late: set[Member]) -> None:
    first_day = story.stage.first_day
    imported = {member.staff_number: first_day + timedelta(days=end) for member, end in ends.items()}
    story.at(0, lambda: import_earlier(story.stage, imported, revision=1, day=0))
    for member, end in ends.items():
        for due in (end, end + YEAR):
            if due - 45 < TODAY and not (member in late and due > end):
                _renew(story, member, due - story.stage.chance.randint(6, 24), revision=1, is_open=due > TODAY)


def _renew(story: Story, member: Member, day: int, *, revision: int, is_open: bool = False) -> None:
    """Write one round that ends with a decision on a day; one still open today is left for the screens."""
    if is_open:
        return
    sitting = day - story.stage.chance.randint(4, 12)
    hands = day - story.stage.chance.randint(1, 3)
    story.at(max(sitting, 1), lambda: story.rounds.sitting(member, max(sitting, 1), revision))
    story.at(max(hands, 2), lambda: story.rounds.observed(member, max(hands, 2), revision))
    story.at(max(day, 3), lambda: story.rounds.decided(member, max(day, 3)))


def _island(story: Story) -> None:
    """Skerrandy changes to revision 2: everybody is signed off anew but one."""
    stage = story.stage
    islanders = [one for one in story.members if one.base == "SKE"]
    first_day = stage.first_day
    ends = {one.staff_number: first_day + timedelta(days=stage.chance.randint(310, 360)) for one in islanders}
    story.at(0, lambda: import_earlier(stage, ends, revision=1, day=0))
    lead = educator_of(story.members, "SKE").staff_number
    story.at(REVISION_TWO_COMES, lambda: _put_revision_two(stage, lead))
    taught = {
        one.staff_number: first_day + timedelta(days=REVISION_TWO_COMES + 330)
        for one in assessors_of(story.members, "SKE")
    }
    story.at(REVISION_TWO_COMES, lambda: import_earlier(stage, taught, revision=2, day=REVISION_TWO_COMES))
    story.at(REVISION_ONE_GOES, lambda: _take_revision_one(stage, lead))
    for member in islanders[:-1]:
        if member.staff_number not in taught:
            _renew(story, member, stage.chance.randint(REVISION_TWO_COMES + 16, REVISION_ONE_GOES - 2), revision=2)


def _put_revision_two(stage: Stage, lead: str) -> None:
    with stage.acting(lead, stage.moment(REVISION_TWO_COMES, 8)) as act:
        put_in_service(act, stage.library, base_id=stage.bases["SKE"], profile_code="TV-A", profile_revision=2,
                       from_day=act.today)  # fmt: skip


def _take_revision_one(stage: Stage, lead: str) -> None:
    with stage.acting(lead, stage.moment(REVISION_ONE_GOES, 8)) as act:
        old = act.session.scalars(
            select(DeviceInService).where(
                DeviceInService.base_id == stage.bases["SKE"], DeviceInService.profile_revision == 1
            )
        ).one()
        take_out_of_service(act, device_id=old.id, until_day=act.today)


def _newcomers(story: Story, newcomers: Sequence[Member]) -> None:
    """Three on their way, one of them complete and waiting; one not shown twice; one who works under conditions."""
    ready, halfway, fresh, not_shown, provisional = newcomers
    rounds = story.rounds
    story.at(TODAY - 16, lambda: rounds.sitting(ready, TODAY - 16, 1, wrong=1))
    story.at(TODAY - 4, lambda: rounds.observed(ready, TODAY - 4, 1))
    story.at(TODAY - 9, lambda: rounds.sitting(halfway, TODAY - 9, 1, wrong=2))
    story.at(TODAY - 6, lambda: rounds.observed(halfway, TODAY - 6, 1, procedures=("P01", "P02")))
    story.at(TODAY - 3, lambda: rounds.forms.assign(fresh.staff_number, TODAY - 3, 1))
    _not_shown_twice(story, not_shown)
    educator, other = rounds.educator_for(not_shown), educator_of(story.members, "POR")
    story.at(TODAY - 20, lambda: path_after_twice(story.stage, educator, other, not_shown, day=TODAY - 20))
    story.at(TODAY - 40, lambda: newcomers_path(
        story.stage, rounds.educator_for(provisional), provisional, day=TODAY - 40))  # fmt: skip


def _not_shown_twice(story: Story, member: Member) -> None:
    rounds = story.rounds
    first = "The bag came after the dials, and the form was below its cut. We look at both together next week."
    second = "Bag first now, well done. The test lung was left out. Another educator plans supervised practice."
    story.at(TODAY - 70, lambda: rounds.sitting(member, TODAY - 70, 1, wrong=9))
    for day, missed, reason in ((TODAY - 66, "b", first), (TODAY - 24, "i", second)):
        story.at(day, lambda d=day, m=missed: rounds.observed(  # type: ignore[misc]
            member, d, 1, procedures=("P06",), missed=(m,), rating=2))  # fmt: skip
        story.at(day + 2, lambda d=day, r=reason: rounds.decided(  # type: ignore[misc]
            member, d + 2, outcome=Outcome.NOT_YET, reason=r))  # fmt: skip


def _posts(story: Story) -> None:
    """Roles recognised at the founding are granted again before their year is over."""
    for member in story.members:
        for role in member.roles:
            if role is not Role.TEAM_LEAD:
                base = None if role is Role.EDUCATOR else member.base
                story.at(350, lambda m=member, r=role, b=base: grant(story.stage, m.staff_number, r, b, day=350))  # type: ignore[misc]
    lead = educator_of(story.members, "CAI")
    story.at(350, lambda: grant(story.stage, lead.staff_number, Role.CLINICAL_LEAD, None, day=350))


def _loose_ends(story: Story, order: Sequence[Member], rest: Sequence[Member]) -> None:
    """Today's work: forms given to those who lapse soon, one of them complete and waiting, one on leave."""
    rounds = story.rounds
    for member in order[: len(LAPSING_SOON) - 1]:
        story.at(TODAY - 5, lambda m=member: rounds.forms.assign(m.staff_number, TODAY - 5, 1))  # type: ignore[misc]
    waiting = order[len(LAPSING_SOON) - 1]
    story.at(TODAY - 8, lambda: rounds.sitting(waiting, TODAY - 8, 1, wrong=1))
    story.at(TODAY - 2, lambda: rounds.observed(waiting, TODAY - 2, 1))
    both = [one for one in rest[:-1] if one.base == "CAI"][:4]
    story.at(TODAY - 1, lambda: morning_of_two(story.stage, story.members, both, day=TODAY - 1))
    story.at(TODAY - 1, lambda: log_uses(story.stage, story.members[::2], day=TODAY - 1))
    talks = (
        (order[0], "D01", "222122"),
        (order[1], "D02", "222222"),
        (order[2], "D02", "122212"),
        (order[3], "D01", "22"),
    )
    for hour, (member, code, marks) in enumerate(talks, start=9):
        story.at(TODAY - 7, lambda m=member, c=code, k=marks, h=hour: discuss(  # type: ignore[misc]
            story.stage, rounds.educator_for(m), m, c, k, day=TODAY - 7, hour=h))  # fmt: skip
    away = rest[-1]
    story.at(TODAY - 20, lambda: _pause(story, away))


def _pause(story: Story, member: Member) -> None:
    educator = story.rounds.educator_for(member)
    with story.stage.acting(educator.staff_number, story.stage.moment(TODAY - 20, 12)) as act:
        change = StandingChange(
            kind=StandingEventKind.PAUSED,
            from_day=act.today,
            until_day=act.today + timedelta(days=120),
            reason="On leave; the clock note says so",
        )
        change_standing(act, story.stage.people[member.staff_number], change)
