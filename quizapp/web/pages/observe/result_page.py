"""What the result of an observation says: the finding first, then why, side by side and never blended."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from quizapp.assessment.observation_rules import Decision, ObservationResult
from quizapp.assessment.observation_state import GlobalRating, StepMark
from quizapp.services.observation_sheet import Sheet
from quizapp.web.pages.observe.sheet_page import MARK_WORDS, clock_figures, limit_line


@dataclass(frozen=True, kw_only=True)
class DoneRow:
    """One step with what was marked; `earlier` and `later` are the steps to go before (None: no such move)."""

    key: str
    text: str
    words: str
    earlier: str | None = None
    later: str | None = None


@dataclass(frozen=True, kw_only=True)
class ResultPage:
    """Everything the page shows beside the sheet itself."""

    finding: str
    done: tuple[DoneRow, ...]
    others: tuple[DoneRow, ...]
    notes: tuple[tuple[str, str], ...]
    limits: tuple[str, ...]
    numbers: tuple[tuple[str, str], ...]
    rating: str
    remarks: tuple[str, ...]


def result_page(sheet: Sheet) -> ResultPage:
    """Lay out the result of a sheet."""
    result, state = sheet.result, sheet.state
    times = dict(state.done_at_s)
    rating = GlobalRating(sheet.global_rating) if sheet.global_rating else None
    return ResultPage(
        finding=finding_of(sheet),
        done=_done_rows(sheet, times),
        others=tuple(_row(sheet, letter, times) for letter, mark in result.marks if mark is not StepMark.DONE),
        notes=tuple((note.step, note.text) for note in state.notes),
        limits=tuple(limit_line(interval) for interval in result.intervals),
        numbers=_numbers(result),
        rating=f"{rating.value}, {rating.anchor}" if rating else "",
        remarks=_remarks(sheet),
    )


def finding_of(sheet: Sheet) -> str:
    """Say the result in one sentence that could be read aloud."""
    about = f"{sheet.procedure.code} {sheet.procedure.title}"
    if sheet.voided_at is not None:
        return f"This sheet about {sheet.person_name}, {about}, was discarded; it is kept and counts for nothing."
    if sheet.result.decision is Decision.SHOWN:
        return f"{sheet.person_name} has shown {about}."
    if sheet.result.decision is Decision.INCOMPLETE:
        return f"{about} with {sheet.person_name} is incomplete: some of it has to be observed again."
    count = len(sheet.result.reasons)
    return f"{sheet.person_name} has not yet shown {about}, for {'one reason' if count == 1 else f'{count} reasons'}."


def marked_finding(sheet: Sheet) -> str:
    """Say before the lock how many steps are marked."""
    unmarked = len(sheet.result.unmarked)
    marked = len(sheet.procedure.steps) - unmarked
    if not unmarked:
        return f"All {marked} steps are marked."
    return f"{marked} steps are marked, {unmarked} {'is' if unmarked == 1 else 'are'} not."


def _done_rows(sheet: Sheet, times: Mapping[str, float]) -> tuple[DoneRow, ...]:
    order = sheet.result.order.performed
    following = [*order[2:], ""]
    return tuple(
        replace(
            _row(sheet, letter, times),
            earlier=order[place - 1] if place else None,
            later=following[place] if place < len(order) - 1 else None,
        )
        for place, letter in enumerate(order)
    )


def _row(sheet: Sheet, letter: str, times: Mapping[str, float]) -> DoneRow:
    mark = dict(sheet.result.marks)[letter]
    words = [MARK_WORDS[mark]]
    if letter in times:
        words.append(clock_figures(times[letter]))
    if letter in sheet.result.prompted:
        words.append("prompted")
    if sheet.procedure.step(letter).critical:
        words.append("critical")
    return DoneRow(key=letter, text=sheet.procedure.step(letter).text, words=", ".join(words))


def _numbers(result: ObservationResult) -> tuple[tuple[str, str], ...]:
    order = result.order
    share = result.non_critical_fraction
    rows = [
        ("Pairs of steps that could be judged", str(len(order.judged))),
        ("Broken", str(order.violations)),
        ("Steps that would have to move", str(order.misplaced)),
    ]
    if order.distance is not None:
        rows.append(("Swaps of neighbours to the nearest order that works", str(order.distance)))
    if share is not None:
        cut = f"{float(100 * result.cut_fraction):g}"
        rows.append(("Non-critical steps shown", f"{float(100 * share):.0f} %, the cut is {cut} %"))
    return tuple(rows)


def _remarks(sheet: Sheet) -> tuple[str, ...]:
    """What a reader has to know before trusting the times and the order."""
    state = sheet.state
    said = []
    if sheet.transcribed_by:
        said.append(
            f"Entered from the paper sheet of {sheet.assessor_name} by {sheet.transcriber_name}. "
            "It counts only when who watched has signed it here."
        )
    if sheet.connection:
        said.append(f"The assessor declared a connection with the person: {sheet.connection}")
    if state.corrected:
        said.append("The assessor took something back or moved a step; the order is as corrected.")
    if len(state.devices) > 1:
        said.append(f"Marks came from {len(state.devices)} devices; each device's marks stand together.")
    if state.conflicting_events:
        said.append("Two different marks came under one id; the first that arrived counts.")
    return tuple(said)
