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
    else { order.push(key); say.textContent = "Number " + order.length + ": " + words(key); }
    draw();
  }
  function move(key, way) {
    var from = order.indexOf(key), to = from + (way === "earlier" ? -1 : 1);
    if (to < 0 || to >= order.length) return;
    order[from] = order[to]; order[to] = key;
    say.textContent = words(key) + ": now number " + (to + 1);
    draw();
    read.children[to].querySelector('[data-move="' + way + '"]').focus();
  }
  document.addEventListener("click", function (event) {
    var give = event.target.closest("[data-numbering] [data-step]"), tool = event.target.closest("[data-move]");
    var clear = event.target.closest("[data-clear]");
    if (!give && !tool && !clear) return;
    event.preventDefault();
    if (give) tap(give.dataset.step);
    else if (tool) move(tool.closest("[data-step]").dataset.step, tool.dataset.move);
    else { order = []; say.textContent = "All numbers taken back."; draw(); }
  });
  draw();
})();
