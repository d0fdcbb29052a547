"""Invented sittings: assessments a quarter at a time, answered mostly right, sometimes by a known wrong idea."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import timedelta
from decimal import Decimal

from quizapp.assessment.families import Danger
from quizapp.assessment.questions import Blank, Question
from quizapp.cli.invented.stage import Stage
from quizapp.services.assign_assessment import assign_assessment
from quizapp.services.compose_assessment import Composition, Part, compose_assessment
from quizapp.services.record_answer import Response, option_token, record_answer
from quizapp.services.sittings_of import AskedQuestion, asked_questions
from quizapp.services.start_sitting import start_sitting
from quizapp.services.submit_sitting import submit_sitting
from quizapp.store.sittings import Sitting

QUESTIONS = {"C1": 1, "C2": 1, "C3": 2, "C4": 2, "C5": 2, "C6": 2, "C7": 1, "C8": 2, "C9": 2, "C10": 1}
SHARE_TO_PASS = 0.8
DAYS_A_QUARTER = 91


@dataclass
class Forms:
    """The assessments composed so far, by quarter and device revision."""

    stage: Stage
    composer: str
    ids: dict[tuple[int, int], str] = field(default_factory=dict)

    def form(self, day: int, revision: int) -> str:
        """Return the form of the quarter a day lies in, composed on its first use."""
        key = (day // DAYS_A_QUARTER, revision)
        if key not in self.ids:
            self.ids[key] = self._compose(day, revision)
        return self.ids[key]

    def assign(self, staff_number: str, day: int, revision: int, *, due_in_days: int = 30) -> str:
        """Give the quarter's form to one person on a day."""
        assessment_id = self.form(day, revision)
        due = self.stage.first_day + timedelta(days=day + due_in_days)
        with self.stage.acting(self.composer, self.stage.moment(day, 8, 30)) as act:
            assign_assessment(act, assessment_id, person_ids=[self.stage.people[staff_number]], due_on=due)
        return assessment_id

    def _compose(self, day: int, revision: int) -> str:
        stage = self.stage
        profile = stage.library.profile("TV-A", revision)
        parts = [
            Part(competency=code, question_count=count)
            for code, count in QUESTIONS.items()
            if any(family.counts_for_sign_off for family in stage.library.families_for(profile, code))
        ]
        count = sum(part.question_count for part in parts)
        begun = stage.first_day + timedelta(days=day)
        composition = Composition(
            title=f"Knowledge form, {begun:%B %Y}, TV-A revision {revision}",
            parts=parts,
            cut=max(1, round(count * SHARE_TO_PASS)),
            cut_reason="Judged together by the three educators, question by question, in January; eight in ten.",
            profile_code="TV-A",
            profile_revision=revision,
        )
        with stage.acting(self.composer, stage.moment(day, 8)) as act:
            return compose_assessment(act, stage.library, composition)


def sit(stage: Stage, staff_number: str, assessment_id: str, day: int, *, wrong: int, hour: int = 20) -> str:
    """Let a person sit a form in one evening with so many answers wrong; return the sitting's id."""
    with stage.acting(staff_number, stage.moment(day, hour)) as act:
        sitting_id = start_sitting(act, stage.library, assessment_id)
        asked = asked_questions(act, sitting_id)
        seed = act.session.get_one(Sitting, sitting_id).seed
    missed = set(stage.chance.sample([one.position for one in asked], min(wrong, len(asked))))
    moment = stage.moment(day, hour, 1)
    with stage.database.writing() as session:
        for one in asked:
            moment += timedelta(seconds=stage.chance.randint(35, 130))
            response = _response(stage, one, seed, is_wrong=one.position in missed)
            act = stage.act(session, staff_number, moment)
            record_answer(
                act, sitting_id, one.position, response,
                act_key=stage.randomness.secret()[:24], seen_revision=0,
            )  # fmt: skip
        submit_sitting(stage.act(session, staff_number, moment + timedelta(seconds=20)), sitting_id)
    return sitting_id


def _response(stage: Stage, one: AskedQuestion, seed: str, *, is_wrong: bool) -> Response:
    question = one.question
    if question.options:
        options = [option for option in question.options if option.is_key is not is_wrong]
        return Response(option=option_token(seed, one.position, stage.chance.choice(options).name))
    if question.steps:
        return Response(order=_order(question, is_wrong=is_wrong))
    texts = [_text(stage, blank) if is_wrong else blank.key_printed.replace("−", "-") for blank in question.blanks]
    return Response(texts=texts, units=[blank.units[0] for blank in question.blanks])


def _text(stage: Stage, blank: Blank) -> str:
    """Return the number a wrong idea leads to, never one that errs on the dangerous side, else an odd number."""
    ideas = [idea.value for idea in blank.ideas if not _is_dangerous(blank, idea.value) and _fits(idea.value)]
    if ideas:
        return f"{stage.chance.choice(ideas):.1f}"
    step = Decimal("0.6") if blank.danger is Danger.TOO_HIGH else Decimal("1.6")
    return f"{blank.key * step:.1f}"


def _is_dangerous(blank: Blank, value: Decimal) -> bool:
    return (blank.danger is Danger.TOO_HIGH and value > blank.key) or (
        blank.danger is Danger.TOO_LOW and value < blank.key
    )


def _fits(value: Decimal) -> bool:
    return abs(value) < Decimal(100000)


def _order(question: Question, *, is_wrong: bool) -> Sequence[str]:
    placed: list[str] = []
    waiting = list(question.steps)
    while waiting:
        ready = next(step for step in waiting if set(step.after) <= set(placed))
        placed.append(ready.name)
        waiting.remove(ready)
    return placed[::-1] if is_wrong else placed
