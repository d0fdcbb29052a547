"""Invented hard cases: a path for what was not shown twice, a newcomer's path, discussions, and logged uses."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta

from quizapp.assessment.discussions import DiscussionMark
from quizapp.assessment.fair_paths import PathKind, StepName
from quizapp.assessment.real_use import UseDuration, UseFault, UseOutcome, UseSetting
from quizapp.assessment.sitting_time import ExtraTime
from quizapp.cli.invented.cast import Member
from quizapp.cli.invented.stage import WORKING_PASSWORD, Stage
from quizapp.services.assessor_currency import assessor_currency
from quizapp.services.discussions import DiscussionKept, Said, open_discussion, save_discussion
from quizapp.services.fair_paths import PathWanted, StepWanted, open_path, record_step
from quizapp.services.log_use import UseEntered, log_use
from quizapp.services.sign_discussion import prepare_discussion, sign_discussion
from quizapp.services.sitting_adjustments import AdjustmentWanted, set_adjustment

ANSWERS = (
    "Said all of it in own words, without being asked again.",
    "Began well; the rest came after “what else?”.",
    "Short and right. Named the bag first.",
)
USES = (
    (UseSetting.WINCH, UseDuration.TO_30_MIN, UseOutcome.AS_PLANNED, (), ""),
    (UseSetting.HELICOPTER, UseDuration.TO_60_MIN, UseOutcome.AS_PLANNED, (), ""),
    (UseSetting.ROAD, UseDuration.TO_60_MIN, UseOutcome.TROUBLE_ON_DEVICE, (UseFault.LEAK,),
     "The joint at the filter had worked loose."),
    (UseSetting.BOAT, UseDuration.UNDER_15_MIN, UseOutcome.OVER_TO_BAG, (UseFault.STOPPED,),
     "It stopped in the swell; bag at once, and again at the pier."),
    (UseSetting.ON_FOOT, UseDuration.LONGER, UseOutcome.TROUBLE_ON_DEVICE, (UseFault.OXYGEN,),
     "The second cylinder was at half when we began."),
    (UseSetting.SCENE, UseDuration.UNDER_15_MIN, UseOutcome.DECIDED_AGAINST, (), ""),
    (UseSetting.SMALL_AIRCRAFT, UseDuration.TO_60_MIN, UseOutcome.AS_PLANNED, (), ""),
    (UseSetting.ROAD, UseDuration.TO_30_MIN, UseOutcome.TROUBLE_ON_DEVICE, (UseFault.KINK,),
     "The tube lay under the belt of the stretcher."),
    (UseSetting.SCENE, UseDuration.TO_30_MIN, UseOutcome.AS_PLANNED, (), ""),
)  # fmt: skip


def log_uses(stage: Stage, members: Sequence[Member], *, day: int) -> None:
    """Let some people log a real use each, within the weeks before a day."""
    for number, member in enumerate(members):
        setting, duration, outcome, faults, note = USES[number % len(USES)]
        revision = 2 if member.base == "SKE" else 1
        with stage.acting(member.staff_number, stage.moment(day, 19, number % 60)) as act:
            entered = UseEntered(
                used_on=act.today - timedelta(days=number * 2 % 80),
                device=("TV-A", revision),
                setting=setting,
                duration=duration,
                outcome=outcome,
                faults=faults,
                note=note,
            )
            log_use(act, stage.library, entered)


def discuss(stage: Stage, educator: Member, member: Member, code: str, marks: str, *, day: int, hour: int) -> None:
    """Let an educator hold a discussion and sign it; without marks for all questions it is left open."""
    opened = stage.moment(day, hour)
    with stage.acting(educator.staff_number, opened) as act:
        discussion_id = open_discussion(act, stage.library, person_id=stage.people[member.staff_number], code=code)
    kept = DiscussionKept(
        answers={
            letter: Said(words=ANSWERS[(number + hour) % len(ANSWERS)], mark=DiscussionMark(int(mark)))
            for number, (letter, mark) in enumerate(zip("abcdef", marks, strict=False))
        }
    )
    with stage.acting(educator.staff_number, opened + timedelta(minutes=12)) as act:
        save_discussion(act, stage.library, discussion_id=discussion_id, kept=kept)
    if len(marks) < len(stage.library.discussions[code].questions):
        return
    is_current = assessor_currency(stage.library)
    with stage.acting(educator.staff_number, opened + timedelta(minutes=14)) as act:
        intent_id = prepare_discussion(act, discussion_id=discussion_id, is_current=is_current)
        sign_discussion(act, intent_id=intent_id, password=WORKING_PASSWORD, is_current=is_current)


def newcomers_path(stage: Stage, educator: Member, member: Member, *, day: int) -> None:
    """Open a newcomer's path: works with a current colleague for a hundred days at most."""
    with stage.acting(educator.staff_number, stage.moment(day, 15)) as act:
        wanted = PathWanted(
            kind=PathKind.NEWCOMER,
            about="",
            reason="New from another service. We read the records together; P01 and P06 are watched here first.",
            until_day=act.today + timedelta(days=100),
        )
        open_path(act, person_id=stage.people[member.staff_number], wanted=wanted)


def path_after_twice(stage: Stage, educator: Member, other: Member, member: Member, *, day: int) -> None:
    """Walk the first steps after P06 was not shown twice; the other educator finds out why and sets an adjustment."""
    person_id = stage.people[member.staff_number]
    with stage.acting(educator.staff_number, stage.moment(day, 10)) as act:
        wanted = PathWanted(
            kind=PathKind.NOT_SHOWN_TWICE,
            about="P06",
            reason="Twice P06 was not shown, and we stop here for now. It is no fault of yours that it is hard.",
            until_day=act.today + timedelta(days=90),
        )
        path_id = open_path(act, person_id=person_id, wanted=wanted)
    steps = (
        (educator, StepName.OTHER_EDUCATOR, other, "Handed over in a talk of three; you know each other already."),
        (other, StepName.DIAGNOSIS, None, "The dials came first because the needle moved. We practised looking at the "
         "chest before the dial, ten times, with the test lung hidden."),
        (other, StepName.ADJUSTMENT_ASKED, None, "Asked in private; more time for questions was agreed."),
    )  # fmt: skip
    for number, (who, step, named, words) in enumerate(steps):
        with stage.acting(who.staff_number, stage.moment(day + 2 * number, 14)) as act:
            record_step(act, stage.library, path_id=path_id, wanted=StepWanted(
                step=step, done_on=act.today, words=words,
                named_id=stage.people[named.staff_number] if named else "",
            ))  # fmt: skip
    with stage.acting(other.staff_number, stage.moment(day + 4, 15)) as act:
        more_time = AdjustmentWanted(extra_time=ExtraTime.QUARTER, room="", from_day=act.today, until_day=None)
        set_adjustment(act, person_id=person_id, wanted=more_time)
