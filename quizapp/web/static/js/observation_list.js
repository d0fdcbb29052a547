/* On the list of observations: sends marks that an earlier visit left on this device, and says how many wait. */

import { given, ownSheetsWaiting, Sender, sheetsWaiting, waiting } from "./observation_queue.js";

const line = document.querySelector("[data-queue-state]");
const base = location.pathname.replace(/\/$/, "");

function say() {
  const left = sheetsWaiting().reduce((sum, sheet) => sum + waiting(sheet).length, 0);
  line.hidden = false;
  if (!left) line.textContent = "Every mark kept on this device is with the service now.";
  else line.textContent = left + (left === 1 ? " mark is" : " marks are") + " kept on this device and not sent yet. Nothing is lost." +
    (ownSheetsWaiting().length < sheetsWaiting().length ? " Some belong to another assessor, who sends them by signing in here." : "");
}

await given;
if (sheetsWaiting().length) say();
ownSheetsWaiting().forEach((sheet) => new Sender(sheet, base + "/" + sheet + "/events", say).send());
