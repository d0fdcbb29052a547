/* The observation sheet in place: each tap is kept on this device first, shown, then sent. Every button is a form that
   also works without this script, and does again when this device can keep nothing. */

import { End } from "./observation_end.js";
import { fold, limitSeconds } from "./observation_fold.js";
import { deviceOf, fromOtherTab, given as givenBack, keep, newId, nextSequence, refused, Sender, sentBefore, waiting } from "./observation_queue.js";

await givenBack;
const room = document.querySelector("[data-observation]");
const sheet = room.dataset.observation;
const given = JSON.parse(room.dataset.taps);
const events = new Map(given.events.map((event) => [event.event_id, event]));
sentBefore(sheet, new Set(events.keys())).forEach((event) => events.set(event.event_id, event));
const shapes = document.getElementById("mark-shapes").content;
const one = (selector, within = document) => within.querySelector(selector);
const stateLine = one(".under-thumb .state");
const marksOf = () => [...events.values()].filter((event) => event.kind !== "fault").length;
let unwritten = 0, isFirm = true, aheadMs = 0;
let asleep = 0, problem = "", late = 0, wantsToFinish = false, state = fold(events.values());

/* Counts on while the wall clock is set, and catches up after the device slept. */
function steadyMs() { return Math.round(performance.timeOrigin + performance.now() + asleep); }
document.addEventListener("visibilitychange", () => {
  const gap = Date.now() - steadyMs();
  if (!document.hidden && gap > 1000) asleep += gap;
});

const figures = (s) => [s / 60, s % 60].map((n) => String(Math.floor(n)).padStart(2, "0")).join(":");
const words = (mark) => mark.replaceAll("_", " ");
const count = (n, thing) => n + " " + thing + (n === 1 ? "" : "s");
const shape = (name) => one('[data-shape="' + name + '"]', shapes).firstElementChild.cloneNode(true);
function add(name, cls, text = "") {
  const made = document.createElement(name);
  made.className = cls;
  made.textContent = text;
  return made;
}

function recordWords(step, mark) {
  const said = mark ? [mark === "done" && state.times.has(step) ? "done " + figures(state.times.get(step)) : words(mark)] : [];
  return [...said, ...(state.prompted.has(step) ? ["prompted"] : [])].join(", ");
}

function drawStep(row) {
  const step = row.id.slice("step-".length), button = one(".step-main", row), text = one(".step-text", row);
  const mark = state.marks.get(step) || (given.off.includes(step) ? "not_called_for" : "");
  const said = recordWords(step, mark), place = state.performed.indexOf(step);
  for (const element of [row, button]) {
    element.classList.toggle("is-marked", Boolean(mark));
    element.classList.toggle("is-off", Boolean(mark) && mark !== "done");
  }
  one(".step-ord", row).textContent = place < 0 ? "" : place + 1;
  button.lastElementChild.replaceWith(mark ? shape(words(mark)) : add("span", "step-slot"));
  text.querySelectorAll(":scope > .off-screen").forEach((old) => old.remove());
  if (!mark) one(".step-text-t", text).after(add("span", "off-screen", ", not marked yet"));
  let meta = one(".step-meta", text);
  if (!meta && said) text.append(meta = add("span", "step-meta"));
  if (!meta) return;
  one(".rec", meta)?.remove();
  if (said) meta.append(add("span", "rec", said));
  else if (!meta.childElementCount) meta.remove();
}

function drawNotes() {
  const list = one("[data-notes]");
  list.replaceChildren(...state.notes.map((note) => add("li", "", (note.step ? note.step + ": " : "") + note.text)));
}

function drawClock() {
  const ran = state.start && (state.start.device_id === deviceOf(sheet) ? steadyMs() - state.start.elapsed_ms : Date.now() - Date.parse(state.start.device_time));
  one(".clock").textContent = figures(Math.max(0, state.stopped ?? (ran ?? 0) / 1000));
}

function drawWatch() {
  const side = one(".watch-side"), seconds = given.limit ? limitSeconds(given.limit, state.times) : null;
  let said = ["", ""];
  if (state.stop) said = ["Stopped", "Marks made now carry no time. Undo the stop to go on."];
  else if (seconds !== null) said = [Math.round(seconds) + " s", given.limit.text];
  else if (!state.start) said = ["Not started", "Start the clock when the scenario starts; marks made before carry no time."];
  side.replaceChildren(add("strong", "", said[0]), said[1]);
}

function newestWords(event) {
  const said = { mark: event.mark && words(event.mark), prompt: "prompted", move: "moved" }[event.kind];
  if (event.kind === "spot_word") return "their word";
  return said ? event.step + ", " + said : (event.kind + " " + (event.step || "")).trim();
}

function drawThumb() {
  const undo = one('[data-tap-form="undo"]'), start = one('[data-tap-form="start"]'), stop = one('[data-tap-form="stop"]');
  undo.hidden = !state.newest;
  if (state.newest) {
    undo.elements.undoes.value = state.newest.event_id;
    one("[data-undo-words]").textContent = newestWords(state.newest);
  }
  start.hidden = Boolean(state.start);
  one("button", start).classList.toggle("pen", !state.start);
  one("button", stop).classList.toggle("pen", Boolean(state.start));
}

