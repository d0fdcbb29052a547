/* The three dots open the other marks of a step in place. Without scripts they are a link that opens the row. */
(function () {
  "use strict";
  document.querySelectorAll("a[data-opens]").forEach(function (link) {
    var box = document.getElementById(link.dataset.opens);
    if (!box) return;
    link.setAttribute("role", "button");
    link.setAttribute("aria-controls", box.id);
    function show() { link.setAttribute("aria-expanded", String(!box.hidden)); }
    function turn(event) { event.preventDefault(); box.hidden = !box.hidden; show(); }
    show();
    link.addEventListener("click", turn);
    link.addEventListener("keydown", function (event) { if (event.key === " ") turn(event); });
  });
})();
