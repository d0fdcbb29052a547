/* Marks kept on this device until the service has them. One storage entry for each mark, so that two tabs never
   overwrite each other; an entry goes only when the service says what became of it. A journal holds the same on the
   disk and gives back what a killed browser lost. */

import { everything, put, remove } from "./observation_journal.js";

const PREFIX = "observation/";
const BATCH = 100;
const FIRST_WAIT_MS = 2000;
const LONGEST_WAIT_MS = 30000;
const KEPT_MS = 36 * 3600 * 1000;
const JOURNAL_PATIENCE_MS = 3000;

function place(sheet, name) { return PREFIX + sheet + "/" + name; }
function keysOf(sheet, part) {
  const start = place(sheet, part);
  return Object.keys(localStorage).filter((key) => key.startsWith(start));
}

export function newId(bytes = 16) {
  return Array.from(crypto.getRandomValues(new Uint8Array(bytes)), (n) => n.toString(16).padStart(2, "0")).join("");
}

/* A device's name begins with the time it was made, so that a device taken up later sorts later. */
export function deviceOf(sheet) {
  const key = place(sheet, "device");
  let name = localStorage.getItem(key);
  if (!name) {
    name = Date.now().toString(16).padStart(12, "0") + "-" + newId(6);
    localStorage.setItem(key, name);
  }
  return name;
}

/* Running numbers follow the clock, and never go back when the clock does. */
export function nextSequence(sheet) {
  const key = place(sheet, "last");
  const next = Math.max(Number(localStorage.getItem(key) || 0) + 1, Date.now());
  localStorage.setItem(key, String(next));
  return next;
}

/* Whose this page is; a mark belongs to whoever was signed in when it was made, and nobody else sends it. */
export const pageOwner = document.documentElement.dataset.owner || "";
export function ownerOf(sheet) { return localStorage.getItem(place(sheet, "owner")) || pageOwner; }
function isOwn(sheet) { return ownerOf(sheet) === pageOwner; }

/* Throws where nothing more can be kept; the promise says when the mark is on the disk, or fails where it cannot be. */
export function keep(sheet, event) {
  if (!localStorage.getItem(place(sheet, "owner"))) localStorage.setItem(place(sheet, "owner"), pageOwner);
  localStorage.setItem(place(sheet, "mark/" + event.event_id), JSON.stringify(event));
  return put({ id: event.event_id, sheet, owner: ownerOf(sheet), event, sent: 0 });
}

/* What the journal has and the plain storage lost. A mark the service has already may come back: sent again it is known. */
async function giveBack() {
  const entries = await everything();
  const stale = entries.filter((entry) => entry.sent && Date.now() - entry.sent > KEPT_MS);
  for (const { id, sheet, owner, event, sent } of entries.filter((entry) => !stale.includes(entry))) {
    const key = place(sheet, (sent ? "sent/" : "mark/") + id);
    const isKnown = [key, place(sheet, "sent/" + id), place(sheet, "refused/" + id)].some((one) => localStorage.getItem(one));
    if (isKnown) continue;
    localStorage.setItem(key, JSON.stringify(sent ? { at: sent, event } : event));
    if (!localStorage.getItem(place(sheet, "owner"))) localStorage.setItem(place(sheet, "owner"), owner);
    if (!localStorage.getItem(place(sheet, "device"))) localStorage.setItem(place(sheet, "device"), event.device_id);
    const last = Math.max(Number(localStorage.getItem(place(sheet, "last")) || 0), event.sequence);
    localStorage.setItem(place(sheet, "last"), String(last));
  }
  await remove(stale.map((entry) => entry.id));
}
/* Wait for this before reading what waits. */
export const given = Promise.race([
  giveBack().catch(() => {}), new Promise((resolve) => setTimeout(resolve, JOURNAL_PATIENCE_MS)),
]);

/* An entry that cannot be read any more never stands in the way of the others. */
function read(key) {
  try { return JSON.parse(localStorage.getItem(key) || "null"); } catch { return null; }
}

export function waiting(sheet) {
  const events = keysOf(sheet, "mark/").map(read);
  return events.filter(Boolean).sort((a, b) => a.sequence - b.sequence);
}

/* Ids of marks the service could not read; they do not count and are not sent again. */
export function refused(sheet) { return keysOf(sheet, "refused/").map((key) => key.split("/").at(-1)); }

/* What another tab of this sheet kept or handed over: {event, sent}, or null for anything else. */
export function fromOtherTab(sheet, change) {
  if (!change.key || !change.key.startsWith(place(sheet, "mark/"))) return null;
  const text = change.newValue || change.oldValue;
  return text ? { event: JSON.parse(text), sent: !change.newValue } : null;
}

export function sheetsWaiting() {
  const found = Object.keys(localStorage).filter((key) => key.startsWith(PREFIX) && key.includes("/mark/"));
  return [...new Set(found.map((key) => key.split("/")[1]))];
}
export function ownSheetsWaiting() { return sheetsWaiting().filter(isOwn); }
export function waitingOfOwner(owner) {
  return sheetsWaiting().filter((sheet) => ownerOf(sheet) === owner).reduce((sum, sheet) => sum + waiting(sheet).length, 0);
}