const PROBLEMS = {
  "offline": "Kept on this device, waiting for a connection. Nothing is lost.",
  "signed out": "Kept on this device. You are signed out: sign in again in another tab, then come back here.",
  "not yours": "Kept on this device. The service does not take them from this sign-in: sign in as the sheet's assessor.",
  "": "On the way to the service.",
};
/* A clock that is off changes no time on the sheet, and is said all the same. */
function clockWords() {
  const minutes = Math.round(Math.abs(aheadMs) / 60000), way = aheadMs > 0 ? "ahead of" : "behind";
  if (minutes < 3) return "";
  const much = minutes < 90 ? minutes + " minutes" : minutes < 2880 ? Math.round(minutes / 60) + " hours" : Math.round(minutes / 1440) + " days";
  return " The clock of this device is " + much + " " + way + " the service; times on this sheet count from your start and stay right.";
}
function stateWords() {
  const left = waiting(sheet).length, bad = refused(sheet).length;
  const more = (bad ? " " + count(bad, "mark") + " could not be read and did not count." : "") +
    (late ? " The sheet is locked: " + count(late, "mark") + " came too late and " + (late === 1 ? "was" : "were") + " kept apart." : "") + clockWords();
  const firm = isFirm ? "" : " Leave this page open until they are sent: a browser that is killed may lose them here.";
  const then = wantsToFinish ? " Press Finish again once they are sent." : "";
  if (left) return count(left, "mark") + " not sent yet. " + PROBLEMS[problem] + firm + then + more;
  return count(marksOf(), "mark") + (marksOf() === 1 ? " is" : " are") + " kept by the service." + more;
}
/* Nothing is called kept before it is on the disk. */
function drawState() {
  if (unwritten) return;
  const said = stateWords(), shown = one(".said", stateLine), line = shown.lastElementChild;
  shown.firstElementChild.replaceWith(shape(waiting(sheet).length ? "waiting" : "sent"));
  if (line.textContent !== said) line.textContent = said;
}

function draw() {
  waiting(sheet).forEach((event) => events.set(event.event_id, event));
  refused(sheet).forEach((id) => events.delete(id));
  state = fold(events.values());
  document.querySelectorAll(".steps > li").forEach(drawStep);
  [drawNotes, drawClock, drawWatch, drawThumb, drawState].forEach((part) => part());
  end.draw(state, [...events.values()], waiting(sheet));
}

const sender = new Sender(sheet, room.dataset.eventsUrl, (news) => {
  news.sent.forEach((event) => events.set(event.event_id, event));
  late += news.late;
  problem = news.problem;
  aheadMs = news.aheadMs;
  draw();
});

/* Keeps one tap; false when this device can keep nothing, so that the form is sent as it is. */
function tap(kind, said = {}) {
  let written;
  try {
    written = keep(sheet, {
      event_id: newId(), device_id: deviceOf(sheet), sequence: nextSequence(sheet),
      device_time: new Date().toISOString(), elapsed_ms: steadyMs(), kind, ...said,
    });
  } catch {
    return false;
  }
  unwritten += 1;
  written.catch(() => { isFirm = false; }).finally(() => { unwritten -= 1; drawState(); });
  draw();
  sender.send();
  return true;
}

/* A second tap on a step that is done already says nothing new. */
function tapMark(step, mark) { return state.marks.get(step) === mark || tap("mark", { step, mark }); }

const end = new End(tap);
const noteForm = one("[data-note-form]");
function openNote(step) {
  noteForm.elements.step.value = step;
  one("label", noteForm).textContent = step ? "Note on step " + step : "Note on the whole";
  noteForm.elements.text.focus();
  return true;
}
function keepNote() {
  const text = noteForm.elements.text.value.trim(), step = noteForm.elements.step.value;
  if (!text) { noteForm.elements.text.focus(); return true; }
  if (!tap("note", step ? { step, text } : { text })) return false;
  noteForm.elements.text.value = "";
  if (step) one("#step-" + step + " .step-main").focus();
  noteForm.elements.step.value = "";
  one("label", noteForm).textContent = "Note on the whole";
  return true;
}

async function finish() {
  wantsToFinish = true;
  if (!state.stop && state.start) tap("stop");
  if (await sender.send() && !waiting(sheet).length) location.assign(room.dataset.finishUrl);
  else if (end.open()) draw();
  else drawState();
}

function pressed(form, button) {
  if (form.matches("[data-mark-form]")) {
    const step = form.elements.step.value, mark = button.value;
    if (mark === "note") return openNote(step);
    const taken = mark === "prompted" ? state.prompted.has(step) || tap("prompt", { step }) : tapMark(step, mark);
    const box = form.closest("li").querySelector(".four"), opener = form.closest("li").querySelector("[data-opens]");
    if (taken && form === box && mark !== "prompted") { box.hidden = true; opener.setAttribute("aria-expanded", "false"); opener.focus(); }
    return taken;
  }
  if (form === noteForm) return keepNote();
  if (form === end.form) return end.keep();
  if (form === end.faults) return end.report();
  if (form.dataset.tapForm === "undo") return tap("undo", { undoes: form.elements.undoes.value });
  if (form.dataset.tapForm === "start") return Boolean(state.start) || tap("start");
  if (form.dataset.tapForm === "stop") { finish(); return true; }
  return false;
}

document.addEventListener("submit", (event) => {
  if (pressed(event.target, event.submitter || event.target.querySelector("button"))) event.preventDefault();
});
addEventListener("storage", (change) => {
  const news = fromOtherTab(sheet, change);
  if (!news) return;
  events.set(news.event.event_id, news.event);
  draw();
});
setInterval(drawClock, 500);
draw();
sender.send();
