/* What the marks of a sheet add up to: the same rules as the service's, so that the sheet says the same without it. */

function rank(a, b) {
  if (a.device_id !== b.device_id) return a.device_id < b.device_id ? -1 : 1;
  return a.sequence - b.sequence || (a.event_id < b.event_id ? -1 : 1);
}

function takenBack(events) {
  const gone = new Set(), known = new Map(events.map((event) => [event.event_id, event]));
  for (const event of [...events].reverse()) {
    if (event.kind !== "undo" || gone.has(event.event_id)) continue;
    const target = known.get(event.undoes);
    if (target && (target.kind !== "undo" || rank(target, event) < 0)) gone.add(target.event_id);
  }
  return gone;
}

function since(start, event) {
  if (!start || !event) return null;
  const steady = start.device_id === event.device_id && start.elapsed_ms != null && event.elapsed_ms != null;
  const ms = steady ? event.elapsed_ms - start.elapsed_ms : Date.parse(event.device_time) - Date.parse(start.device_time);
  return ms < 0 ? null : ms / 1000;
}

function takeMark(state, event) {
  const was = state.marks.get(event.step) === "done", is = event.mark === "done";
  state.marks.set(event.step, event.mark);
  if (is && !was) {
    state.performed.push(event.step);
    state.doneBy.set(event.step, event);
    state.moved.delete(event.step);
  } else if (!is && was) {
    state.performed.splice(state.performed.indexOf(event.step), 1);
  }
}

function takeMove(state, { step, before = "" }) {
  const has = (letter) => state.performed.includes(letter);
  if (!has(step) || before === step || (before && !has(before))) return;
  state.performed.splice(state.performed.indexOf(step), 1);
  state.performed.splice(before ? state.performed.indexOf(before) : state.performed.length, 0, step);
  state.moved.add(step);
}

const CHANGES_WHAT_WAS_SEEN = new Set(["mark", "prompt", "move", "undo"]);

/* events: an iterable of marks, each id once. Returns marks, performed, prompted, notes, times, start, stop, newest,
   rating and spotWord (what the person observed said, unless something was marked after it). */
export function fold(events) {
  const sorted = [...events].sort(rank), gone = takenBack(sorted);
  const state = { marks: new Map(), performed: [], doneBy: new Map(), moved: new Set(), prompted: new Set(), notes: [], spotWord: null, rating: null };
  const kept = sorted.filter((event) => !gone.has(event.event_id) && event.kind !== "fault");
  for (const event of kept) {
    if (CHANGES_WHAT_WAS_SEEN.has(event.kind)) state.spotWord = null;
    if (event.kind === "mark") takeMark(state, event);
    else if (event.kind === "move") takeMove(state, event);
    else if (event.kind === "prompt") state.prompted.add(event.step);
    else if (event.kind === "note") state.notes.push(event);
    else if (event.kind === "rating") state.rating = event.rating;
    else if (event.kind === "spot_word") state.spotWord = event;
    else if (event.kind === "start") state.start = state.start || event;
    else if (event.kind === "stop") state.stop = event;
  }
  const stopped = since(state.start, state.stop);
  const times = new Map();
  for (const step of state.performed) {
    const seconds = since(state.start, state.doneBy.get(step));
    if (!state.moved.has(step) && seconds != null && (stopped == null || seconds <= stopped)) times.set(step, seconds);
  }
  return { ...state, times, stopped, newest: kept.findLast((event) => event.kind !== "undo") || null };
}

/* Seconds of the first time limit once all its steps have a time; null before. */
export function limitSeconds(limit, times) {
  const ends = limit.to.map((step) => times.get(step)), begins = limit.from.map((step) => times.get(step));
  if (ends.some((s) => s === undefined)) return null;
  const known = begins.filter((s) => s !== undefined);
  if (limit.from.length && !known.length) return null;
  return Math.max(0, Math.max(...ends) - (limit.from.length ? Math.min(...known) : 0));
}
