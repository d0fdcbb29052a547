/* A rehearsal in place: a tap gives the next number, another takes it back; the read-out has earlier and later.
   Without scripts each button posts the form and the server gives the number. The order is kept in the hidden field
   of the form, so that one post sends the whole of it. */
(function () {
  "use strict";
  var list = document.querySelector("[data-numbering]");
  if (!list) return;
  var read = document.querySelector("[data-order]"), say = document.querySelector("[data-say]");
  var kept = document.querySelector("[data-order-field]"), model = document.querySelector("template[data-order-row]");
  var steps = {}, order = kept.value ? kept.value.split(",") : [];
  list.querySelectorAll("[data-step]").forEach(function (button) { steps[button.dataset.step] = button; });
  function words(key) { return steps[key].querySelector("[data-text]").textContent; }

  function row(key, index) {
    var li = model.content.firstElementChild.cloneNode(true), tools = li.querySelectorAll("[data-move]");
    li.dataset.step = key;
    li.querySelector("[data-n]").textContent = index + 1;
    li.querySelector("[data-text]").textContent = words(key);
    tools.forEach(function (tool) {
      tool.querySelector("[data-name]").textContent = (tool.dataset.move === "earlier" ? "Earlier: " : "Later: ") + words(key);
    });
    return li;
  }
  function draw() {
    Object.keys(steps).forEach(function (key) {
      var n = order.indexOf(key) + 1;
      steps[key].setAttribute("aria-pressed", String(n > 0));
      steps[key].querySelector("[data-n]").textContent = n || "";
    });
    kept.value = order.join(",");
    read.replaceChildren.apply(read, order.map(row));
    document.querySelectorAll("[data-placed-count]").forEach(function (el) { el.textContent = order.length; });
  }
  function tap(key) {
    var at = order.indexOf(key);
    if (at > -1) { order.splice(at, 1); say.textContent = "Taken back: " + words(key); }
    else { order.push(key); note(key); say.textContent = "Number " + order.length + ": " + words(key); }
    draw();
  }
  function move(key, way) {
    var from = order.indexOf(key), to = from + (way === "earlier" ? -1 : 1);
    if (to < 0 || to >= order.length) {
      say.textContent = words(key) + ": is " + (to < 0 ? "first" : "last") + " already, number " + (from + 1);
      return;
    }
    order[from] = order[to]; order[to] = key;
    say.textContent = words(key) + ": now number " + (to + 1) + " of " + order.length;
    draw();
    read.children[to].querySelector('[data-move="' + way + '"]').focus();
  }
  function placeAfter() {
    var key = document.querySelector("[data-put-step]").value, after = document.querySelector("[data-put-after]").value;
    if (key === after) { say.textContent = "A step cannot stand after itself."; return; }
    order = order.filter(function (other) { return other !== key; });
    var there = after ? order.indexOf(after) + 1 || order.length : 0;
    order.splice(there, 0, key);
    note(key);
    say.textContent = words(key) + ": now number " + (there + 1) + " of " + order.length + (there ? ", after " + words(order[there - 1]) : "");
    draw();
  }
  /* A timed rehearsal: when each step was taken first, and the seconds gone so far. */
  var clock = document.querySelector("[data-rehearsal-clock]"), times = document.querySelector("[data-times]");
  var taken = {};
  function note(key) {
    if (!times || key in taken) return;
    taken[key] = Math.round(performance.now());
    times.value += (times.value ? "," : "") + key + ":" + taken[key];
  }
  if (clock) {
    clock.hidden = false;
    tick();
    setInterval(tick, 500);
  }
  function tick() {
    clock.textContent = "Time gone: " + Math.floor(performance.now() / 1000) + " s";
  }
  document.addEventListener("click", function (event) {
    var give = event.target.closest("[data-numbering] [data-step]"), tool = event.target.closest("[data-move]");
    var clear = event.target.closest("[data-clear]"), placed = event.target.closest("[data-place]");
    if (!give && !tool && !clear && !placed) return;
    event.preventDefault();
    if (placed) { placeAfter(); return; }
    if (give) tap(give.dataset.step);
    else if (tool) move(tool.closest("[data-step]").dataset.step, tool.dataset.move);
    else { order = []; say.textContent = "All numbers taken back."; draw(); }
  });
  draw();
})();
