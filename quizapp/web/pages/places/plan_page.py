"""What the pages of a plan show, laid out for their templates."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any

from quizapp.assessment.dates import day_in_words
from quizapp.assessment.place_fallbacks import PlanFigures, is_likely_no_show
from quizapp.assessment.place_mends import Mend, MendKind, Unmet, WhyNot
from quizapp.services.place_plans import MoveShown, PlanShown
from quizapp.services.seats import DayAround
from quizapp.web.filters import in_hundred, short_day

OUT = "out"


@dataclass(frozen=True, kw_only=True)
class PlanPage:
    """The finding, who sits where by day, who has no place in time and why, and what the plan comes to."""

    finding: str
    lede: str
    days: list[dict[str, Any]]
    unmet: list[dict[str, Any]]
    figures: list[tuple[str, str]]
    impossible: list[tuple[str, str]]
    may_publish: bool


def laid_out(shown: PlanShown) -> PlanPage:
    """Lay out a plan."""
    names = {person_id: person.name for person_id, person in shown.inputs.persons.items()}
    return PlanPage(
        finding=_finding(shown),
        lede=_lede(shown),
        days=[_day(shown, one) for one in shown.inputs.days.values() if _people_of(shown, one.day.id)],
        unmet=[_unmet(shown, one) for one in shown.unmet],
        figures=_figures(shown),
        impossible=[(names[person_id], why) for person_id, why in shown.impossible.items()],
        may_publish=shown.published_at is None and bool(shown.plan.placements) and not shown.impossible,
    )


def _finding(shown: PlanShown) -> str:
    placed, without = len(shown.plan.placements), len(shown.unmet)
    if not shown.inputs.people:
        return "Nobody needs a place now."
    get = "1 person gets" if placed == 1 else f"{placed} people get"
    if not without:
        return f"{get} a place, everybody in time."
    return f"{get} a place; {without} {'has' if without == 1 else 'have'} none in time."


def _lede(shown: PlanShown) -> str:
    if shown.published_at is not None:
        return "This plan is published: its places are booked, and their people were told."
    holding = f" {shown.inputs.holding} more hold a place already." if shown.inputs.holding else ""
    return f"Earliest due first. Nothing is booked and nobody is told until you publish it.{holding}"


def _people_of(shown: PlanShown, day_id: str) -> list[str]:
    return [one.person_id for one in (*shown.plan.placements, *shown.fallbacks) if one.session_id == day_id]


def day_title(around: DayAround, base_names: dict[str, str]) -> str:
    """Say a day as a heading."""
    day = around.day
    return f"{day_in_words(day.held_on)}, {base_names[day.base_id]}"


def _day(shown: PlanShown, around: DayAround) -> dict[str, Any]:
    day = around.day
    rows = [_row(shown, one.person_id, is_late=one.is_late, is_fallback=False) for one in shown.plan.placements
            if one.session_id == day.id]  # fmt: skip
    rows += [_row(shown, one.person_id, is_late=False, is_fallback=True) for one in shown.fallbacks
             if one.session_id == day.id]  # fmt: skip
    return {
        "id": day.id,
        "title": day_title(around, shown.inputs.base_names),
        "note": f"{day.starts_at} to {day.ends_at}. {around.taken + len(rows)} of {day.capacity} places taken then.",
        "rows": rows,
    }


def _row(shown: PlanShown, person_id: str, *, is_late: bool, is_fallback: bool) -> dict[str, Any]:
    person, need = shown.inputs.persons[person_id], shown.inputs.needs[person_id]
    due = next(one for one in shown.inputs.people if one.person_id == person_id)
    notes = []
    if is_fallback:
        notes.append("second place, in case the first is missed")
    elif is_likely_no_show(due):
        notes.append("has missed a place before")
    if is_late:
        notes.append("after the last valid day")
    return {
        "id": person_id,
        "name": person.name,
        "base": shown.inputs.base_names[person.base_id],
        "due": due_words(need.due),
        "what": ", ".join(need.competencies),
        "note": "; ".join(notes),
        "may_move": not is_fallback and shown.published_at is None,
    }


def due_words(due: date | None) -> str:
    """Say by when somebody needs a place."""
    return "not signed off yet" if due is None else short_day(due)


WHY = {
    WhyNot.NO_DAY: "No session day comes in time.",
    WhyNot.AWAY: "On shift or away on every day in time.",
    WhyNot.NOT_REACHED: "No day in time can be reached from this base.",
    WhyNot.NO_ASSESSOR: "Nobody who will be current watches on the days in time.",
    WhyNot.OWN_ASSESSOR: "Watches on those days, and nobody is watched by themselves.",
    WhyNot.FULL: "Every place in time goes to people who are due as soon or sooner.",
}


def _unmet(shown: PlanShown, one: Unmet) -> dict[str, Any]:
    person = shown.inputs.persons[one.person_id]
    return {
        "id": one.person_id,
        "name": person.name,
        "base": shown.inputs.base_names[person.base_id],
        "due": due_words(one.due),
        "why": WHY[one.why],
        "mend": mend_words(shown, one.mend),
        "is_placed": one.placed_late,
    }


def mend_words(shown: PlanShown, mend: Mend) -> str:
    """Say the smallest thing that would make a place possible."""
    base = shown.inputs.base_names[mend.base_id]
    around = shown.inputs.days.get(mend.session_id)
    by = f"by {short_day(mend.by_day)}" if mend.by_day else "soon"
    if mend.kind is MendKind.NEW_DAY:
        return f"A session day at {base} {by}."
    if around is None:
        return f"One more place on that new day at {base}."
    on = f"{short_day(around.day.held_on)} at {base}"
    return {
        MendKind.ONE_MORE_PLACE: f"One more place on {on}.",
        MendKind.REACH: f"Let them travel to {on}.",
        MendKind.ANOTHER_ASSESSOR: f"Another assessor on {on}.",
    }[mend.kind]


def _figures(shown: PlanShown) -> list[tuple[str, str]]:
    before, after = shown.without_fallback, shown.figures
    rows = [
        ("In time", str(after.in_time)),
        ("After the last valid day", str(after.late)),
        ("Travelling to another base", str(after.travelling)),
        ("With a second place", str(after.with_fallback)),
    ]
    if before.in_time:
        rows.append(("All in time succeed, first places alone", in_hundred(before.all_succeed_fraction)))
        rows.append(("All in time succeed, with the second places", in_hundred(after.all_succeed_fraction)))
    return rows


@dataclass(frozen=True, kw_only=True)
class MovePage:
    """One person to be moved: the days with what stands in the way, and the effect of the one looked at."""

    finding: str
    context: str
    choices: list[dict[str, Any]]
    effect: list[tuple[str, str, str]]
    warning: str
    may_save: bool


def laid_out_move(shown: PlanShown, move: MoveShown, to: str | None) -> MovePage:
    """Lay out a move."""
    person = shown.inputs.persons[move.person.person_id]
    days = shown.inputs.days
    choices = [
        {
            "value": day_id,
            "words": day_title(days[day_id], shown.inputs.base_names),
            "closed": "" if day_id == move.now_on else why,
        }
        for day_id, why in move.why_not.items()
    ]
    choices.append({"value": OUT, "words": "No place in this plan", "closed": ""})
    now = f"now on {short_day(days[move.now_on].day.held_on)}" if move.now_on in days else "without a place now"
    is_possible = to is not None and (to == OUT or move.why_not.get(to) == "")
    return MovePage(
        finding=f"Move {person.name}, {now}.",
        context=f"Due: {due_words(move.person.due)}",
        choices=choices,
        effect=_effect(move.before, move.after) if move.after is not None else [],
        warning=f"{person.name} would then come after the last valid day." if move.becomes_late else "",
        may_save=is_possible and to != move.now_on,
    )


def _effect(before: PlanFigures, after: PlanFigures) -> list[tuple[str, str, str]]:
    return [
        ("In time", str(before.in_time), str(after.in_time)),
        ("After the last valid day", str(before.late), str(after.late)),
        ("Travelling to another base", str(before.travelling), str(after.travelling)),
        ("With a second place", str(before.with_fallback), str(after.with_fallback)),
        ("All in time succeed", in_hundred(before.all_succeed_fraction), in_hundred(after.all_succeed_fraction)),
    ]
