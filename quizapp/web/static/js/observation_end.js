/* The end of an observation where there is no network: the judgement, the word of the person observed, and a fault of
   the device. Each is kept on this device like any mark, and taken up by the page that locks the sheet. */

const FULL = "This device can keep nothing more, so nothing of this was kept. Write it on paper, or press Finish where there is a network.";

function make(name, words) {
  const made = document.createElement(name);
  made.textContent = words;
  return made;
}

/* tap(kind, said) keeps one tap and says whether it could. */
export class End {
  constructor(tap) {
    this.tap = tap;
    this.form = document.querySelector("[data-end-form]");
    this.faults = document.querySelector("[data-fault-form]");
    this.list = document.querySelector("[data-faults]");
    this.given = new Set([...this.list.children].map((item) => item.dataset.fault));
    this.wasKept = false;
  }

  say(words, role = "status") {
    const line = this.form.querySelector("[data-end-said]");
    line.setAttribute("role", role);
    line.textContent = words;
    return true;
  }

  /* Opens the questions for both people; false where the sheet has none (it was written over from paper). */
  open() {
    if (!this.form) return false;
    this.form.hidden = false;
    this.form.querySelector("h2").focus();
    this.form.scrollIntoView({ block: "start" });
    return true;
  }

  keep() {
    const { global_rating: rating, confirmed, person_comment: words } = this.form.elements;
    if (!rating.value) return this.say("Choose one of the five ratings. Nothing of this was kept yet.", "alert");
    if (!confirmed.value) return this.say("Let the person observed choose one of the two. Nothing of this was kept yet.", "alert");
    const kept = this.tap("rating", { rating: Number(rating.value) }) &&
      this.tap("spot_word", { seen: confirmed.value === "seen", text: words.value.trim() });
    return kept || this.say(FULL, "alert");
  }

  report() {
    const { lot_number: lot, step, what } = this.faults.elements, line = this.faults.querySelector("[data-fault-said]");
    if (!lot.value.trim() || !what.value.trim()) {
      line.textContent = "Write the lot number and what you saw. Nothing was reported yet.";
      return true;
    }
    const said = { lot: lot.value.trim(), text: what.value.trim(), ...(step.value ? { step: step.value } : {}) };
    if (!this.tap("fault", said)) return false;
    line.textContent = "";
    this.faults.reset();
    this.faults.hidden = true;
    const opener = document.querySelector('[data-opens="fault-form"]');
    opener.setAttribute("aria-expanded", "false");
    opener.focus();
    return true;
  }

  draw(state, events, waits) {
    this.drawFaults(events, waits);
    if (!this.form || this.form.hidden) return;
    const left = [...document.querySelectorAll(".steps > li:not(.is-marked)")].map((item) => item.id.slice("step-".length));
    this.form.querySelector("[data-end-unmarked]").textContent = left.length ?
      "Not marked yet: " + left.join(", ") + ". Left like this, the observation is incomplete." : "All steps are marked.";
    if (state.spotWord) this.say("Both are kept on this device. A step marked after this asks again. Press Finish once there is a network, to lock.");
    else if (this.wasKept) this.say("A step was marked since. Look at the steps together once more, and keep both again.", "alert");
    this.wasKept = this.wasKept || Boolean(state.spotWord);
  }

  drawFaults(events, waits) {
    const late = new Set(waits.map((event) => event.event_id));
    const own = events.filter((event) => event.kind === "fault" && !this.given.has(event.event_id));
    this.list.querySelectorAll("[data-own]").forEach((item) => item.remove());
    own.forEach((event) => {
      const item = make("li", "Fault reported, lot " + event.lot + ": " + event.text + (late.has(event.event_id) ? " (not sent yet)" : ""));
      item.dataset.own = "";
      this.list.append(item);
    });
  }
}
