"""Invented rounds: a person sits the form, shows the procedures, and an educator decides and signs."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from quizapp.assessment.roles import Role
from quizapp.assessment.standing import Outcome
from quizapp.cli.invented.beginning import assessors_of
from quizapp.cli.invented.cast import Member
from quizapp.cli.invented.hands import watch
from quizapp.cli.invented.knowledge import Forms, sit
from quizapp.cli.invented.stage import WORKING_PASSWORD, Stage
from quizapp.services.decision_desk import desk
from quizapp.services.decision_statement import DecisionWanted
from quizapp.services.sign_decision import prepare_decision, sign_decision

PROCEDURES = ("P01", "P02", "P06")
REASONS = (
    "Everything the standard asks for was shown, calmly and in good time.",
    "All parts shown. Speaks clearly to the team; keep that.",
    "All parts shown. We talked about counting the rate over the whole cycle.",
    "Shown in full. Bag first without being told, as it should be.",
)


@dataclass
class Rounds:
    """What a round needs: the stage, everybody, and the forms."""

    stage: Stage
    members: Sequence[Member]
    forms: Forms
    watched: int = field(default=0)

    def sitting(self, member: Member, day: int, revision: int, *, wrong: int | None = None) -> None:
        """Assign the form and let the person sit it the same evening."""
        assessment_id = self.forms.assign(member.staff_number, day, revision)
        missed = self.stage.chance.choice((0, 0, 1, 1, 2)) if wrong is None else wrong
        sit(self.stage, member.staff_number, assessment_id, day, wrong=missed)

    def observed(
        self, member: Member, day: int, revision: int, *, procedures: Sequence[str] = PROCEDURES,
        missed: Sequence[str] = (), rating: int | None = None,
    ) -> None:  # fmt: skip
        """Let an assessor of the base watch the procedures on one day."""
        assessors = [one for one in assessors_of(self.members, member.base) if one.staff_number != member.staff_number]
        self.watched += 1
        assessor = assessors[self.watched % len(assessors)]
        for hour, procedure in enumerate(procedures, start=10):
            watch(
                self.stage, assessor.staff_number, member.staff_number, procedure, revision=revision, day=day,
                hour=hour, missed=missed, rating=rating or self.stage.chance.choice((3, 4, 4, 4, 5)),
            )  # fmt: skip

    def decided(self, member: Member, day: int, *, outcome: Outcome = Outcome.COMPETENT, reason: str = "") -> None:
        """Let an educator decide on everything that is open and complete, or turn what is incomplete down."""
        stage = self.stage
        educator = self.educator_for(member)
        with stage.acting(educator.staff_number, stage.moment(day, 16)) as act:
            before = desk(act, stage.library, stage.people[member.staff_number])
            ready = [one.competency for one in before.readiness if one.may_sign_off]
            open_ones = [one.competency for one in before.readiness if not one.may_sign_off]
            chosen = ready if outcome is Outcome.COMPETENT else open_ones
            wanted = DecisionWanted(outcome=outcome, competencies=chosen, reason=reason or stage.chance.choice(REASONS))
            intent_id = prepare_decision(act, stage.library, before.person.id, wanted)
        with stage.acting(educator.staff_number, stage.moment(day, 16, 3)) as act:
            sign_decision(act, stage.library, intent_id, password=WORKING_PASSWORD)

    def educator_for(self, member: Member) -> Member:
        """Return the educator of the person's base, or another one where that is the person."""
        educators = [one for one in self.members if Role.EDUCATOR in one.roles and one is not member]
        return next((one for one in educators if one.base == member.base), educators[0])
