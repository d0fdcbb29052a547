from dataclasses import replace
from datetime import datetime, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from procedure_builder import BEGIN, tap

from quizapp.assessment.observation_events import EventKind, ObservationEvent, observation_state, state_hash
from quizapp.assessment.observation_state import StepMark

KINDS = st.sampled_from([EventKind.MARK] * 4 + list(EventKind))


@st.composite
def taps(draw: st.DrawFn, most: int = 40) -> list[ObservationEvent]:
    """Any sheet: two devices, every kind of tap, undos of anything, clocks that jump."""
    made: list[ObservationEvent] = []
    for number in range(draw(st.integers(1, most))):
        device, kind = draw(st.sampled_from(["phone", "tablet"])), draw(KINDS)
        one = tap(
            number,
            kind,
            device_id=device,
            step=draw(st.sampled_from("abcde")),
            mark=draw(st.sampled_from(StepMark)),
            before=draw(st.sampled_from(["", "a", "b", "c"])),
            undoes=draw(st.sampled_from([event.event_id for event in made] or ["none"])),
            rating=draw(st.integers(1, 5)),
            text=draw(st.sampled_from(["late", "ümlaut"] if kind is EventKind.FAULT else ["", "late", "ümlaut"])),
            seen=draw(st.booleans()),
            lot="L 7",
            device_time=BEGIN + timedelta(seconds=draw(st.integers(-50, 500))),
            elapsed_ms=draw(st.one_of(st.none(), st.integers(0, 500_000))),
        )
        made.append(one)
    return made


@given(taps(), st.data())
def test_any_order_repetition_and_batching_gives_one_state(events: list[ObservationEvent], data: st.DataObject) -> None:
    expected = observation_state(events)
    shuffled = data.draw(st.permutations(events + data.draw(st.lists(st.sampled_from(events), max_size=20))))
    assert observation_state(shuffled) == expected
    assert state_hash(observation_state(shuffled)) == state_hash(expected)
    received: dict[str, ObservationEvent] = {}
    while shuffled:
        size = data.draw(st.integers(1, len(shuffled)))
        batch, shuffled = shuffled[:size], shuffled[size:]
        received |= {event.event_id: event for event in batch}
    assert observation_state(received.values()) == expected


@pytest.mark.soak
@settings(max_examples=10_000, deadline=None)
@given(taps(200), st.randoms(use_true_random=False))
def test_ten_thousand_deliveries_of_long_sheets(events: list[ObservationEvent], draw: object) -> None:
    shuffled = events + events[::3]
    draw.shuffle(shuffled)  # type: ignore[attr-defined]
    assert state_hash(observation_state(shuffled)) == state_hash(observation_state(events))


@given(taps(20), st.data())
def test_one_id_with_two_contents_gives_one_state_and_is_told(
    events: list[ObservationEvent], data: st.DataObject
) -> None:
    victim = data.draw(st.sampled_from(events))
    forged = [replace(victim, text="forged one"), replace(victim, text="forged two")]
    mixed = data.draw(st.permutations(events + forged))
    assert observation_state(mixed) == observation_state(events + forged)
    assert observation_state(mixed).conflicting_events == (victim.event_id,)


def test_the_order_is_that_of_the_device_sequence_not_of_arrival_or_clock() -> None:
    first, second = tap(1, step="a", device_time=BEGIN + timedelta(hours=1)), tap(2, step="b")
    assert observation_state([second, first]).performed == ("a", "b")


def test_the_last_mark_stands_and_a_second_done_moves_nothing() -> None:
    state = observation_state([tap(1, step="a"), tap(2, step="b"), tap(3, step="a")])
    assert state.performed == ("a", "b")
    changed = observation_state([tap(1, step="a"), tap(2, step="b"), tap(3, step="a", mark=StepMark.NOT_SEEN)])
    assert changed.performed == ("b",)
    assert changed.mark_of("a") is StepMark.NOT_SEEN
    assert changed.mark_of("z") is None


def test_a_step_done_again_after_another_mark_takes_its_new_place() -> None:
    events = [tap(1, step="a"), tap(2, step="b"), tap(3, step="a", mark=StepMark.NOT_DONE), tap(4, step="a")]
    assert observation_state(events).performed == ("b", "a")


def test_undo_takes_back_one_tap_whenever_it_arrives() -> None:
    mark = tap(1, step="a")
    undo = tap(2, EventKind.UNDO, undoes=mark.event_id)
    assert observation_state([undo]).performed == ()
    assert observation_state([undo, mark]).performed == ()
    assert observation_state([undo, mark]).corrected
    again = tap(3, EventKind.UNDO, undoes=undo.event_id)
    assert observation_state([again, undo, mark]).performed == ("a",)


def test_undo_gives_back_the_mark_before() -> None:
    second = tap(2, step="a", mark=StepMark.NOT_DONE)
    state = observation_state([tap(1, step="a"), second, tap(3, EventKind.UNDO, undoes=second.event_id)])
    assert state.mark_of("a") is StepMark.DONE


