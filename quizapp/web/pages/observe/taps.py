"""What one button of the sheet means when it is sent as a plain form."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from quizapp.assessment.observation_event_json import MAX_NOTE_CHARACTERS
from quizapp.assessment.observation_events import EventKind
from quizapp.assessment.observation_state import StepMark
from quizapp.errors import BadInput
from quizapp.services.act import Act
from quizapp.services.record_tap import record_tap

PROMPTED = "prompted"
NOTE = "note"


@dataclass(frozen=True, kw_only=True)
class Tap:
    """One button pressed."""

    kind: EventKind
    step: str = ""
    mark: StepMark | None = None
    undoes: str = ""
    before: str = ""
    text: str = ""


def read_tap(sent: Mapping[str, str]) -> Tap | None:
    """Return what was pressed; None for "note", which only opens the entry for it. Raises BadInput for nonsense."""
    step, pressed = sent.get("step", ""), sent.get("mark", "")
    if pressed == NOTE:
        return None
    if pressed == PROMPTED:
        return Tap(kind=EventKind.PROMPT, step=step)
    if pressed:
        return Tap(kind=EventKind.MARK, step=step, mark=_mark(pressed))
    kind = sent.get("kind", "")
    if kind == EventKind.NOTE:
        return Tap(kind=EventKind.NOTE, step=step, text=_text(sent.get("text", "")))
    if kind in set(EventKind):
        return Tap(kind=EventKind(kind), step=step, undoes=sent.get("undoes", ""), before=sent.get("before", ""))
    raise BadInput("That button is not one of the sheet's. Nothing was marked. Load the sheet again.")


def store(act: Act, observation_id: str, key: str, tap: Tap) -> None:
    """Store one tap under the key of the form it came with."""
    record_tap(
        act,
        observation_id=observation_id,
        key=key,
        kind=tap.kind,
        step=tap.step,
        mark=tap.mark,
        undoes=tap.undoes,
        before=tap.before,
        text=tap.text,
    )


def _mark(pressed: str) -> StepMark:
    if pressed in set(StepMark):
        return StepMark(pressed)
    raise BadInput("That is not one of the four marks. Nothing was marked. Load the sheet again.")


def _text(text: str) -> str:
    words = text.replace("\x00", "").strip()
    if not words:
        raise BadInput("The note is empty, so nothing was kept. Write it, then save.", field="text")
    if len(words) > MAX_NOTE_CHARACTERS:
        raise BadInput(f"A note can hold {MAX_NOTE_CHARACTERS} characters; this one has {len(words)}.", field="text")
    return words