/* Marks the service has, for a page that was kept on this device before they were made. */
export function sentBefore(sheet, givenIds) {
  const found = keysOf(sheet, "sent/").map((key) => [key, read(key)]);
  const isStale = ([key, kept]) => !kept || givenIds.has(key.split("/").at(-1)) || Date.now() - kept.at > KEPT_MS;
  const stale = found.filter(isStale).map(([key]) => key);
  stale.forEach((key) => localStorage.removeItem(key));
  remove(stale.map((key) => key.split("/").at(-1))).catch(() => {});
  return found.filter((one) => !isStale(one)).map(([, kept]) => kept.event);
}
export async function forgetSent(isWhose) {
  const keys = Object.keys(localStorage).filter((key) => key.startsWith(PREFIX) && key.includes("/sent/"));
  const own = keys.filter((key) => isWhose(ownerOf(key.split("/")[1])));
  own.forEach((key) => localStorage.removeItem(key));
  try {
    const entries = await everything();
    await remove(entries.filter((entry) => entry.sent && isWhose(entry.owner)).map((entry) => entry.id));
  } catch { /* No journal on this device: then nothing is kept there either. */ }
}

function settle(sheet, event, outcome) {
  if (outcome.taken === "refused") localStorage.setItem(place(sheet, "refused/" + event.event_id), outcome.message);
  localStorage.removeItem(place(sheet, "mark/" + event.event_id));
  const counts = outcome.taken === "saved" || outcome.taken === "known";
  const journal = counts ? put({ id: event.event_id, sheet, owner: ownerOf(sheet), event, sent: Date.now() }) : remove([event.event_id]);
  journal.catch(() => {});
  if (!counts) return;
  try {
    localStorage.setItem(place(sheet, "sent/" + event.event_id), JSON.stringify({ at: Date.now(), event }));
  } catch { /* A full device: the service has the mark, only an older copy of the page would not show it. */ }
}

export class Refusal extends Error {}

async function asJson(answer) {
  const isJson = (answer.headers.get("Content-Type") || "").startsWith("application/json");
  if (answer.ok && isJson) return answer.json();
  if (answer.redirected || answer.status === 401) throw new Refusal("signed out");
  if (answer.status === 404 || answer.status === 403) throw new Refusal("not yours");
  throw new Error("answer " + answer.status);
}

const ASK = { headers: { Accept: "application/json" }, credentials: "same-origin", cache: "no-store" };

/* The key against foreign posts belongs to a sign-in; asking for it each time also says who is signed in now, and by how
   much the clock of this device is ahead of the service's. */
async function askFirst(url, owner) {
  const answer = await asJson(await fetch(url, ASK));
  if (answer.owner !== owner) throw new Refusal("not yours");
  return { key: answer.csrf_token, aheadMs: Date.now() - Date.parse(answer.now) };
}

function post(url, events, key) {
  const headers = { ...ASK.headers, "Content-Type": "application/json", "X-CSRFToken": key };
  return fetch(url, { ...ASK, method: "POST", headers, body: JSON.stringify({ events }) });
}

/* Sends what waits for one sheet, in order, and again later when it could not. `tell` is called after each change
   with {waiting, sent, late, problem, aheadMs}; problem is "", "offline", "signed out" or "not yours". */
export class Sender {
  constructor(sheet, url, tell) {
    Object.assign(this, { sheet, url, tell, wait: FIRST_WAIT_MS, timer: 0, running: null, aheadMs: 0 });
    addEventListener("online", () => this.send());
    addEventListener("focus", () => this.send());
  }

  send() {
    clearTimeout(this.timer);
    if (!this.running) this.running = this.sendAll().finally(() => { this.running = null; });
    return this.running;
  }

  async sendBatch(events) {
    if (!isOwn(this.sheet)) throw new Refusal("not yours");
    const first = await askFirst(this.url, ownerOf(this.sheet));
    this.aheadMs = first.aheadMs;
    return asJson(await post(this.url, events, first.key));
  }

  async sendAll() {
    try {
      for (let batch = waiting(this.sheet).slice(0, BATCH); batch.length; batch = waiting(this.sheet).slice(0, BATCH)) {
        const { outcomes } = await this.sendBatch(batch);
        batch.forEach((event, index) => settle(this.sheet, event, outcomes[index]));
        const late = outcomes.filter((outcome) => outcome.taken === "late").length;
        const sent = batch.filter((_, index) => outcomes[index].taken !== "refused");
        this.tell({ waiting: waiting(this.sheet).length, sent, late, problem: "", aheadMs: this.aheadMs });
      }
      this.wait = FIRST_WAIT_MS;
      return true;
    } catch (error) {
      const problem = error instanceof Refusal ? error.message : "offline";
      this.tell({ waiting: waiting(this.sheet).length, sent: [], late: 0, problem, aheadMs: this.aheadMs });
      this.timer = setTimeout(() => this.send(), this.wait);
      this.wait = Math.min(this.wait * 2, LONGEST_WAIT_MS);
      return false;
    }
  }
}
