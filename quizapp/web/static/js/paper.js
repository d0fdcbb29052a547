/* [data-print] prints the page; it stays hidden where no script runs, since the browser's own command does the same. */
(function () {
  "use strict";
  document.querySelectorAll("[data-print]").forEach(function (act) {
    act.hidden = false;
    act.addEventListener("click", function () { window.print(); });
  });
})();
