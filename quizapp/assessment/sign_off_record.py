"""What a decision on a competency is looked at with: what is required, what was shown, which parts are there."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum

from quizapp.assessment.standing_record import ProfileRevision
from quizapp.assessment.validity import DEFAULT_VALIDITY_MONTHS


class EvidenceKind(StrEnum):
    """Where a piece of evidence comes from; a log of real use is exposure and none of these."""

    SITTING = "sitting"
    OBSERVATION = "observation"
    DISCUSSION = "discussion"
    RECOGNISED = "recognised"


class EvidenceOutcome(StrEnum):
    """What a piece of evidence shows; incomplete speaks neither for nor against."""

    SHOWN = "shown"
    NOT_SHOWN = "not_shown"
    INCOMPLETE = "incomplete"


class PartKind(StrEnum):
    """A part of what a standard asks for."""

    KNOWLEDGE = "knowledge"
    PROCEDURE = "procedure"
    DISCUSSION = "discussion"
    SECOND_ASSESSOR = "second_assessor"


@dataclass(frozen=True, kw_only=True)
class Requirement:
    """What a standard asks for one competency.

    `procedures` must be observed; those in `observed_here` even where outside evidence is recognised.
    `minimum_questions` is the fewest questions a sitting must ask on the competency to count.
    Evidence older than `validity_months` carries no decision. `minimum_assessors`: from how many people what was
    watched or discussed must come. A form counts where it has at least `form_questions` (0: any) and its cut is, in
    proportion, at least `form_cut` of so many.
    """

    competency: str
    is_critical: bool
    needs_knowledge: bool
    procedures: tuple[str, ...] = ()
    needs_discussion: bool = False
    minimum_questions: int = 1
    validity_months: int = DEFAULT_VALIDITY_MONTHS
    observed_here: frozenset[str] = frozenset()
    minimum_assessors: int = 1
    form_questions: int = 0
    form_cut: int = 0


@dataclass(frozen=True, kw_only=True)
class EvidenceItem:
    """One piece of evidence about one competency.

    `happened_at` orders (aware UTC), `happened_on` is its civil day. `questions` counts those on the competency.
    `is_held_by_danger`: a sitting not shown only because of `dangerous_families`. `families_right` clear dangers.
    `is_redraw`: it only asked such a family again, so it clears and decides nothing itself.
    `last_valid_day` is that of recognised evidence. `is_used`: it carried an earlier sign-off already.
    `form_questions` and `form_cut` are those of the whole form of a sitting (0: not known).
    """

    reference: str
    competency: str
    kind: EvidenceKind
    outcome: EvidenceOutcome
    happened_at: datetime
    happened_on: date
    profile: ProfileRevision | None
    is_content_accepted: bool
    procedure: str | None = None
    assessor_ids: tuple[str, ...] = ()
    questions: int = 0
    is_held_by_danger: bool = False
    dangerous_families: frozenset[str] = frozenset()
    families_right: frozenset[str] = frozenset()
    is_redraw: bool = False
    last_valid_day: date | None = None
    is_used: bool = False
    form_questions: int = 0
    form_cut: int = 0


@dataclass(frozen=True, kw_only=True)
class Part:
    """One part of a requirement: present with the evidence that carries it, or missing and why."""

    kind: PartKind
    procedure: str | None
    is_present: bool
    why: str
    reference: str | None = None
    assessor_ids: tuple[str, ...] = ()

    @property
    def words(self) -> str:
        """The part as people say it: "knowledge", "P06", "a structured discussion"."""
        if self.kind is PartKind.DISCUSSION:
            return "a structured discussion"
        if self.kind is PartKind.SECOND_ASSESSOR:
            return "a second assessor"
        return self.procedure or self.kind.value


@dataclass(frozen=True, kw_only=True)
class CompetencyReadiness:
    """Whether one competency may be signed off: all its parts, one sentence, and who alone carries it.

    `sole_assessor_id` is the person whose observations alone carry the decision, who may then not decide.
    """

    competency: str
    is_critical: bool
    profile: ProfileRevision
    parts: tuple[Part, ...]
    may_sign_off: bool
    sole_assessor_id: str | None
    sentence: str