def test_two_undos_of_each_other_do_not_go_round_in_circles() -> None:
    one = tap(1, EventKind.UNDO)
    two = tap(2, EventKind.UNDO, undoes=one.event_id)
    assert observation_state([replace(one, undoes=two.event_id), two]).corrected


def test_prompts_notes_and_the_last_rating_are_kept() -> None:
    state = observation_state(
        [
            tap(1, EventKind.PROMPT, step="b"),
            tap(2, EventKind.PROMPT, step="b"),
            tap(3, EventKind.NOTE, step="b", text="needed a nudge"),
            tap(4, EventKind.RATING, rating=2),
            tap(5, EventKind.RATING, rating=3),
        ]
    )
    assert state.prompted == ("b",)
    assert [(note.step, note.text) for note in state.notes] == [("b", "needed a nudge")]
    assert state.rating == 3
    assert not state.corrected


def test_the_word_on_the_spot_holds_until_something_is_marked_after_it() -> None:
    word = tap(3, EventKind.SPOT_WORD, seen=True, text="Agreed.")
    shown = observation_state([tap(1, step="a"), tap(2, EventKind.RATING, rating=4), word])
    assert shown.spot_word is not None
    assert (shown.rating, shown.spot_word.seen, shown.spot_word.words) == (4, True, "Agreed.")
    still = [tap(4, EventKind.NOTE, text="x"), tap(4, EventKind.STOP), tap(4, EventKind.FAULT, lot="L", text="x")]
    for event in still:
        assert observation_state([tap(1, step="a"), word, event]).spot_word == shown.spot_word
    gone = [tap(4, step="b"), tap(4, EventKind.PROMPT, step="a"), tap(4, EventKind.UNDO, undoes=tap(1).event_id),
            tap(4, EventKind.MOVE, step="a")]  # fmt: skip
    for event in gone:
        assert observation_state([tap(1, step="a"), word, event]).spot_word is None
    assert observation_state([tap(4, step="b"), tap(5, EventKind.SPOT_WORD, seen=False)]).spot_word is not None


def test_a_fault_of_the_device_changes_no_sheet() -> None:
    fault = tap(2, EventKind.FAULT, step="a", lot="L 204", text="No cycling.")
    assert observation_state([tap(1, step="a"), fault]) == observation_state([tap(1, step="a")])


def test_a_step_noticed_late_is_put_where_it_happened_and_loses_its_time() -> None:
    events = [tap(0, EventKind.START), *(tap(at, step=step) for at, step in enumerate("bcda", start=1))]
    moved = observation_state([*events, tap(9, EventKind.MOVE, step="a", before="c")])
    assert moved.performed == ("b", "a", "c", "d")
    assert dict(moved.done_at_s) == {"b": 1.0, "c": 2.0, "d": 3.0}
    assert moved.corrected
    last = observation_state([*events, tap(9, EventKind.MOVE, step="b")])
    assert last.performed == ("c", "d", "a", "b")


@pytest.mark.parametrize(("step", "before"), [("z", "a"), ("a", "z"), ("a", "a")])
def test_a_move_that_makes_no_sense_changes_nothing(step: str, before: str) -> None:
    events = [tap(1, step="a"), tap(2, step="b")]
    assert observation_state([*events, tap(3, EventKind.MOVE, step=step, before=before)]).performed == ("a", "b")


def test_times_run_from_the_start_and_end_with_the_stop() -> None:
    state = observation_state([tap(10, EventKind.START), tap(14, step="a"), tap(20, EventKind.STOP), tap(25, step="b")])
    assert dict(state.done_at_s) == {"a": 4.0}
    assert state.stopped_at_s == 10.0
    assert state.performed == ("a", "b")
    assert (state.started_at, state.stopped_at) == (BEGIN + timedelta(seconds=10), BEGIN + timedelta(seconds=20))


def test_the_steady_clock_wins_over_a_wall_clock_that_jumps() -> None:
    start = tap(1, EventKind.START, elapsed_ms=1_000)
    jumped = tap(2, step="a", device_time=BEGIN - timedelta(hours=1), elapsed_ms=8_500)
    assert dict(observation_state([start, jumped]).done_at_s) == {"a": 7.5}
    without = replace(jumped, elapsed_ms=None)
    assert observation_state([start, without]).done_at_s == ()


def test_without_a_start_there_are_no_times() -> None:
    assert observation_state([tap(1, step="a"), tap(2, EventKind.STOP)]).done_at_s == ()


def test_nothing_yet() -> None:
    assert observation_state([]).performed == ()
    assert observation_state([]).started_at is None


def test_a_time_without_a_zone_is_refused() -> None:
    with pytest.raises(ValueError, match="time zone"):
        tap(1, step="a", device_time=datetime(2027, 3, 14, 9, 30))  # noqa: DTZ001


def test_different_sheets_have_different_hashes() -> None:
    one, two = [tap(1, step="a")], [tap(1, step="b")]
    assert state_hash(observation_state(one)) != state_hash(observation_state(two))
    noted = [*one, tap(2, EventKind.NOTE, text="x")]
    assert state_hash(observation_state(noted)) != state_hash(observation_state(one))
