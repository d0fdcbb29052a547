/* The running clock of an observation. Without scripts the page shows the time the server wrote.
   data-clock holds the seconds already gone; [data-hold] stops and goes on; data-still on <html> freezes it. */
(function () {
  "use strict";
  document.querySelectorAll("[data-clock]").forEach(function (clock) {
    var held = false, before = Number(clock.dataset.clock), began = performance.now();
    var hold = document.querySelector("[data-hold]");
    function two(n) { return (n < 10 ? "0" : "") + n; }
    function seconds() { return held ? before : Math.floor(before + (performance.now() - began) / 1000); }
    function show() { var s = seconds(); clock.textContent = two(Math.floor(s / 60)) + ":" + two(s % 60); }
    clock.seconds = seconds;
    if (!("still" in document.documentElement.dataset)) setInterval(show, 500);
    if (!hold) return;
    hold.hidden = false;
    hold.addEventListener("click", function () {
      if (held) { began = performance.now(); held = false; } else { before = seconds(); held = true; }
      hold.textContent = held ? "Run" : "Hold";
      show();
    });
  });
})();
