"""What a new version of the standard changes: in words, and for how many people."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import date, datetime
from zoneinfo import ZoneInfo

from quizapp.assessment.dates import day_in_words
from quizapp.assessment.standard import Requirement, Shortening, Terms, last_day_under
from quizapp.assessment.standing import StandingReport, standing
from quizapp.assessment.standing_record import Outcome, PersonStanding, RequiredCompetency, StandingRecord


def differences(before: Terms | None, after: Terms) -> tuple[str, ...]:
    """Say in sentences what a version asks that the one before did not, and the other way round."""
    if before is None:
        return ("This is the first version.",)
    said = [*_form_changes(before, after)]
    for one in after.requirements:
        earlier = before.requirement(one.competency)
        said += [f"{one.competency} is new: {in_words(one)}."] if earlier is None else _changes(earlier, one)
    gone = [one.competency for one in before.requirements if after.requirement(one.competency) is None]
    said += [f"{code} is no longer asked for." for code in gone]
    return tuple(said) or ("Nothing is asked for that was not asked before.",)


def form_rule_in_words(terms: Terms) -> str:
    """Say the pass rule that forms must keep to count."""
    if not terms.form_questions:
        return "each form's own cut"
    return f"at least {terms.form_questions} questions and a cut of at least {terms.form_cut} of {terms.form_questions}"


def _form_changes(before: Terms, after: Terms) -> Iterator[str]:
    if form_rule_in_words(before) != form_rule_in_words(after):
        yield f"The rule for forms was {form_rule_in_words(before)}; it becomes {form_rule_in_words(after)}."


def in_words(one: Requirement) -> str:
    """Say in one line what is asked for a competency."""
    parts = [_knowledge(one)] if one.needs_knowledge else []
    if one.procedures:
        parts.append(f"{_list(one.procedures)} watched")
    if one.needs_discussion:
        parts.append("a structured discussion")
    if one.minimum_assessors > 1:
        parts.append("from two assessors")
    return f"{', '.join(parts)}; {_grade(one.is_critical)}, valid {_months(one.validity_months)}"


def _knowledge(one: Requirement) -> str:
    many = f" ({one.minimum_questions} questions or more)" if one.minimum_questions > 1 else ""
    return f"knowledge{many}"


def _list(codes: Iterable[str]) -> str:
    *first, last = codes
    return f"{', '.join(first)} and {last}" if first else last


def _grade(is_critical: bool) -> str:
    return "critical" if is_critical else "not critical"


def _months(count: int) -> str:
    return "1 month" if count == 1 else f"{count} months"


def _changes(before: Requirement, after: Requirement) -> list[str]:
    code = after.competency
    said = [f"{code} {sentence}" for sentence in (*_asked(before, after), *_counted(before, after))]
    if after.renew_by is not None:
        said.append(f"{code}: sign-offs given before end on {day_in_words(after.renew_by)} at the latest.")
    elif said:
        said.append(f"{code}: people already signed off keep their dates.")
    return said


def _asked(before: Requirement, after: Requirement) -> Iterator[str]:
    """Say which evidence comes and which goes."""
    new = [one for one in after.procedures if one not in before.procedures]
    gone = [one for one in before.procedures if one not in after.procedures]
    if new:
        yield f"also asks for {_list(new)}."
    if gone:
        yield f"no longer asks for {_list(gone)}."
    for words, was, is_now in (
        ("knowledge", before.needs_knowledge, after.needs_knowledge),
        ("a structured discussion", before.needs_discussion, after.needs_discussion),
    ):
        if was is not is_now:
            yield f"also asks for {words}." if is_now else f"no longer asks for {words}."
    if set(before.observed_here) != set(after.observed_here):
        here = _list(after.observed_here) if after.observed_here else "nothing"
        yield f"asks that {here} be watched here even where outside evidence is recognised."


def _counted(before: Requirement, after: Requirement) -> Iterator[str]:
    """Say what counts differently: how critical, how long, how many."""
    if before.is_critical is not after.is_critical:
        yield f"becomes {_grade(after.is_critical)}; it was {_grade(before.is_critical)}."
    for words, was, is_now in (
        ("a new sign-off holds", before.validity_months, after.validity_months),
        ("evidence may be as old as", before.evidence_holds_months, after.evidence_holds_months),
        ("practice is due after", before.practice_months, after.practice_months),
    ):
        if was != is_now:
            yield f"changes: {words} {_months(is_now)} instead of {was}."
    for words, was, is_now in (
        ("questions at least on it in a sitting", before.minimum_questions, after.minimum_questions),
        ("different assessors at least", before.minimum_assessors, after.minimum_assessors),
    ):
        if was != is_now:
            yield f"changes: {is_now} {words} instead of {was}."


@dataclass(frozen=True, kw_only=True)
class Effect:
    """What putting a version in force does to people on its first day.

    `moves` counts people by (standing before, standing after) where these differ; `shortened` counts people whose
    sign-off in some competency ends earlier than it would, `soonest` is the first such day.
    """

    people: int
    moves: tuple[tuple[PersonStanding, PersonStanding, int], ...]
    shortened: int
    soonest: date | None

    @property
    def sentences(self) -> tuple[str, ...]:
        """The effect as sentences, the gravest first; one sentence where nothing changes for anybody."""
        said = [f"{_people(count)} would go from {before.words} to {after.words} on the first day."
                for before, after, count in self.moves]  # fmt: skip
        if self.shortened and self.soonest is not None:
            said.append(f"For {_people(self.shortened)} a sign-off ends earlier, the first on "
                        f"{day_in_words(self.soonest)}.")  # fmt: skip
        if said:
            return (*said, f"Nothing changes for anybody else of the {self.people} looked at.")
        return (f"Nothing changes for anybody: {_people(self.people)} looked at, all keep their dates.",)


def _people(count: int) -> str:
    return "1 person" if count == 1 else f"{count} people"


def effect_of(
    records: Iterable[StandingRecord], after: Terms, minute_utc: datetime, zone: ZoneInfo
) -> Effect:  # fmt: skip
    """Work out how people would stand under the version after, against how they stand at that minute under their own.

    `records` are those of all clinicians as known now; `minute_utc` lies on the first day of the version.
    """
    required = tuple(RequiredCompetency(code=one.competency, is_critical=one.is_critical) for one in after.requirements)
    shortenings = shortenings_of(after)
    moves: Counter[tuple[PersonStanding, PersonStanding]] = Counter()
    people, ends = 0, []
    for record in records:
        people += 1
        shortened = _shortened(record, shortenings)
        before = standing(record, minute_utc, zone)
        then = standing(replace(shortened, required=required), minute_utc, zone)
        moves[before.standing, then.standing] += before.standing is not then.standing
        ends += _first_shortened(before, standing(shortened, minute_utc, zone))
    return Effect(people=people, moves=_counted_moves(moves), shortened=len(ends), soonest=min(ends, default=None))


def _first_shortened(before: StandingReport, shortened: StandingReport) -> list[date]:
    """Give the first day on which one person's sign-off ends earlier than it would, an empty list for nobody."""
    days = [
        new.last_valid_day
        for old, new in zip(before.rows, shortened.rows, strict=True)
        if new.last_valid_day is not None and old.standing.is_in_date and old.last_valid_day != new.last_valid_day
    ]
    return [min(days)] if days else []


def _counted_moves(
    moves: Counter[tuple[PersonStanding, PersonStanding]],
) -> tuple[tuple[PersonStanding, PersonStanding, int], ...]:
    order = list(PersonStanding)
    counted = [(before, after, count) for (before, after), count in moves.items() if count]
    return tuple(sorted(counted, key=lambda one: (-one[2], order.index(one[0]), order.index(one[1]))))


def shortenings_of(terms: Terms) -> tuple[Shortening, ...]:
    """Give what a version says about sign-offs given before it."""
    return tuple(
        Shortening(competency=one.competency, given_before=terms.starts_on, renew_by=one.renew_by)
        for one in terms.requirements
        if one.renew_by is not None
    )


def _shortened(record: StandingRecord, shortenings: tuple[Shortening, ...]) -> StandingRecord:
    if not shortenings:
        return record
    return replace(
        record,
        decisions=tuple(
            one
            if one.last_valid_day is None or one.outcome is Outcome.NOT_YET
            else replace(
                one, last_valid_day=last_day_under(one.competency, one.valid_from, one.last_valid_day, shortenings)
            )
            for one in record.decisions
        ),
    )
