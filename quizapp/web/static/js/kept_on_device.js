/* Says when a page is the copy kept on this device, has today's pages kept, and clears them at sign-out after telling
   what still waits. Where there is no service worker, everything works as plain pages. */

import { forgetSent, given, waitingOfOwner } from "./observation_queue.js";

const root = document.documentElement, owner = root.dataset.owner || "";
const worker = "serviceWorker" in navigator ? navigator.serviceWorker : null;

function line(words, role) {
  const made = document.createElement("p");
  made.className = "said-line";
  made.setAttribute("role", role);
  made.textContent = words;
  return made;
}

function tell(message) {
  return new Promise((resolve) => {
    const channel = new MessageChannel();
    channel.port1.onmessage = resolve;
    setTimeout(resolve, 2000);
    if (worker?.controller) worker.controller.postMessage(message, [channel.port2]);
    else resolve();
  });
}

function sayKept() {
  const at = new Date(Number(root.dataset.keptAt));
  const when = at.toLocaleString("en-GB", { day: "numeric", month: "long", hour: "2-digit", minute: "2-digit" });
  document.querySelector("main .wrap").prepend(line("No network, or too slow a one: this is the copy kept on this device on " + when + ".", "status"));
}

async function haveKept() {
  await worker.register("/service-worker.js", { scope: "/" });
  const ready = await worker.ready;
  const sheets = [...document.querySelectorAll("[data-open-sheets] a")].map((link) => link.pathname);
  ready.active.postMessage({ keep: [location.pathname, ...sheets] });
}

let told = false;
async function leave(event) {
  const form = event.target;
  event.preventDefault();
  await given;
  const waits = waitingOfOwner(owner);
  if (waits && !told) {
    told = true;
    const marks = waits === 1 ? "1 mark is" : waits + " marks are";
    form.before(line(marks + " not sent yet. They stay on this device and go out when you sign in here again; nobody else " +
      "sends them. Press Sign out once more to leave.", "alert"));
    return;
  }
  await forgetSent((whose) => whose === owner);
  await tell({ drop: true });
  form.submit();
}

/* What the service has already is no longer shown to somebody else on this device. */
if (owner) given.then(() => forgetSent((whose) => whose !== owner));
if (root.dataset.keptAt) sayKept();
else if (worker && owner) haveKept().catch(() => {});
document.querySelector("[data-sign-out]")?.addEventListener("submit", leave);
