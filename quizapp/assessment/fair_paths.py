"""The paths of hard cases: which steps the tool proposes, in which order, and when a path is complete.

Suggested paths for a clinical lead to amend. The tool proposes and keeps what people record; it decides nothing.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from types import MappingProxyType

from quizapp.assessment.sign_off_record import EvidenceItem, EvidenceKind, EvidenceOutcome

LONGEST_PATH_MONTHS = 12
TIMES_NOT_SHOWN = 2
WITH_A_COLLEAGUE = "Works with a current colleague until the path is complete"
"""The condition as everybody reads it who reads the standing: never why somebody is on a path."""


class PathKind(StrEnum):
    """Why somebody is on a path."""

    NEWCOMER = "newcomer"
    LOCUM = "locum"
    LONG_LEAVE = "long_leave"
    NOT_SHOWN_TWICE = "not_shown_twice"

    @property
    def words(self) -> str:
        """The kind as people say it."""
        return {
            "newcomer": "new here",
            "locum": "here for a time",
            "long_leave": "back from long leave",
            "not_shown_twice": "not shown twice",
        }[self.value]

    @property
    def restricts(self) -> bool:
        """Whether opening it restricts the person to work with a current colleague; after leave one is already."""
        return self is not PathKind.LONG_LEAVE


class StepName(StrEnum):
    """One thing to do and record on a path."""

    OUTSIDE_EVIDENCE = "outside_evidence"
    OBSERVED_HERE = "observed_here"
    SIGNED_OFF = "signed_off"
    REFRESHER = "refresher"
    QUESTIONS = "questions"
    TWO_OBSERVED = "two_observed"
    SUPERVISED = "supervised"
    OTHER_EDUCATOR = "other_educator"
    DIAGNOSIS = "diagnosis"
    ADJUSTMENT_ASKED = "adjustment_asked"
    UNBIASED_ASSESSOR = "unbiased_assessor"
    LEAD_TOLD = "lead_told"
    OBSERVED_AGAIN = "observed_again"


class Named(StrEnum):
    """Whom a step names."""

    NOBODY = "nobody"
    OTHER_EDUCATOR = "other_educator"
    UNBIASED_ASSESSOR = "unbiased_assessor"
    COLLEAGUE = "colleague"


@dataclass(frozen=True, kw_only=True)
class StepRule:
    """One proposed step: what to do, what to write, whom it names, and about how many minutes it takes."""

    name: StepName
    words: str
    hint: str
    names: Named = Named.NOBODY
    minutes: int = 5
    only_other_educator: bool = False


_EVIDENCE = StepRule(
    name=StepName.OUTSIDE_EVIDENCE,
    words="Read what was shown elsewhere, and say for each competency whether it is recognised",
    hint="What you read, from whom, and until when it held.",
    minutes=20,
)
_HERE = StepRule(
    name=StepName.OBSERVED_HERE,
    words="P01 and P06 watched here, whatever was shown elsewhere: packs and bags differ",
    hint="Who watched, and what was seen.",
    minutes=30,
)
_SIGNED_OFF = StepRule(
    name=StepName.SIGNED_OFF,
    words="Decided here, on the decision desk",
    hint="What was decided; the decision itself is signed on its own page.",
)
_SUPERVISED = StepRule(
    name=StepName.SUPERVISED,
    words="Work and practise with a current colleague",
    hint="With whom, how often, and what was practised.",
    names=Named.COLLEAGUE,
    minutes=60,
)

STEPS: Mapping[PathKind, tuple[StepRule, ...]] = MappingProxyType(
    {
        PathKind.NEWCOMER: (_EVIDENCE, _HERE, _SUPERVISED, _SIGNED_OFF),
        PathKind.LOCUM: (_EVIDENCE, _HERE, _SIGNED_OFF),
        PathKind.LONG_LEAVE: (
            StepRule(
                name=StepName.REFRESHER,
                words="A refresher of twenty minutes: what changed, and the device in the hands",
                hint="What was gone through.",
                minutes=20,
            ),
            StepRule(
                name=StepName.QUESTIONS,
                words="A form of questions, sat after the return",
                hint="Which form, and what it showed.",
                minutes=20,
            ),
            StepRule(
                name=StepName.TWO_OBSERVED,
                words="Two procedures watched after the return",
                hint="Which two, and what was seen.",
                minutes=30,
            ),
            _SUPERVISED,
        ),
        PathKind.NOT_SHOWN_TWICE: (
            StepRule(
                name=StepName.OTHER_EDUCATOR,
                words="Another educator takes over: one who has not decided on this person before",
                hint="What was handed over, in the words you would say to the person.",
                names=Named.OTHER_EDUCATOR,
            ),
            StepRule(
                name=StepName.DIAGNOSIS,
                words="Find out why, together: which wrong idea, which broken dependency",
                hint="What you found together. The person reads this.",
                minutes=30,
                only_other_educator=True,
            ),
            StepRule(
                name=StepName.ADJUSTMENT_ASKED,
                words="Ask, in private, whether an adjustment or rest would help",
                hint="Only that it was asked and what was agreed. Never a diagnosis of health.",
                only_other_educator=True,
            ),
            _SUPERVISED,
            StepRule(
                name=StepName.UNBIASED_ASSESSOR,
                words="Name an assessor who has not seen this person not show it",
                hint="When it is planned.",
                names=Named.UNBIASED_ASSESSOR,
            ),
            StepRule(
                name=StepName.LEAD_TOLD,
                words="Tell the clinical lead the name of the step, and nothing else",
                hint="Who was told, and when.",
            ),
            StepRule(
                name=StepName.OBSERVED_AGAIN,
                words="Watched again by that assessor, or asked again in a new form",
                hint="What was seen. The evidence stands on its own page.",
                minutes=30,
            ),
        ),
    }
)


class PathOutcome(StrEnum):
    """How a path ended."""

    COMPLETE = "complete"
    ENDED = "ended"

    @property
    def words(self) -> str:
        """The outcome as people say it."""
        return "complete" if self is PathOutcome.COMPLETE else "ended before it was complete"


def open_steps(kind: PathKind, done: Collection[StepName]) -> tuple[StepRule, ...]:
    """Give the steps of a path that nobody recorded yet, in the order to try them."""
    return tuple(rule for rule in STEPS[kind] if rule.name not in done)


def step_rule(kind: PathKind, name: StepName) -> StepRule | None:
    """Give the rule of a step on a path, None where the path has no such step."""
    return next((rule for rule in STEPS[kind] if rule.name is name), None)


@dataclass(frozen=True, kw_only=True)
class NotShownTwice:
    """What was not shown twice in a row: what about, how often, when last, and by whose eyes."""

    about: str
    competencies: tuple[str, ...]
    times: int
    last_on: date
    assessor_ids: frozenset[str]


def not_shown_twice(evidence: Iterable[EvidenceItem]) -> tuple[NotShownTwice, ...]:
    """Find what one person did not show at least twice in a row, of the same kind, with nothing shown since.

    Practice, incomplete evidence and single questions asked again count neither way. Evidence of one performance for
    several competencies counts once.
    """
    groups: dict[str, list[EvidenceItem]] = {}
    for item in sorted(evidence, key=lambda one: (one.happened_at, one.reference)):
        speaks = item.outcome is not EvidenceOutcome.INCOMPLETE and item.is_content_accepted and not item.is_redraw
        if speaks and item.kind is not EvidenceKind.RECOGNISED:
            groups.setdefault(_about(item), []).append(item)
    found = [_in_a_row(about, items) for about, items in sorted(groups.items())]
    return tuple(one for one in found if one is not None and one.times >= TIMES_NOT_SHOWN)


def _about(item: EvidenceItem) -> str:
    if item.kind is EvidenceKind.OBSERVATION and item.procedure:
        return item.procedure
    return f"{'questions' if item.kind is EvidenceKind.SITTING else 'discussion'} on {item.competency}"


def _in_a_row(about: str, items: list[EvidenceItem]) -> NotShownTwice | None:
    """Count back from the newest until something was shown; one performance is one moment."""
    tail: list[EvidenceItem] = []
    for item in reversed(items):
        if item.outcome is EvidenceOutcome.SHOWN:
            break
        tail.append(item)
    if not tail:
        return None
    return NotShownTwice(
        about=about,
        competencies=tuple(sorted({one.competency for one in tail}, key=lambda code: (len(code), code))),
        times=len({one.happened_at for one in tail}),
        last_on=tail[0].happened_on,
        assessor_ids=frozenset(person for one in tail for person in one.assessor_ids),
    )
